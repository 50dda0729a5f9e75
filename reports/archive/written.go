package archive

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"sync"
)

// Object is one numbered object of a file, as it is written.
type Object struct {
	Number int
	Head   []byte // its value; of a stream the dictionary
	Packed []byte // the bytes of a stream; nil for an object that is none
}

// Value reads what an object begins with.
func (o Object) Value() (Value, error) {
	left := len(o.Head) // a value takes a byte at least
	l := lexer{data: o.Head, left: &left, strict: true}
	return l.value(0)
}

// Written is a file of the one form that reports are written in.
type Written struct {
	Header  []byte   // up to the first object
	Objects []Object // in the order in which they stand
	Table   int      // offset of the cross-reference table
	Trailer []byte   // its dictionary
}

// header returns the first two lines: the version, and a comment of four bytes above 127, which tells programs that the
// file is binary. Nil for others.
func header(data []byte) []byte {
	const length = len("%PDF-1.7\n%\xE2\xE3\xCF\xD3\n")
	if len(data) < length || !bytes.HasPrefix(data, []byte("%PDF-1.")) || data[7] < '4' || data[7] > '7' ||
		string(data[8:10]) != "\n%" || data[length-1] != '\n' {
		return nil
	}
	for _, b := range data[10 : length-1] {
		if b < 0x80 {
			return nil
		}
	}
	return data[:length:length]
}

// ReadWritten reads a file that must be of the form that reports are written in, which leaves no byte to chance: the
// header, then objects one behind the other, each as "N 0 obj", its value, "endobj" on lines of their own, all numbers
// from 1 on once; streams that are followed by endstream where their lengths say; one table with every object where it
// stands; the trailer, and nothing after the end. There are no comments but that of the header, no dictionary has a key
// twice, and nothing is packed by another filter than Flate or DCT. What a viewer reads in such a file does not depend
// on how it looks for objects or repairs a file. The error says what was found and where.
func ReadWritten(data []byte) (*Written, error) {
	if len(data) > MaxFile {
		return nil, fmt.Errorf("found %d bytes, expected at most %d", len(data), MaxFile)
	}
	w := &Written{Header: header(data)}
	if w.Header == nil {
		return nil, fmt.Errorf("found a file that begins with %.16q, expected the header of a report", data)
	}
	left := len(data) // a value takes a byte at least
	l := &lexer{data: data, at: len(w.Header), left: &left, strict: true}
	offsets := map[int]int{}
	for !bytes.HasPrefix(data[l.at:], []byte("xref\n")) {
		at := l.at
		o, err := l.object()
		if err != nil {
			return nil, err
		}
		if before, twice := offsets[o.Number]; twice {
			return nil, fmt.Errorf("byte %d: found object %d a second time, after byte %d", at, o.Number, before)
		}
		if len(offsets) == maxObjects {
			return nil, fmt.Errorf("found more than %d objects", maxObjects)
		}
		offsets[o.Number] = at
		w.Objects = append(w.Objects, o)
	}
	w.Table = l.at
	return w, w.end(l, offsets)
}

// literally takes bytes that must be the next ones.
func (l *lexer) literally(what string) error {
	if !bytes.HasPrefix(l.data[l.at:], []byte(what)) {
		rest := l.data[l.at:]
		return fmt.Errorf("byte %d: found %q, expected %q", l.at, rest[:min(len(rest), len(what)+12)], what)
	}
	l.at += len(what)
	return nil
}

var objectForm = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`\A([1-9][0-9]{0,6}) 0 obj\n`)
})

