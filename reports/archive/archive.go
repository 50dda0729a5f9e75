// Package archive reads PDF files of reports back: their objects, their pages, and what they carry. It shares no code
// with the package that writes them.
//
// The file may come from anywhere and may be made to harm: every length is bounded, nothing is written, names are those
// of attachments and never paths that are followed, and what is not understood is an error. It reads what the writer of
// this program writes, and the additions that other programs append to such a file (signatures, stamps). It does not
// read files that were written anew with cross-reference streams, and no encrypted ones.
package archive

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
)

// Limits, far above what a report needs (a choice). A file of the size allowed is read into memory whole. What a report
// carries stays in memory, some 200 MB of it at most; objects may be read again and again, but not more bytes of them
// than maxRead together.
const (
	MaxFile        = 128 << 20 // bytes of a file
	maxStream      = 64 << 20  // bytes of a stream unpacked
	maxUnpacked    = 192 << 20 // of all that is unpacked together
	maxObjects     = 1 << 18
	maxValues      = 1 << 21 // of PDF, in the objects that are read, each time that they are
	maxRead        = 128 << 20
	maxUpdates     = 64
	maxAttachments = 1 << 14
	maxName        = 1 << 10 // bytes of the name of an attachment
)

// File is a PDF file taken apart. It is used from one goroutine.
type File struct {
	data     []byte
	places   map[int]int // object number to offset
	trailer  Dict
	unpacked int
	read     int // bytes of objects so far
	left     int // values that may still be read
}

// Open reads the tables of a file.
func Open(data []byte) (*File, error) {
	if len(data) > MaxFile {
		return nil, fmt.Errorf("found %d bytes, expected at most %d", len(data), MaxFile)
	}
	if !bytes.HasPrefix(data, []byte("%PDF-1.")) {
		return nil, errors.New("not a PDF file: it does not begin as PDF 1 does")
	}
	f := &File{data: data, places: map[int]int{}, left: maxValues}
	tail := data[max(0, len(data)-1024):]
	at := bytes.LastIndex(tail, []byte("startxref"))
	if at < 0 {
		return nil, errors.New("the file is cut short: startxref is missing at its end")
	}
	l := lexer{data: tail, at: at + len("startxref"), left: &f.left}
	offset, err := l.integer()
	if err != nil {
		return nil, fmt.Errorf("startxref: %w", err)
	}
	if err := f.tables(offset); err != nil {
		return nil, err
	}
	if f.trailer["Encrypt"] != nil {
		return nil, errors.New("the file is encrypted, and reports are not")
	}
	return f, nil
}

// tables reads the table at an offset and those that it adds to. The latest entry of an object holds.
func (f *File) tables(offset int) error {
	seen := map[int]bool{}
	for range maxUpdates {
		if offset < 0 || offset >= len(f.data) || seen[offset] {
			return fmt.Errorf("found a cross-reference table at %d, expected one within the file", offset)
		}
		seen[offset] = true
		l := lexer{data: f.data, at: offset, left: &f.left}
		if !l.keyword("xref") {
			return errors.New("no cross-reference table at the position that the file gives: it is damaged, or " +
				"another program has rewritten it (qpdf --object-streams=disable IN.pdf OUT.pdf gives it tables " +
				"again)")
		}
		trailer, err := f.table(&l)
		if err != nil {
			return err
		}
		if f.trailer == nil {
			f.trailer = trailer
		}
		previous, ok := trailer["Prev"]
		if !ok {
			return nil
		}
		n, ok := previous.(Number)
		if !ok {
			return errors.New("trailer: Prev is no number")
		}
		if offset, err = n.Int(); err != nil {
			return fmt.Errorf("trailer: Prev: %w", err)
		}
	}
	return fmt.Errorf("found more than %d cross-reference tables", maxUpdates)
}

// table reads the sections of one table and its trailer.
func (f *File) table(l *lexer) (Dict, error) {
	for !l.keyword("trailer") {
		first, err := l.integer()
		if err != nil {
			return nil, fmt.Errorf("cross-reference table: %w", err)
		}
		n, err := l.integer()
		if err != nil || first < 0 || n < 0 || n > maxObjects || first > maxObjects {
			return nil, fmt.Errorf("cross-reference table: found objects %d and %d more (%v), expected at most %d",
				first, n, err, maxObjects)
		}
		for i := range n {
			offset, err := l.integer()
			if err == nil {
				_, err = l.integer()
			}
			if err != nil {
				return nil, fmt.Errorf("cross-reference table: object %d: %w", first+i, err)
			}
			switch {
			case l.keyword("n"):
				if _, later := f.places[first+i]; !later {
					f.places[first+i] = offset
				}
			case l.keyword("f"):
				if _, later := f.places[first+i]; !later {
					f.places[first+i] = -1
				}
			default:
				return nil, fmt.Errorf("cross-reference table: object %d is neither in use nor free", first+i)
			}
			if len(f.places) > maxObjects {
				return nil, fmt.Errorf("cross-reference table: found more than %d objects", maxObjects)
			}
		}
	}
	v, err := l.value(0)
	if err != nil {
		return nil, fmt.Errorf("trailer: %w", err)
	}
	d, ok := v.(Dict)
	if !ok {
		return nil, errors.New("trailer: expected a dictionary")
	}
	return d, nil
}

// Object returns the value of a numbered object; nil, the null of PDF, for one that is not there.
func (f *File) Object(number int) (Value, error) {
	v, l, err := f.direct(number)
	if err != nil {
		return nil, err
	}
	d, ok := v.(Dict)
	if !ok || !l.keyword("stream") {
		return v, nil
	}
	return f.stream(number, d, l.at)
}

