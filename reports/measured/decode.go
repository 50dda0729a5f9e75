package measured

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
	"unsafe"

	"golang.org/x/text/encoding/charmap"
)

// byteOrderMark stands before UTF-8 from some programs, and before all UTF-16 that can be trusted.
const byteOrderMark = "\uFEFF"

// wantText is what a file of readings may be.
const wantText = "text in UTF-8 or UTF-16, or an .xlsx workbook"

// decode sets the text of the grid. A warning says that an encoding had to be told from the content.
func (g *grid) decode(ctx context.Context) error {
	data := g.file.Data
	refuse := func(at int, found, want string) error {
		line := 0
		if at >= 0 {
			line = lineAt(string(data[:at]))
		}
		return &Refusal{File: g.file.Name, Line: line, Found: found, Want: want}
	}
	valid, err := validText(ctx, data)
	switch {
	case err != nil:
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		g.text, err = wide(ctx, data[2:], binary.LittleEndian)
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		g.text, err = wide(ctx, data[2:], binary.BigEndian)
	case everyOther(data, 1):
		g.text, err = wide(ctx, data, binary.LittleEndian)
	case everyOther(data, 0):
		g.text, err = wide(ctx, data, binary.BigEndian)
	case valid:
		g.text, g.shares = unsafe.String(unsafe.SliceData(data), len(data)), true // nobody writes to a file's bytes
	default:
		if at := bytes.IndexByte(data, 0); at >= 0 {
			return refuse(at, "a NUL byte", wantText)
		}
		var at int
		if g.text, at, err = western(ctx, data); at >= 0 {
			return refuse(at, fmt.Sprintf("the byte %#02x, which is not UTF-8 and not the same letter in all western "+
				"encodings", data[at]),
				"the file saved as UTF-8")
		}
		g.warning = g.file.Name + " is not UTF-8 and was read as Windows-1252"
	}
	var broken *brokenText
	switch {
	case errors.As(err, &broken):
		return refuse(-1, broken.found, wantText)
	case err != nil:
		return err
	}
	g.text = strings.TrimPrefix(g.text, byteOrderMark)
	if at := strings.IndexByte(g.text, 0); at >= 0 {
		return &Refusal{File: g.file.Name, Line: lineAt(g.text[:at]), Found: "a NUL byte", Want: wantText}
	}
	return nil
}

// validText tells whether data are UTF-8. The library takes half a second for 200 MB, in which nothing else of the
// process gets a turn.
func validText(ctx context.Context, data []byte) (bool, error) {
	const piece = 1 << 20
	for len(data) > 0 {
		if err := ctx.Err(); err != nil {
			return false, err
		}
		n := min(len(data), piece)
		for back := 1; n < len(data) && back < utf8.UTFMax && !utf8.RuneStart(data[n]); back++ {
			n--
		}
		if !utf8.Valid(data[:n]) {
			return false, nil
		}
		data = data[n:]
	}
	return true, nil
}

// brokenText is text that does not keep to its encoding.
type brokenText struct{ found string }

func (e *brokenText) Error() string { return e.found }

// lineAt returns the number of the line that follows a text: CRLF of Windows and the CR of old instruments count as one
// line end each.
func lineAt(text string) int {
	return 1 + strings.Count(text, "\n") + strings.Count(text, "\r") - strings.Count(text, "\r\n")
}

// everyOther tells UTF-16 without a byte order mark: text that is ASCII for the most part has a zero in
// every other byte, at offset 1 in little-endian order. Sixteen bytes are enough: a file of readings begins
// with a head or a comment.
func everyOther(data []byte, offset int) bool {
	const enough = 16
	if len(data) < enough {
		return false
	}
	for i := range enough {
		if (data[i] == 0) != (i%2 == offset) {
			return false
		}
	}
	return true
}

// wide decodes UTF-16.
func wide(ctx context.Context, data []byte, order binary.ByteOrder) (string, error) {
	if len(data)%2 != 0 {
		return "", &brokenText{"UTF-16 of an odd number of bytes: the file is cut off"}
	}
	var b strings.Builder
	b.Grow(len(data) / 2)
	for i := 0; i < len(data); i += 2 {
		if i&(1<<20-1) == 0 && ctx.Err() != nil {
			return "", ctx.Err()
		}
		r := rune(order.Uint16(data[i:]))
		if utf16.IsSurrogate(r) {
			if r = utf8.RuneError; i+4 <= len(data) {
				r = utf16.DecodeRune(rune(order.Uint16(data[i:])), rune(order.Uint16(data[i+2:])))
			}
			i += 2
		}
		if r == utf8.RuneError {
			return "", &brokenText{fmt.Sprintf("a broken UTF-16 character on line %d", lineAt(b.String()))}
		}
		b.WriteRune(r)
	}
	return b.String(), nil
}

// western decodes a one-byte encoding, as long as the two that are common on instruments' Windows, 1252
// and 1250, agree on every byte: so they do on degree, micro, plus-minus and German letters. It returns the
// place of the first byte that they read differently, -1 for none.
func western(ctx context.Context, data []byte) (string, int, error) {
	var b strings.Builder
	b.Grow(len(data) + len(data)/8)
	for i, c := range data {
		if i&(1<<20-1) == 0 && ctx.Err() != nil {
			return "", -1, ctx.Err()
		}
		r := charmap.Windows1252.DecodeByte(c)
		if r == utf8.RuneError || r != charmap.Windows1250.DecodeByte(c) {
			return "", i, nil
		}
		b.WriteRune(r)
	}
	return b.String(), -1, nil
}
