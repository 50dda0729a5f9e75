package wire

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// vector is a message as another program signs it: testdata/vectors.json was made with the json and
// hmac modules of Python, by which the client library writes its messages.
type vector struct {
	Name, Key, Signature string
	Identities, Parts    []string
	Buffers              []string // base64
}

func vectors(t testing.TB) []vector {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "vectors.json"))
	if err != nil {
		t.Fatal(err)
	}
	var v []vector
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

func (v vector) frames(t testing.TB) [][]byte {
	t.Helper()
	var f [][]byte
	for _, id := range v.Identities {
		f = append(f, []byte(id))
	}
	f = append(f, []byte("<IDS|MSG>"), []byte(v.Signature))
	for _, p := range v.Parts {
		f = append(f, []byte(p))
	}
	for _, b := range v.Buffers {
		raw, err := base64.StdEncoding.DecodeString(b)
		if err != nil {
			t.Fatal(err)
		}
		f = append(f, raw)
	}
	return f
}

func codec(t testing.TB, key string) *Codec {
	t.Helper()
	c, err := NewCodec(key, "hmac-sha256")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestVectors(t *testing.T) {
	for _, v := range vectors(t) {
		t.Run(v.Name, func(t *testing.T) {
			want := v.frames(t)
			m, err := codec(t, v.Key).Decode(want)
			if err != nil {
				t.Fatal(err)
			}
			if m.Header.Session != "s-1" || m.Header.User != "engineer" || m.Header.Version != "5.3" {
				t.Errorf("header %+v, want session s-1, user engineer, version 5.3", m.Header)
			}
			if got := len(m.Identities); got != len(v.Identities) {
				t.Errorf("%d identities, want %d", got, len(v.Identities))
			}
			// What came in goes out the same, byte for byte: headers are kept as they were.
			got, err := codec(t, v.Key).Encode(m)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(got, want); diff != "" {
				t.Errorf("encoded again (-got +want):\n%s", diff)
			}
		})
	}
}

func TestRefuses(t *testing.T) {
	v := vectors(t)[0]
	change := func(i int, s string) func([][]byte) [][]byte {
		return func(f [][]byte) [][]byte { f[i] = []byte(s); return f }
	}
	// frames: 0 identity, 1 delimiter, 2 signature, 3 header, 4 parent, 5 metadata, 6 content
	for _, tt := range []struct {
		name   string
		change func([][]byte) [][]byte
		want   string
	}{
		{"nothing", func([][]byte) [][]byte { return nil }, "malformed: no delimiter in 0 frames"},
		{"no delimiter", change(1, "<IDS|MSG"), "malformed: no delimiter in 7 frames"},
		{"short", func(f [][]byte) [][]byte { return f[:6] },
			"malformed: 4 frames after the delimiter, want at least 5"},
		{"unsigned", change(2, ""), "unsigned"},
		{"signature cut", change(2, v.Signature[:63]), "signature does not match"},
		{"signature not hexadecimal", change(2, strings.Repeat("x", 64)), "signature does not match"},
		{"signature of zeros", change(2, strings.Repeat("0", 64)), "signature does not match"},
		{"last digit off", change(2, v.Signature[:63]+flip(v.Signature[63])), "signature does not match"},
		{"content changed", change(6, `{"code":"1"}`), "signature does not match"},
		{"parent changed", change(4, `{ }`), "signature does not match"},
		{"parts exchanged across frames", func(f [][]byte) [][]byte { f[5], f[6] = nil, []byte("{}{}"); return f },
			"malformed: metadata of 0 bytes is not a JSON object"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := codec(t, v.Key).Decode(tt.change(v.frames(t)))
			var refused *Refused
			if !errors.As(err, &refused) {
				t.Fatalf("error %v, want a *Refused", err)
			}
			if got := refused.Error(); got != "message refused: "+tt.want {
				t.Errorf("got %q, want %q", got, "message refused: "+tt.want)
			}
		})
	}
}

func flip(c byte) string {
	if c == '0' {
		return "1"
	}
	return "0"
}