// direct reads what an object begins with: all of it, unless a stream follows where the lexer stands.
func (f *File) direct(number int) (Value, *lexer, error) {
	offset, ok := f.places[number]
	l := &lexer{data: f.data, at: offset, left: &f.left}
	if !ok || offset < 0 {
		return nil, l, nil
	}
	if offset >= len(f.data) {
		return nil, l, fmt.Errorf("object %d lies beyond the end of the file", number)
	}
	n, err := l.integer()
	if err == nil {
		_, err = l.integer()
	}
	if err != nil || n != number || !l.keyword("obj") {
		return nil, l, fmt.Errorf("there is no object %d at the position that the table gives", number)
	}
	v, err := l.value(0)
	if err != nil {
		return nil, l, fmt.Errorf("object %d: %w", number, err)
	}
	if f.read += l.at - offset; f.read > maxRead {
		return nil, l, fmt.Errorf("object %d: objects are read again and again, more than %d bytes of them", number,
			maxRead)
	}
	return v, l, nil
}

func (f *File) stream(number int, d Dict, at int) (Value, error) {
	switch {
	case bytes.HasPrefix(f.data[at:], []byte("\r\n")):
		at += 2
	case bytes.HasPrefix(f.data[at:], []byte("\n")):
		at++
	default:
		return nil, fmt.Errorf("object %d: no line feed after stream", number)
	}
	length := d["Length"]
	if ref, ok := length.(Ref); ok {
		var err error
		if length, _, err = f.direct(int(ref)); err != nil {
			return nil, err
		}
	}
	n, ok := length.(Number)
	if !ok {
		return nil, fmt.Errorf("object %d: a stream without a length", number)
	}
	size, err := n.Int()
	if err != nil || size < 0 || size > len(f.data)-at {
		return nil, fmt.Errorf("object %d: a stream of %s bytes, which the file does not have", number, n)
	}
	return Stream{d, f.data[at : at+size]}, nil
}

// Resolve returns the value that a reference leads to, any other value as it is.
func (f *File) Resolve(v Value) (Value, error) {
	for range 8 {
		ref, ok := v.(Ref)
		if !ok {
			return v, nil
		}
		var err error
		if v, err = f.Object(int(ref)); err != nil {
			return nil, err
		}
	}
	return nil, errors.New("references lead to references without end")
}

// Unpack returns the content of a stream that is not packed, or packed with Flate alone.
func (f *File) Unpack(s Stream) ([]byte, error) {
	if filter := f.filter(s); filter != nil && filter != Name("FlateDecode") || s.Dict["DecodeParms"] != nil {
		return nil, fmt.Errorf("found a stream packed with %v, expected FlateDecode", filter)
	}
	return f.Inflate(s)
}

// Inflate undoes Flate and leaves what else a stream is packed with, as pictures are: enough to hold two streams
// against each other.
func (f *File) Inflate(s Stream) ([]byte, error) {
	if f.filter(s) != Name("FlateDecode") {
		return s.raw, nil
	}
	said := f.said(s)
	out, err := inflate(s.raw, min(maxStream, maxUnpacked-f.unpacked), said)
	switch {
	case errors.Is(err, errTooMuch):
		return nil, fmt.Errorf("found more than %d bytes unpacked, or %d in all", maxStream, maxUnpacked)
	case err != nil:
		return nil, fmt.Errorf("a stream of the file is damaged: %w", err)
	}
	f.unpacked += max(len(out), said)
	return out, nil
}

// said is the length that a stream says its content has, 0 for none.
func (f *File) said(s Stream) int {
	p, _ := s.Dict["Params"].(Dict)
	size, _ := p["Size"].(Number)
	n, err := size.Int()
	if err != nil {
		return 0
	}
	return n
}

var errTooMuch = errors.New("more bytes than are allowed")

// inflate unpacks up to so many bytes. Where nobody says how many there are it looks first, and then takes no more
// memory than they need.
func inflate(packed []byte, most, said int) ([]byte, error) {
	z, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	if said <= 0 || said > most {
		n, err := io.Copy(io.Discard, io.LimitReader(z, int64(most)+1))
		switch {
		case n > int64(most):
			return nil, errTooMuch
		case err != nil:
			return nil, err
		}
		said = int(n)
		if err := z.(zlib.Resetter).Reset(bytes.NewReader(packed), nil); err != nil {
			return nil, err
		}
	}
	var out bytes.Buffer
	out.Grow(said + bytes.MinRead)
	_, err = out.ReadFrom(io.LimitReader(z, int64(most)+1))
	if out.Len() > most {
		return nil, errTooMuch
	}
	return out.Bytes(), err
}

// Unpacked returns the content of an object that is a stream. Flate is undone, and every decoder must read it alike;
// what else it is packed with is left.
func (o Object) Unpacked() ([]byte, error) {
	v, err := o.Value()
	if err != nil {
		return nil, err
	}
	if d, ok := v.(Dict); !ok || d["Filter"] != Name("FlateDecode") {
		return o.Packed, nil
	}
	if err := Sound(o.Packed); err != nil {
		return nil, err
	}
	out, err := inflate(o.Packed, maxStream, 0)
	if errors.Is(err, errTooMuch) {
		return nil, fmt.Errorf("found more than %d bytes unpacked", maxStream)
	}
	return out, err
}

// filter is the one filter of a stream, nil for none, the list for several. One that does not resolve is none of those
// we know.
func (f *File) filter(s Stream) Value {
	filter, err := f.Resolve(s.Dict["Filter"])
	if err != nil {
		return Name("?")
	}
	if a, ok := filter.(Array); ok {
		switch len(a) {
		case 0:
			return nil
		case 1:
			return a[0]
		}
		return Name(fmt.Sprint(a))
	}
	return filter
}
