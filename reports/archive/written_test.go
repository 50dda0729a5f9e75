package archive

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
)

// Whatever a file has that a report does not is refused, with what and where; genuine files are read whole.
func TestReadWritten(t *testing.T) {
	file, carries := carried(t)
	w, err := ReadWritten(file)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]bool{}
	for _, o := range w.Objects {
		if _, err := o.Value(); err != nil {
			t.Errorf("object %d: %v", o.Number, err)
		}
		data, err := o.Unpacked()
		if err != nil {
			t.Errorf("object %d: %v", o.Number, err)
		}
		found[string(data)] = true
	}
	for _, a := range carries {
		if !found[string(a.Data)] {
			t.Errorf("no stream unpacks to %s", a.Name)
		}
	}
	if _, err := (Object{Head: []byte("<</Filter /FlateDecode>>"), Packed: []byte("no zlib")}).Unpacked(); err == nil {
		t.Error("what is not packed unpacks")
	}
	data, err := Object{Head: []byte("<<>>"), Packed: []byte("plain")}.Unpacked()
	if err != nil || string(data) != "plain" {
		t.Errorf("a stream without a filter: %q %v", data, err)
	}
	if !bytes.HasPrefix(file[w.Table:], []byte("xref\n")) || !bytes.HasPrefix(w.Trailer, []byte("<<")) {
		t.Errorf("the table at %d, the trailer %.20q", w.Table, w.Trailer)
	}
	plainHeader := append([]byte("%PDF-1.7\n%abcd\n"), file[len(w.Header):]...)
	replaced := func(old, is string) []byte {
		if !bytes.Contains(file, []byte(old)) {
			t.Fatalf("a report has no %q: the case says nothing", old)
		}
		return bytes.Replace(file, []byte(old), []byte(is), 1)
	}
	first := func(object string) []byte { return spliced(file, len(w.Header), object) }
	packed := func(keys, data string) []byte { // one more stream
		return first(fmt.Sprintf("9999 0 obj\n<<%s>>\nstream\n%s\nendstream\nendobj\n", keys, data))
	}
	for what, c := range map[string]struct {
		file []byte
		want string
	}{
		"nothing":                         {nil, "expected the header"},
		"text":                            {[]byte("hello, this is no report at all"), "expected the header"},
		"a version that is none":          {replaced("%PDF-1.", "%PDF-2."), "expected the header"},
		"a header of plain letters":       {plainHeader, "expected the header"},
		"an object twice":                 {first("1 0 obj\nnull\nendobj\n"), "a second time"},
		"a comment between objects":       {first("% seen\n"), "expected an object or the table"},
		"a generation":                    {replaced("1 0 obj\n", "1 1 obj\n"), "expected an object or the table"},
		"a number that a report leaves":   {replaced("1 0 obj\n", "01 0 obj\n"), "expected an object or the table"},
		"a bare word as an object":        {first("9999 0 obj\nfoo\nendobj\n"), "expected a value"},
		"no value":                        {first("9999 0 obj\n)\nendobj\n"), "object 9999"},
		"an object without its end":       {first("9999 0 obj\nnull\n"), `expected "\nendobj\n"`},
		"a stream of a number":            {first("9999 0 obj\n5\nstream\nx\nendstream\nendobj\n"), "not follow a dictionary"},
		"a stream from outside":           {packed("/Length 1 /F (x)", "x"), "found the key F of a stream"},
		"a filter that reads otherwise":   {packed("/Length 1 /Filter /ASCIIHexDecode", "x"), "expected FlateDecode or DCTDecode"},
		"a length that is none":           {packed("/Length (1)", "x"), "expected a number"},
		"a length beyond the file":        {packed("/Length 99999999", "x"), "which the file does not have"},
		"a length that ends early":        {packed("/Length 1", "x q 1 0 0 RG"), `expected "\nendstream"`},
		"an object that the table lacks":  {spliced(file, w.Table, "9999 0 obj\nnull\nendobj\n"), "none is object"},
		"positions of other objects":      {replaced("0000000000 65535 f \n0", "0000000000 65535 f \n1"), "positions other than"},
		"no trailer":                      {replaced("trailer\n", "trailed\n"), `expected "trailer\n"`},
		"a trailer that is no dictionary": {replaced("trailer\n<<", "trailer\n[]<<"), "expected Size, Root, Info and ID"},
		"a trailer that names a table":    {replaced("/Root", "/Prev 5 /Root"), "expected Size, Root, Info and ID"},
		"a trailer of other keys":         {replaced("/Root", "/Boot"), "expected Size, Root, Info and ID"},
		"a trailer that does not parse":   {replaced("trailer\n<<", "trailer\n<<<<"), "trailer"},
		"another table named at the end":  {replaced("startxref\n", "startxref\n1"), "startxref"},
		"more behind the end":             {append(bytes.Clone(file), "1 0 obj\n"...), "behind the end"},
	} {
		_, err := ReadWritten(c.file)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", what, err, c.want)
		}
	}
}

// spliced is a file with something between.
func spliced(file []byte, at int, what string) []byte {
	return append(append(bytes.Clone(file[:at]), what...), file[at:]...)
}
