package notebook

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"unicode/utf8"
)

// Read reads a notebook of nbformat 4. An error is either *Invalid, which names cell and field, or says
// with line and column where the file stops being JSON. A cell of nbformat 4.5 without an id gets one
// made from its place and text, as nbformat's own reader gives it a random one.
func Read(data []byte) (*Notebook, error) {
	m, err := decode(data)
	if err != nil {
		return nil, err
	}
	nb := &Notebook{}
	top := newObject(m, 0, "", &err)
	nb.Minor = version(top)
	if err != nil {
		return nil, err
	}
	nb.Metadata = top.object("metadata", true)
	checkMetadata(nb.Metadata, &err)
	for i, v := range top.list("cells") {
		cell := readCell(v, i+1, nb.Minor, &err)
		if err != nil {
			return nil, err
		}
		nb.Cells = append(nb.Cells, cell)
	}
	nb.Extra = top.rest()
	if err == nil && nb.Minor >= firstMinorWithIDs {
		err = nb.settleIDs()
	}
	if err != nil {
		return nil, err
	}
	return nb, nil
}

func decode(data []byte) (map[string]any, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if len(bytes.TrimSpace(data)) == 0 {
		return nil, errors.New("the file is empty, expected a notebook in JSON")
	}
	if at := invalidUTF8(data); at >= 0 {
		line, column := position(data, at)
		return nil, fmt.Errorf("line %d, column %d: found the byte %#02x, expected text in UTF-8", line, column,
			data[at])
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		return nil, syntax(data, err)
	}
	if _, err := d.Token(); err != io.EOF {
		line, column := position(data, int(d.InputOffset()))
		return nil, fmt.Errorf("line %d, column %d: found more text after the notebook's closing brace, expected the "+
			"end of the file", line, column)
	}
	m, ok := v.(map[string]any)
	if !ok {
		return nil, &Invalid{Found: describe(v), Want: "an object with nbformat, metadata and cells"}
	}
	return m, nil
}

func syntax(data []byte, err error) error {
	at := len(data)
	var s *json.SyntaxError
	if errors.As(err, &s) {
		at = int(s.Offset) - 1
	}
	line, column := position(data, at)
	if errors.Is(err, io.ErrUnexpectedEOF) {
		err = errors.New("unexpected end of JSON input")
	}
	return fmt.Errorf("line %d, column %d: not JSON: %w", line, column, err)
}

func invalidUTF8(data []byte) int {
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return -1
}

// position gives line and column, in characters from 1, of a byte offset.
func position(data []byte, at int) (line, column int) {
	at = max(0, min(at, len(data)))
	before := data[:at]
	start := bytes.LastIndexByte(before, '\n') + 1
	return bytes.Count(before, []byte("\n")) + 1, utf8.RuneCount(before[start:]) + 1
}

func version(top object) (minor int) {
	want := "the whole number " + strconv.Itoa(major)
	v, ok := top.take("nbformat", want)
	if !ok {
		return 0
	}
	if n := top.whole("nbformat", v, want); n != major && *top.err == nil {
		top.fail("nbformat", "version "+strconv.Itoa(n), "version 4: open the notebook in Jupyter and save it again")
	}
	const wantMinor = "a whole number that is not negative"
	v, ok = top.take("nbformat_minor", wantMinor)
	if !ok {
		return 0
	}
	return top.whole("nbformat_minor", v, wantMinor)
}

// checkMetadata checks the two entries that this program reads; the rest is anybody's.
func checkMetadata(m map[string]any, err *error) {
	o := newObject(m, 0, "metadata.", err)
	if spec := o.object("kernelspec", false); spec != nil {
		s := newObject(spec, 0, "metadata.kernelspec.", err)
		s.str("name")
		s.str("display_name")
	}
	if info := o.object("language_info", false); info != nil {
		newObject(info, 0, "metadata.language_info.", err).str("name")
	}
}

func readCell(v any, number, minor int, err *error) Cell {
	m, ok := v.(map[string]any)
	if !ok {
		*err = &Invalid{Cell: number, Found: describe(v), Want: "an object"}
		return Cell{}
	}
	o := newObject(m, number, "", err)
	c := Cell{
		Type:     CellType(o.str("cell_type")),
		Metadata: o.object("metadata", true),
		Source:   o.lines("source"),
	}
	if minor >= firstMinorWithIDs {
		if _, ok := o.fields["id"]; ok {
			c.ID = o.str("id")
			if *err == nil && !validID(c.ID) {
				o.fail("id", describe(c.ID), "1 to 64 letters, digits, hyphens and underscores")
			}
		}
	}
	switch c.Type {
	case CodeCell:
		c.Count = o.count("execution_count")
		for i, v := range o.list("outputs") {
			c.Outputs = append(c.Outputs, readOutput(v, number, i, err))
		}
	case MarkdownCell, RawCell:
		c.Attachments = readAttachments(o)
	default:
		o.fail("cell_type", describe(string(c.Type)), `"code", "markdown" or "raw"`)
	}
	readTags(c.Metadata, number, err)
	c.Extra = o.rest()
	return c
}

func readTags(metadata map[string]any, number int, err *error) {
	if _, ok := metadata["tags"]; ok {
		newObject(metadata, number, "metadata.", err).strings("tags")
	}
}

func readAttachments(o object) map[string]map[string]any {
	files := o.object("attachments", false)
	if files == nil {
		return nil
	}
	all := map[string]map[string]any{}
	f := newObject(files, o.cell, o.path+"attachments.", o.err)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		all[name] = readBundle(f, name)
	}
	return all
}

// Tags returns the tags of a cell, in order.
func (c *Cell) Tags() []string {
	list, _ := c.Metadata["tags"].([]any)
	var tags []string
	for _, v := range list {
		if s, ok := v.(string); ok {
			tags = append(tags, s)
		}
	}
	return tags
}
