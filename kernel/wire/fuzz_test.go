package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"testing"
)

// FuzzDecode takes the frames of a message as one text, with a line for each. Whatever comes, Decode answers
// with a message that holds together or with a *Refused; and without the key nothing is accepted.
func FuzzDecode(f *testing.F) {
	for _, v := range vectors(f) {
		f.Add(bytes.Join(v.frames(f), []byte("\n")))
	}
	f.Add([]byte("<IDS|MSG>\n\n{}\n{}\n{}\n{}"))
	f.Add([]byte("a\n<IDS|MSG>\nff\n{\"msg_id\":\"1\",\"msg_type\":\"x\"}\n{\"msg_id\":2}\n{}\n{\"a\":1e999}"))
	f.Add([]byte("<IDS|MSG>\n<IDS|MSG>\n\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		frames := bytes.Split(data, []byte("\n"))
		var refused *Refused
		if _, err := codec(t, "a key the input does not have").Decode(frames); !errors.As(err, &refused) {
			t.Fatalf("with a key: %v, want a *Refused", err)
		}
		c := codec(t, "")
		m, err := c.Decode(frames)
		if err != nil {
			if !errors.As(err, &refused) {
				t.Fatalf("error %v, want a *Refused", err)
			}
			return
		}
		if m.Header.ID == "" || m.Header.Type == "" || !json.Valid(m.Content) || !json.Valid(m.Metadata) {
			t.Fatalf("accepted %+v", m)
		}
		var content any
		if err := m.Read(&content); err != nil {
			t.Fatalf("accepted content that cannot be read: %v", err)
		}
		again, err := c.Encode(m)
		if err != nil {
			t.Fatalf("accepted what cannot be encoded: %v", err)
		}
		if n, err := c.Decode(again); err != nil || n.Header.ID != m.Header.ID || n.Parent.ID != m.Parent.ID {
			t.Fatalf("encoded and decoded: %+v and %v, want %+v", n, err, m)
		}
	})
}

// FuzzParseConnection checks that what is accepted passes Check, and has its five ports.
func FuzzParseConnection(f *testing.F) {
	f.Add([]byte(file))
	f.Add([]byte(`{"shell_port":1,"iopub_port":2,"stdin_port":3,"control_port":4,"hb_port":5}`))
	f.Add([]byte(`{"transport":"ipc","ip":"/tmp/k","shell_port":1,"iopub_port":2,"stdin_port":3,"control_port":4,"hb_port":5}`))
	f.Add([]byte(`{"shell_port":"1","SHELL_PORT":1e9}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := ParseConnection(data)
		if err != nil {
			return
		}
		if err := c.Check(); err != nil {
			t.Fatalf("%+v was accepted: %v", c, err)
		}
		for _, p := range c.ports() {
			if p.number <= 0 {
				t.Fatalf("%s is %d", p.name, p.number)
			}
		}
		if _, err := NewCodec(c.Key, c.Scheme); err != nil {
			t.Fatal(err)
		}
	})
}
