package reproduce

import (
	"bytes"
	"fmt"
	"testing"
)

// streams collects changes of one stream of each kind.
type streams struct {
	whole *apart
	all   []mutation
}

// add adds a change. It gets the file and the object in it, and returns nil where it does not apply.
func (s *streams) add(name string, change func(t *testing.T, x *apart, p *piece) []byte) {
	for _, i := range kinds(s.whole) {
		o := s.whole.objects[i]
		if o.stream == nil {
			continue
		}
		s.all = append(s.all, mutation{fmt.Sprintf("stream %d: %s", o.number, name),
			func(t *testing.T, x *apart) []byte { return change(t, x, &x.objects[i]) }})
	}
}

// plain adds a change of what a stream holds, packed as it was.
func (s *streams) plain(name string, change func([]byte) []byte) {
	s.add(name, func(t *testing.T, x *apart, p *piece) []byte {
		if bytes.Contains(p.head, []byte("/FlateDecode")) {
			p.stream = deflated(change(inflated(t, p.stream)))
		} else {
			p.stream = change(p.stream)
		}
		return x.bytes()
	})
}

// raw adds a change of packed bytes, with the length that they then have.
func (s *streams) raw(name string, change func(p *piece) []byte) {
	s.add(name, func(_ *testing.T, x *apart, p *piece) []byte {
		if changed := change(p); changed != nil {
			p.stream = changed
			return x.bytes()
		}
		return nil
	})
}

// written adds a change of how the object stands in the file.
func (s *streams) written(name, from, to string) {
	s.add(name, func(_ *testing.T, x *apart, p *piece) []byte {
		number := p.number
		return x.closed(x.body(func(q piece) []byte {
			if q.number != number {
				return q.written()
			}
			return bytes.Replace(q.written(), []byte(from), []byte(to), 1)
		}))
	})
}

// everyStream changes the bytes of a stream of each kind, what they are packed with, and what is said of them.
func everyStream(whole *apart) []mutation {
	s := &streams{whole: whole}
	s.plain("a bit of the first byte", func(b []byte) []byte { b[0] ^= 1; return b })
	s.plain("a bit in the middle", func(b []byte) []byte { b[len(b)/2] ^= 1; return b })
	s.plain("a bit of the last byte", func(b []byte) []byte { b[len(b)-1] ^= 1; return b })
	s.plain("a byte more", func(b []byte) []byte { return append(b, ' ') })
	s.plain("a byte less", func(b []byte) []byte { return b[:len(b)-1] })
	s.plain("nothing", func([]byte) []byte { return nil })
	s.raw("bytes after what is packed", func(p *piece) []byte { return append(p.stream, "\n0 g"...) })
	s.raw("a checksum", func(p *piece) []byte { p.stream[len(p.stream)-1] ^= 1; return p.stream })
	s.raw("no checksum", func(p *piece) []byte { return p.stream[:len(p.stream)-4] })
	s.raw("a smaller window", func(p *piece) []byte { return append([]byte{0x08, 0x1d}, p.stream[2:]...) })
	s.raw("an incomplete code", incomplete)
	s.filters()
	s.lengths()
	return s.all
}

// filters says other things of what a stream is packed with.
func (s *streams) filters() {
	const filter = "/Filter /FlateDecode"
	for _, c := range [][3]string{
		{"no filter", filter, ""},
		{"another filter", filter, "/Filter /ASCIIHexDecode"},
		{"two filters", filter, "/Filter [/FlateDecode /RunLengthDecode]"},
		{"one filter in a list", filter, "/Filter [/FlateDecode]"},
		{"a filter after the filter", filter, "/Filter /FlateDecode /Filter /LZWDecode"},
		{"a filter before the filter", filter, "/Filter /LZWDecode /Filter /FlateDecode"},
		{"a filter named otherwise", filter, "/Filter /Fl"},
		{"a filter spelt otherwise", filter, "/Filter /F#6cateDecode"},
		{"a predictor", filter, "/Filter /FlateDecode /DecodeParms <</Predictor 2 /Columns 4>>"},
		{"bytes of another file", "/Length", "/F (other.bin) /Length"},
		{"a length before the length", "/Length", "/Length 7 /Length"},
	} {
		s.add(c[0], func(_ *testing.T, x *apart, p *piece) []byte {
			changed := bytes.Replace(p.head, []byte(c[1]), []byte(c[2]), 1)
			if bytes.Equal(changed, p.head) {
				return nil
			}
			p.head = changed
			return x.bytes()
		})
	}
}

