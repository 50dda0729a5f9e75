package wire

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
)

// delimiter ends the identities.
var delimiter = []byte("<IDS|MSG>")

// scheme is the one signature scheme there is.
const scheme = "hmac-sha256"

// Codec turns messages into frames and back under one key. Its methods may be called from any goroutine.
type Codec struct {
	key    []byte
	played memory
}

// NewCodec returns a codec for the key and the signature scheme of a connection file. With an empty key
// nothing is signed and nothing is checked: such a file is only accepted on the machine itself, see
// Connection.Check. A scheme other than hmac-sha256 is an error, for a message that we cannot check must not run.
func NewCodec(key, signatureScheme string) (*Codec, error) {
	if err := checkScheme(signatureScheme); err != nil {
		return nil, err
	}
	return &Codec{key: []byte(key), played: memory{limit: remembered}}, nil
}

func checkScheme(s string) error {
	if s == scheme || s == "" {
		return nil
	}
	return fmt.Errorf("signature_scheme is %q, want %q", s, scheme)
}

// Decode reads a message from its frames. The error is always a *Refused. The message shares
// memory with the frames.
func (c *Codec) Decode(frames [][]byte) (*Message, error) {
	split := -1
	for i, f := range frames {
		if bytes.Equal(f, delimiter) {
			split = i
			break
		}
	}
	if split < 0 {
		return nil, malformed("no delimiter in %d frames", len(frames))
	}
	rest := frames[split+1:]
	if len(rest) < 5 {
		return nil, malformed("%d frames after the delimiter, want at least 5", len(rest))
	}
	signature, signed := rest[0], rest[1:5]
	if err := c.verify(signature, signed); err != nil {
		return nil, err
	}
	m := &Message{Identities: frames[:split:split]}
	if len(rest) > 5 {
		m.Buffers = rest[5:]
	}
	for i, part := range []string{"header", "parent_header", "metadata", "content"} {
		if !isObject(signed[i]) {
			return nil, malformed("%s of %d bytes is not a JSON object", part, len(signed[i]))
		}
	}
	var err error
	if m.Header, err = readHeader(signed[0]); err != nil {
		return nil, malformed("header: %s", err)
	}
	if m.Header.ID == "" || m.Header.Type == "" {
		return nil, malformed("header: msg_id or msg_type is missing")
	}
	if !emptyObject(signed[1]) {
		if m.Parent, err = readHeader(signed[1]); err != nil {
			return nil, malformed("parent_header: %s", err)
		}
	}
	m.Metadata, m.Content = signed[2], signed[3]
	return m, nil
}

// verify checks the signature, and that it has not been used before.
func (c *Codec) verify(signature []byte, signed [][]byte) error {
	if len(c.key) == 0 {
		return nil
	}
	if len(signature) == 0 {
		return &Refused{Reason: Unsigned}
	}
	want := c.sum(signed)
	var got digest
	// Anything but the right number of hexadecimal digits leaves got zero, which no key signs.
	if len(signature) == hex.EncodedLen(len(got)) {
		if _, err := hex.Decode(got[:], signature); err != nil {
			got = digest{}
		}
	}
	if !hmac.Equal(got[:], want[:]) { // in constant time
		return &Refused{Reason: BadSignature}
	}
	if !c.played.add(want) {
		return &Refused{Reason: Replayed}
	}
	return nil
}

func (c *Codec) sum(signed [][]byte) (d digest) {
	h := hmac.New(sha256.New, c.key)
	for _, part := range signed {
		h.Write(part)
	}
	h.Sum(d[:0])
	return d
}

// Encode writes a message as frames, signed when there is a key. The frames share memory with the
// message. It is an error for metadata or content to be JSON other than an object, as the function JSON writes it.
func (c *Codec) Encode(m *Message) ([][]byte, error) {
	header, err := m.Header.MarshalJSON()
	if err != nil {
		return nil, fmt.Errorf("%s: header: %w", m.Header.Type, err)
	}
	parent, err := m.Parent.MarshalJSON()
	if err != nil {
		return nil, fmt.Errorf("%s: parent_header: %w", m.Header.Type, err)
	}
	signed := [][]byte{header, parent, m.Metadata, m.Content}
	for i := range signed {
		if len(signed[i]) == 0 {
			signed[i] = []byte("{}")
		}
	}
	for i, part := range []string{"metadata", "content"} {
		// What is inside comes from an encoder, and to look through 50 MB of it once more takes a while.
		if b := signed[i+2]; b[0] != '{' || b[len(b)-1] != '}' {
			return nil, fmt.Errorf("%s: %s is not a JSON object", m.Header.Type, part)
		}
	}
	signature := []byte{}
	if len(c.key) > 0 {
		d := c.sum(signed)
		signature = hex.AppendEncode(signature, d[:])
	}
	frames := make([][]byte, 0, len(m.Identities)+6+len(m.Buffers))
	frames = append(frames, m.Identities...)
	frames = append(frames, delimiter, signature)
	frames = append(frames, signed...)
	return append(frames, m.Buffers...), nil
}

func readHeader(data []byte) (Header, error) {
	var h Header
	if err := json.Unmarshal(data, &h); err != nil {
		// The error of the library quotes the input.
		return Header{}, fmt.Errorf("a field is not of its type")
	}
	h.raw = data
	return h, nil
}

// isObject reports whether data is one JSON object in UTF-8.
func isObject(data []byte) bool {
	t := bytes.TrimLeft(data, " \t\r\n")
	return len(t) > 0 && t[0] == '{' && json.Valid(t)
}

func emptyObject(data []byte) bool {
	t := bytes.TrimSpace(data)
	return len(t) >= 2 && len(bytes.TrimSpace(t[1:len(t)-1])) == 0
}
