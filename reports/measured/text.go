package measured

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// bom is the byte order mark that some programs put before UTF-8.
var bom = []byte("\xef\xbb\xbf")

// checkText refuses what is not a text file in UTF-8 with lines that end in LF or CRLF.
func checkText(f File) error {
	data := f.Data
	refuse := func(at int, found, want string) error {
		line := 0
		if at >= 0 {
			line = bytes.Count(data[:at], []byte("\n")) + 1
		}
		return &Refusal{File: f.Name, Line: line, Found: found, Want: want}
	}
	const table = "comma-separated text in UTF-8"
	switch {
	case len(bytes.TrimSpace(bytes.TrimPrefix(data, bom))) == 0:
		return refuse(-1, "an empty file", "a head of columns and rows of readings")
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		return refuse(-1, "text in UTF-16", table)
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return refuse(-1, "a spreadsheet or another zip archive", table)
	}
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		switch {
		case r == utf8.RuneError && n == 1:
			return refuse(i, fmt.Sprintf("the byte %#02x, which is not UTF-8", data[i]), table)
		case r == 0:
			return refuse(i, "a NUL byte", table)
		case r == '\r' && !bytes.HasPrefix(data[i:], []byte("\r\n")):
			return refuse(i, "a carriage return without a line feed", "lines that end in LF or CRLF")
		}
		i += n
	}
	return nil
}

// comments takes the "#" lines: those before the head that read "key: value" are metadata.
func (t *Table) comments(text []byte) {
	head := false
	for i, line := range strings.Split(string(text), "\n") {
		line = strings.TrimSpace(line)
		rest, ok := strings.CutPrefix(line, "#")
		if !ok {
			head = head || line != ""
			continue
		}
		rest = strings.TrimSpace(rest)
		key, value, pair := strings.Cut(rest, ":")
		key, value = strings.TrimSpace(key), strings.TrimSpace(value)
		switch {
		case pair && !head && key != "":
			t.Meta = append(t.Meta, KeyValue{Key: key, Value: value, Line: i + 1})
		case rest != "":
			t.Remarks = append(t.Remarks, Remark{Text: rest, Line: i + 1})
		}
	}
}

// singular are the metadata that the program itself reads, of which a file may have one each.
var singular = []string{UnitName, LotName, Temperature, polarizationKey}

const polarizationKey = "source polarization"

// checkMeta refuses metadata that the program reads and cannot understand.
func (t *Table) checkMeta() error {
	for _, key := range singular {
		first := 0
		for _, kv := range t.Meta {
			if normal(kv.Key) != key {
				continue
			}
			refuse := func(found, want string) error {
				return &Refusal{File: t.File.Name, Line: kv.Line, Head: "# " + kv.Key, Found: found, Want: want}
			}
			if first > 0 {
				return refuse("the key again", fmt.Sprintf("it once, as on line %d", first))
			}
			first = kv.Line
			if kv.Value == "" {
				return refuse("no value", "one after the colon, or no such line")
			}
			if key == polarizationKey {
				switch t.Polarization() {
				case Scrambled, MinMax, FixedUnknown:
				default:
					return refuse(quote(kv.Value), fmt.Sprintf("%s, %s or %s", Scrambled, MinMax, FixedUnknown))
				}
			}
		}
	}
	return nil
}
