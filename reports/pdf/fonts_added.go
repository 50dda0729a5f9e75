package pdf

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"strings"

	"golang.org/x/image/font/sfnt"
)

// Font is a font added to those of the program, for scripts that they lack.
type Font struct {
	Name string // of the file, for messages
	Data []byte // TrueType, or a collection of it, of which the first font is taken
}

// Check reports why a font cannot be used, nil when it can.
func (f Font) Check() error {
	_, err := readFont(f)
	return err
}

// program is a font file as fpdf embeds it, with what measures it.
type program struct {
	name   string // PostScript name
	ttf    []byte
	glyphs *sfnt.Font
}

// readFont makes sure that fpdf can embed a font: it prints a line and goes on where it cannot.
func readFont(f Font) (program, error) {
	fail := func(format string, args ...any) (program, error) {
		return program{}, fmt.Errorf("font %s: %w", f.Name, fmt.Errorf(format, args...))
	}
	at := 0
	if strings.HasPrefix(string(f.Data), "ttcf") && len(f.Data) >= 16 {
		at = int(binary.BigEndian.Uint32(f.Data[12:])) // the first of a collection
	}
	tables, err := tablesOf(f.Data, at)
	if err != nil {
		return fail("%w", err)
	}
	if _, ok := tables["CFF "]; ok {
		return fail("it has PostScript outlines, expected TrueType outlines")
	}
	for _, tag := range []string{"OS/2", "cmap", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "post"} {
		if len(tables[tag]) < 6 {
			return fail("it has no table %q, expected a complete TrueType font", tag)
		}
	}
	if use := binary.BigEndian.Uint16(append(tables["OS/2"][:min(10, len(tables["OS/2"]))],
		make([]byte, 10)...)[8:]); use&0xF == 2 || use&0x100 != 0 {
		return fail("its maker does not allow a subset of it to be embedded (fsType %#04x)", use)
	}
	if !mapsUnicode(tables["cmap"]) {
		return fail("it maps no characters of Unicode in the way expected, cmap format 4")
	}
	name := ""
	if whole, err := sfnt.Parse(assemble(f.Data[at:at+4], tables)); err == nil {
		name, _ = whole.Name(nil, sfnt.NameIDPostScript)
	}
	tables["name"] = []byte{0, 0, 0, 0, 0, 6} // without names: fpdf stumbles over some
	ttf := assemble(f.Data[at:at+4], tables)
	glyphs, err := sfnt.Parse(ttf)
	if err != nil {
		return fail("%w", err)
	}
	if strings.ContainsFunc(name, func(r rune) bool {
		return r <= ' ' || r > '~' || strings.ContainsRune("()<>[]{}/%#+",
			r)
	}) || name == "" {
		name = "AddedFont"
	}
	return program{name: name, ttf: ttf, glyphs: glyphs}, nil
}

// tablesOf returns the tables of the font whose directory begins at a place of the file.
func tablesOf(data []byte, at int) (map[string][]byte, error) {
	damaged := errors.New("found a damaged file, expected a TrueType font")
	if at < 0 || at+12 > len(data) {
		return nil, damaged
	}
	switch kind := string(data[at : at+4]); kind {
	case "\x00\x01\x00\x00", "true", "OTTO":
	default:
		return nil, fmt.Errorf("found a file that begins with %q, expected a TrueType font", kind)
	}
	tables := map[string][]byte{}
	for i := range int(binary.BigEndian.Uint16(data[at+4:])) {
		entry := at + 12 + 16*i
		if entry+16 > len(data) {
			return nil, damaged
		}
		from, n := uint64(binary.BigEndian.Uint32(data[entry+8:])), uint64(binary.BigEndian.Uint32(data[entry+12:]))
		if from+n > uint64(len(data)) {
			return nil, damaged
		}
		tables[string(data[entry:entry+4])] = data[from : from+n]
	}
	return tables, nil
}

// assemble makes a font file of tables.
func assemble(kind []byte, tables map[string][]byte) []byte {
	tags := make([]string, 0, len(tables))
	for tag := range tables {
		tags = append(tags, tag)
	}
	slices.Sort(tags)
	out := slices.Clone(kind)
	out = binary.BigEndian.AppendUint16(out, uint16(len(tags)))
	out = append(out, make([]byte, 6)...) // hints for a binary search that nobody here makes
	place := len(out) + 16*len(tags)
	var body []byte
	for _, tag := range tags {
		out = append(out, tag...)
		out = binary.BigEndian.AppendUint32(out, 0) // nor does anybody here check sums
		out = binary.BigEndian.AppendUint32(out, uint32(place+len(body)))
		out = binary.BigEndian.AppendUint32(out, uint32(len(tables[tag])))
		body = append(body, tables[tag]...)
		body = append(body, make([]byte, -len(body)&3)...)
	}
	return append(out, body...)
}

// mapsUnicode reports whether a cmap has a subtable that fpdf reads: format 4 for Unicode or for Windows.
func mapsUnicode(cmap []byte) bool {
	for i := range int(binary.BigEndian.Uint16(cmap[2:])) {
		entry := 4 + 8*i
		if entry+8 > len(cmap) {
			return false
		}
		platform, encoding := binary.BigEndian.Uint16(cmap[entry:]), binary.BigEndian.Uint16(cmap[entry+2:])
		at := uint64(binary.BigEndian.Uint32(cmap[entry+4:]))
		if (platform == 3 && encoding == 1 || platform == 0) && at+2 <= uint64(len(cmap)) &&
			binary.BigEndian.Uint16(cmap[at:]) == 4 {
			return true
		}
	}
	return false
}
