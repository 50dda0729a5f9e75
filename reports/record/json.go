package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"wedgework/reports/document"
)

// head is what every record begins with, whatever its version.
type head struct {
	Schema  string `json:"schema"`
	Version int    `json:"version"`
}

type file struct {
	head
	Record
}

// Bytes returns the record as JSON, indented, with a newline at the end; the same record gives the same
// bytes. It fails on a Number that is none.
func (r *Record) Bytes() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(file{head{Schema, Version}, *r}); err != nil {
		return nil, fmt.Errorf("the record cannot be written: %w", err)
	}
	if b.Len() > Most {
		return nil, fmt.Errorf("the record of %d units has %d bytes, expected at most %d: report fewer units at once",
			len(r.Units), b.Len(), Most)
	}
	return b.Bytes(), nil
}

// Most bounds the bytes of a record: five hundred units take some 20 MB, and reading takes several times as much. It is
// a choice.
const Most = 32 << 20

// Read reads a record of this version or an earlier one. Fields it does not know are passed over: within a
// version, a later program may have added them.
func Read(data []byte) (*Record, error) {
	if len(data) > Most {
		return nil, fmt.Errorf("found a record of %d bytes, expected at most %d", len(data), Most)
	}
	var f file
	failed := json.Unmarshal(data, &f)
	h := f.head
	if failed != nil { // what is wrong with it may be that it is no record at all, or of a later version
		h = head{}
		d := json.NewDecoder(bytes.NewReader(data))
		if err := d.Decode(&h); err != nil {
			return nil, fmt.Errorf("not a record: %w", err)
		}
		if _, err := d.Token(); err != io.EOF {
			return nil, fmt.Errorf("found more text after the record, expected the end of the file")
		}
	}
	if h.Schema != Schema {
		return nil, fmt.Errorf("found schema %q, expected %q", h.Schema, Schema)
	}
	if h.Version < 1 || h.Version > Version {
		return nil, fmt.Errorf("found version %d of the record, expected 1 to %d: it was written by a later program",
			h.Version, Version)
	}
	if failed != nil {
		return nil, fmt.Errorf("not a record: %w", failed)
	}
	return &f.Record, nil
}

// jsonHeader is Header as JSON has it.
type jsonHeader struct {
	Title    string  `json:"title"`
	Part     string  `json:"part"`
	Revision string  `json:"revision"`
	Change   string  `json:"change"`
	Extra    []Field `json:"extra,omitempty"`
}

// MarshalJSON writes the further identification as a list, which keeps its order.
func (h Header) MarshalJSON() ([]byte, error) {
	j := jsonHeader{Title: h.Title, Part: h.Part, Revision: h.Revision, Change: h.Change}
	for _, f := range h.Extra {
		j.Extra = append(j.Extra, Field(f))
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(j)
	return b.Bytes(), err
}

// UnmarshalJSON reads what MarshalJSON writes.
func (h *Header) UnmarshalJSON(data []byte) error {
	var j jsonHeader
	if err := json.Unmarshal(data, &j); err != nil {
		return err
	}
	*h = Header{Title: j.Title, Part: j.Part, Revision: j.Revision, Change: j.Change}
	for _, f := range j.Extra {
		h.Extra = append(h.Extra, document.Field(f))
	}
	return nil
}
