package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// Version is the protocol version in the headers of the messages we send.
const Version = "5.5"

// Header says what a message is and where it came from.
type Header struct {
	ID      string `json:"msg_id"`
	Session string `json:"session"`
	User    string `json:"username"`
	Date    string `json:"date"` // ISO 8601
	Type    string `json:"msg_type"`
	Version string `json:"version"`
	// Subshell names the subshell that a request is for; empty or null, it is for the main shell.
	Subshell string `json:"subshell_id,omitempty"`

	// raw is the header as it came. A client finds its request by the parent header of the answer,
	// so that goes back as it came, with the fields we do not know.
	raw json.RawMessage
}

// IsZero reports whether there is no header, as in the parent header of a request.
func (h Header) IsZero() bool {
	return h.raw == nil && h.ID == "" && h.Session == "" && h.User == "" && h.Date == "" && h.Type == "" &&
		h.Version == "" && h.Subshell == ""
}

// MarshalJSON writes the header as it was received, or from its fields when it is one of ours. The zero
// header is an empty object.
func (h Header) MarshalJSON() ([]byte, error) {
	if h.raw != nil {
		return h.raw, nil
	}
	if h.IsZero() {
		return []byte("{}"), nil
	}
	type fields Header // without this method
	return encode(fields(h))
}

// Message is one message of the protocol.
type Message struct {
	// Identities are the frames before the delimiter. On a request they name the peer and must go back
	// unchanged in the reply; they are opaque. On a message for every subscriber the first one is the topic.
	Identities [][]byte
	Header     Header
	Parent     Header          // the header of the request that this message is about; zero when there is none
	Metadata   json.RawMessage // an object; nil stands for an empty one
	Content    json.RawMessage // an object; nil stands for an empty one
	Buffers    [][]byte        // raw bytes after the content; no signature covers them
}

// Read decodes the content into v, a pointer. Numbers that land in an interface stay json.Number, so that
// none loses digits. The error names the message type.
func (m *Message) Read(v any) error {
	content := m.Content
	if content == nil {
		content = json.RawMessage("{}")
	}
	d := json.NewDecoder(bytes.NewReader(content))
	d.UseNumber()
	if err := d.Decode(v); err != nil {
		var wrong *json.UnmarshalTypeError
		if errors.As(err, &wrong) {
			return fmt.Errorf("%s: content: %s is a JSON %s, want %s", m.Header.Type, wrong.Field, wrong.Value,
				wrong.Type)
		}
		return fmt.Errorf("%s: content: %w", m.Header.Type, err)
	}
	if _, err := d.Token(); err != io.EOF {
		return fmt.Errorf("%s: content: more than one JSON value", m.Header.Type)
	}
	return nil
}
