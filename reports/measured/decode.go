package measured

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// byteOrderMark stands before UTF-8 from some programs, and before all UTF-16 that can be trusted.
const byteOrderMark = "\uFEFF"

// wantText is what a file of readings may be.
const wantText = "text in UTF-8 or UTF-16, or an .xlsx workbook"

// decode returns the text of a file with LF for every line end. The warning, if any, says that an encoding
// had to be told from the content.
func decode(f File) (text, warning string, err error) {
	data := f.Data
	refuse := func(at int, found, want string) error {
		line := 0
		if at >= 0 {
			line = 1 + strings.Count(lines(string(data[:at])), "\n")
		}
		return &Refusal{File: f.Name, Line: line, Found: found, Want: want}
	}
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		text, err = wide(data[2:], binary.LittleEndian)
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		text, err = wide(data[2:], binary.BigEndian)
	case everyOther(data, 1):
		text, err = wide(data, binary.LittleEndian)
	case everyOther(data, 0):
		text, err = wide(data, binary.BigEndian)
	case utf8.Valid(data):
		text = string(data)
	default:
		if at := bytes.IndexByte(data, 0); at >= 0 {
			return "", "", refuse(at, "a NUL byte", wantText)
		}
		var at int
		if text, at = western(data); at >= 0 {
			return "", "", refuse(at, fmt.Sprintf("the byte %#02x, which is not UTF-8 and not the same letter in all western encodings", data[at]),
				"the file saved as UTF-8")
		}
		warning = f.Name + " is not UTF-8 and was read as Windows-1252"
	}
	if err != nil {
		return "", "", refuse(-1, err.Error(), wantText)
	}
	text = strings.TrimPrefix(text, byteOrderMark)
	if at := strings.IndexByte(text, 0); at >= 0 {
		return "", "", &Refusal{File: f.Name, Line: 1 + strings.Count(lines(text[:at]), "\n"), Found: "a NUL byte", Want: wantText}
	}
	return lines(text), warning, nil
}

// lines ends every line with LF: CRLF of Windows and the CR of old instruments count as one line end each.
func lines(text string) string {
	if !strings.Contains(text, "\r") {
		return text
	}
	return strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
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
func wide(data []byte, order binary.ByteOrder) (string, error) {
	if len(data)%2 != 0 {
		return "", fmt.Errorf("UTF-16 of an odd number of bytes: the file is cut off")
	}
	units := make([]uint16, len(data)/2)
	for i := range units {
		units[i] = order.Uint16(data[2*i:])
	}
	runes := utf16.Decode(units)
	for i, r := range runes {
		if r == utf8.RuneError {
			return "", fmt.Errorf("a broken UTF-16 character on line %d", 1+strings.Count(lines(string(runes[:i])), "\n"))
		}
	}
	return string(runes), nil
}

// western decodes a one-byte encoding, as long as the two that are common on instruments' Windows, 1252
// and 1250, agree on every byte: so they do on degree, micro, plus-minus and German letters. It returns the
// place of the first byte that they read differently, -1 for none.
func western(data []byte) (string, int) {
	var b strings.Builder
	for i, c := range data {
		r := charmap.Windows1252.DecodeByte(c)
		if r == utf8.RuneError || r != charmap.Windows1250.DecodeByte(c) {
			return "", i
		}
		b.WriteRune(r)
	}
	return b.String(), -1
}