// Well signed is not well formed.
func TestRefusesSignedNonsense(t *testing.T) {
	good := `{"msg_id":"1","msg_type":"x"}`
	for _, tt := range []struct{ header, parent, metadata, content, want string }{
		{`{"msg_id":"1"}`, `{}`, `{}`, `{}`, "header: msg_id or msg_type is missing"},
		{`{"msg_type":"x"}`, `{}`, `{}`, `{}`, "header: msg_id or msg_type is missing"},
		{`{"msg_id":1,"msg_type":"x"}`, `{}`, `{}`, `{}`, "header: a field is not of its type"},
		{`[]`, `{}`, `{}`, `{}`, "header of 2 bytes is not a JSON object"},
		{good, `null`, `{}`, `{}`, "parent_header of 4 bytes is not a JSON object"},
		{good, `{"msg_id":[]}`, `{}`, `{}`, "parent_header: a field is not of its type"},
		{good, `{}`, `{`, `{}`, "metadata of 1 bytes is not a JSON object"},
		{good, `{}`, `{}`, `{"a":NaN}`, "content of 9 bytes is not a JSON object"},
		{good, `{}`, `{}`, `{} {}`, "content of 5 bytes is not a JSON object"},
		{good, `{}`, `{}`, strings.Repeat(`{"a":`, 20000) + "1" + strings.Repeat("}", 20000),
			"content of 120001 bytes is not a JSON object"},
	} {
		c := codec(t, "k")
		signed := [][]byte{[]byte(tt.header), []byte(tt.parent), []byte(tt.metadata), []byte(tt.content)}
		d := c.sum(signed)
		frames := append([][]byte{delimiter, []byte(fmt.Sprintf("%x", d))}, signed...)
		_, err := c.Decode(frames)
		if got, want := fmt.Sprint(err), "message refused: malformed: "+tt.want; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestReplay(t *testing.T) {
	v := vectors(t)[0]
	c := codec(t, v.Key)
	if _, err := c.Decode(v.frames(t)); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name   string
		frames [][]byte
	}{
		{"same", v.frames(t)},
		{"from another peer", append([][]byte{[]byte("other")}, v.frames(t)[1:]...)},
		{"other buffers", append(v.frames(t), []byte("b"))},
	} {
		_, err := c.Decode(tt.frames)
		var refused *Refused
		if !errors.As(err, &refused) || refused.Reason != Replayed {
			t.Errorf("%s: error %v, want reason %q", tt.name, err, Replayed)
		}
	}
	// A bad copy must not make the good one count as seen.
	c = codec(t, v.Key)
	bad := v.frames(t)
	bad[6] = []byte(`{"code":"1"}`)
	if _, err := c.Decode(bad); err == nil {
		t.Fatal("a changed message was accepted")
	}
	if _, err := c.Decode(v.frames(t)); err != nil {
		t.Errorf("after a bad copy: %v", err)
	}
}

func TestMemoryIsBounded(t *testing.T) {
	m := memory{limit: 3}
	d := func(i int) digest { return digest{byte(i)} }
	for i := range 10 {
		if !m.add(d(i)) {
			t.Fatalf("%d counts as seen", i)
		}
		if m.add(d(i)) {
			t.Fatalf("%d is forgotten at once", i)
		}
	}
	if len(m.known) != 3 || len(m.order) != 3 {
		t.Errorf("%d and %d remembered, want 3", len(m.known), len(m.order))
	}
	for _, tt := range []struct {
		i   int
		new bool
	}{{7, false}, {8, false}, {9, false}, {6, true}} {
		if got := m.add(d(tt.i)); got != tt.new {
			t.Errorf("add(%d) is %v, want %v", tt.i, got, tt.new)
		}
	}
}

func TestWithoutKey(t *testing.T) {
	c := codec(t, "")
	frames, err := c.Encode(&Message{Header: Header{ID: "1", Type: "x"}})
	if err != nil {
		t.Fatal(err)
	}
	if got := string(frames[1]); got != "" {
		t.Errorf("signature %q, want none", got)
	}
	for range 2 { // nothing tells a message from its copy
		m, err := c.Decode(frames)
		if err != nil {
			t.Fatal(err)
		}
		if !m.Parent.IsZero() {
			t.Errorf("parent %+v, want none", m.Parent)
		}
	}
}

func TestScheme(t *testing.T) {
	for _, tt := range []struct{ scheme, want string }{
		{"hmac-sha256", "<nil>"},
		{"", "<nil>"},
		{"hmac-md5", `signature_scheme is "hmac-md5", want "hmac-sha256"`},
		{"HMAC-SHA256", `signature_scheme is "HMAC-SHA256", want "hmac-sha256"`},
	} {
		_, err := NewCodec("k", tt.scheme)
		if got := fmt.Sprint(err); got != tt.want {
			t.Errorf("%q: error %q, want %q", tt.scheme, got, tt.want)
		}
	}
}

func TestEncodeRefuses(t *testing.T) {
	for _, m := range []*Message{
		{Header: Header{Type: "x"}, Content: json.RawMessage("[]")},
		{Header: Header{Type: "x"}, Metadata: json.RawMessage("{")},
	} {
		if _, err := codec(t, "k").Encode(m); err == nil {
			t.Errorf("content %s and metadata %s were encoded", m.Content, m.Metadata)
		}
	}
}

// A log line must not carry what a stranger wrote.
func TestRefusalQuotesNothing(t *testing.T) {
	for i := range 7 {
		f := vectors(t)[0].frames(t)
		f[i] = []byte(`{"evil":"EVIL"`)
		if _, err := codec(t, "").Decode(f); err != nil && strings.Contains(strings.ToLower(err.Error()), "evil") {
			t.Errorf("frame %d: %v", i, err)
		}
	}
}

func BenchmarkDecode(b *testing.B) {
	c := codec(b, "a0436f6c-1916-498b-8eb9-e81ab9368e84")
	a := &Author{Session: "s", Now: epoch, NewID: Counted("m")}
	messages := make([][][]byte, b.N)
	for i := range messages {
		m, _ := a.Publication(nil, "execute_request", map[string]any{"code": "1+1", "silent": false})
		messages[i], _ = c.Encode(m)
	}
	b.ReportAllocs()
	b.ResetTimer()
	for _, f := range messages {
		if _, err := c.Decode(f); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEncode(b *testing.B) {
	c := codec(b, "a0436f6c-1916-498b-8eb9-e81ab9368e84")
	a := &Author{Session: "s", Now: epoch, NewID: Counted("m")}
	b.ReportAllocs()
	for b.Loop() {
		m, err := a.Publication(nil, "stream", map[string]any{"name": "stdout", "text": "a line of output\n"})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := c.Encode(m); err != nil {
			b.Fatal(err)
		}
	}
}

// Frames of different length must not sign alike when they join to the same bytes and still be objects.
func TestSignatureJoinsParts(t *testing.T) {
	c := codec(t, "k")
	one := c.sum([][]byte{[]byte("{}"), []byte("{}")})
	two := c.sum([][]byte{[]byte("{}{}"), nil})
	if !bytes.Equal(one[:], two[:]) {
		t.Error("the protocol signs the parts joined, so other programs would not understand us")
	}
	if isObject([]byte("{}{}")) {
		t.Error("two objects in one frame count as one: a signature could be moved to other parts")
	}
}