// lengths says other things of where a stream ends.
func (s *streams) lengths() {
	said := func(name string, length func(p *piece) string) {
		s.add(name, func(_ *testing.T, x *apart, p *piece) []byte {
			p.head = lengthKey.ReplaceAll(p.head, []byte("/Length "+length(p)))
			return x.closed(x.body(asIs(*p)))
		})
	}
	for _, by := range []int{-5, -1, 1, 1 << 40} {
		said(fmt.Sprintf("a length %d too long", by), func(p *piece) string { return fmt.Sprint(len(p.stream) + by) })
	}
	said("a length by reference", func(*piece) string { return "1 0 R" })
	said("a length in more digits", func(p *piece) string { return fmt.Sprintf("0%d", len(p.stream)) })
	said("a length with a sign", func(p *piece) string { return fmt.Sprintf("+%d", len(p.stream)) })
	const end = "\nendstream\nendobj"
	for _, other := range []string{"", "\n", "\r\nendstream", "\nendstream ", "\n0 0 999 999 re f\nendstream",
		"\nendstream\nendstream"} {
		s.written(fmt.Sprintf("%q at the end", other), end, other+"\nendobj")
	}
	s.written("another line end after stream", "\nstream\n", "\nstream\r\n")
}

// asIs writes one object with the length that it says, the others as they belong.
func asIs(p piece) func(piece) []byte {
	return func(q piece) []byte {
		if q.number == p.number {
			return fmt.Appendf(nil, "%d 0 obj\n%s\nstream\n%s\nendstream\nendobj\n", q.number, p.head, q.stream)
		}
		return q.written()
	}
}

// incomplete is the same content with blocks of nothing before it whose code has one symbol, and is not complete.
// Decoders disagree on such codes.
func incomplete(p *piece) []byte {
	if !bytes.Contains(p.head, []byte("/FlateDecode")) {
		return nil
	}
	var w bitWriter
	for range 8 { // so that what follows begins with a byte
		w.emptyBlock()
	}
	rest := bits(p.stream[2 : len(p.stream)-4])
	for _, bit := range rest {
		w.put(uint(bit), 1)
	}
	return append(append([]byte{0x78, p.stream[1]}, w.bytes...), p.stream[len(p.stream)-4:]...)
}

// bitWriter writes bits into bytes, the lowest first.
type bitWriter struct {
	bytes []byte
	n     int
}

func (w *bitWriter) put(v uint, n int) {
	for i := range n {
		if w.n%8 == 0 {
			w.bytes = append(w.bytes, 0)
		}
		w.bytes[w.n/8] |= byte(v>>i&1) << (w.n % 8)
		w.n++
	}
}

// emptyBlock writes a block that is not the last one and holds nothing, in codes of its own.
func (w *bitWriter) emptyBlock() {
	w.put(0b100, 3) // not the last block, coded by its own codes
	w.put(0, 5)     // 257 symbols of literals
	w.put(0, 5)     // 1 of distances
	w.put(15, 4)    // 19 lengths
	for _, i := range []int{16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15} {
		switch i {
		case 18, 1: // codes 1 and 0
			w.put(1, 3)
		default:
			w.put(0, 3)
		}
	}
	for _, zeros := range []int{138, 118} { // 256 symbols without a code
		w.put(1, 1)
		w.put(uint(zeros-11), 7)
	}
	w.put(0, 1) // the end of the block has the one code of one bit
	w.put(0, 1) // and a distance
	w.put(0, 1) // the end
}

func bits(b []byte) []byte {
	out := make([]byte, 0, 8*len(b))
	for _, c := range b {
		for i := range 8 {
			out = append(out, c>>i&1)
		}
	}
	return out
}