// object reads an object where it begins.
func (l *lexer) object() (o Object, err error) {
	start := l.data[l.at:min(len(l.data), l.at+24)]
	m := objectForm().FindSubmatch(start)
	if m == nil {
		return o, fmt.Errorf("byte %d: found %q, expected an object or the table", l.at, start)
	}
	if o.Number, err = strconv.Atoi(string(m[1])); err != nil {
		return o, err
	}
	l.at += len(m[0])
	from := l.at
	v, err := l.value(0)
	if err != nil {
		return o, fmt.Errorf("object %d: %w", o.Number, err)
	}
	if _, bare := v.(Operator); bare {
		return o, fmt.Errorf("object %d: found %.20q, expected a value", o.Number, v)
	}
	o.Head = l.data[from:l.at:l.at]
	if bytes.HasPrefix(l.data[l.at:], []byte("\nstream\n")) {
		if o.Packed, err = l.packed(v); err != nil {
			return o, fmt.Errorf("object %d: %w", o.Number, err)
		}
	}
	if err := l.literally("\nendobj\n"); err != nil {
		return o, fmt.Errorf("object %d: %w", o.Number, err)
	}
	return o, nil
}

// elsewhere are keys of a stream by which its bytes come from another place, or are other ones than Length says.
var elsewhere = []Name{"F", "FFilter", "FDecodeParms", "DL", "Length2", "Length3"}

// packed takes the bytes of a stream.
func (l *lexer) packed(v Value) ([]byte, error) {
	d, ok := v.(Dict)
	if !ok {
		return nil, errors.New("found a stream that does not follow a dictionary")
	}
	for _, key := range elsewhere {
		if _, there := d[key]; there {
			return nil, fmt.Errorf("found the key %s of a stream, which no report has", key)
		}
	}
	switch filter := d["Filter"]; filter {
	case nil, Name("FlateDecode"), Name("DCTDecode"):
	default:
		return nil, fmt.Errorf("found the filter %v, expected FlateDecode or DCTDecode", filter)
	}
	length, ok := d["Length"].(Number)
	if !ok {
		return nil, fmt.Errorf("found the length %v of a stream, expected a number", d["Length"])
	}
	l.at += len("\nstream\n")
	n, err := length.Int()
	if err != nil || n < 0 || n > len(l.data)-l.at {
		return nil, fmt.Errorf("found a stream of %.20s bytes, which the file does not have", length)
	}
	from := l.at
	l.at += n
	return l.data[from:l.at:l.at], l.literally("\nendstream")
}

// end holds the table against where the objects stand, and takes the trailer and what closes the file.
func (w *Written) end(l *lexer, offsets map[int]int) error {
	var table bytes.Buffer
	fmt.Fprintf(&table, "xref\n0 %d\n0000000000 65535 f \n", len(offsets)+1)
	for n := 1; n <= len(offsets); n++ {
		at, ok := offsets[n]
		if !ok {
			return fmt.Errorf("found %d objects, and none is object %d", len(offsets), n)
		}
		fmt.Fprintf(&table, "%010d 00000 n \n", at)
	}
	rest := l.data[l.at:]
	if !bytes.HasPrefix(rest, table.Bytes()) {
		return errors.New("the table gives positions other than the positions of the objects")
	}
	l.at += table.Len()
	if err := l.literally("trailer\n"); err != nil {
		return err
	}
	from := l.at
	v, err := l.value(0)
	if err != nil {
		return fmt.Errorf("trailer: %w", err)
	}
	w.Trailer = l.data[from:l.at:l.at]
	d, ok := v.(Dict)
	if !ok || len(d) != 4 {
		return fmt.Errorf("trailer: found %.200q, expected Size, Root, Info and ID", w.Trailer)
	}
	for _, key := range []Name{"Size", "Root", "Info", "ID"} {
		if d[key] == nil {
			return fmt.Errorf("trailer: found %.200q, expected Size, Root, Info and ID", w.Trailer)
		}
	}
	if err := l.literally(fmt.Sprintf("\nstartxref\n%d\n%%%%EOF\n", w.Table)); err != nil {
		return err
	}
	if l.at != len(l.data) {
		return fmt.Errorf("byte %d: found more behind the end of the file", l.at)
	}
	return nil
}
