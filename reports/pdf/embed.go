package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/go-pdf/fpdf"

	"wedgework/optics/parallel"
)

// characters is a set of characters, of those that fpdf can write.
type characters [1 << 16 / 64]uint64

func (c *characters) add(r rune) { c[uint16(r)/64] |= 1 << (uint16(r) % 64) }

// text returns all of them, in order.
func (c *characters) text() string {
	var b strings.Builder
	for i, word := range c {
		for k := range 64 {
			if word>>k&1 != 0 {
				b.WriteRune(rune(64*i + k))
			}
		}
	}
	return b.String()
}

// subset is the part of a face that a file uses, as the objects that stand for it in a PDF. They name each other, and
// the first of them, which is the font, by the numbers 1 to len(objects).
type subset struct{ objects [][]byte }

// A face is parsed, cut and compressed by fpdf, which does it anew for every file, and that is the dearest step of
// making a short one. So it is done in a file of its own, and the objects go from there into the report, and stay here
// for the next of the process. Nearly all reports use no more than the usual characters: what serves these is cut
// before the program is built (ready.go).
var subsets = struct {
	sync.Mutex
	known map[subsetKey]func() (subset, error) // each is cut by who comes first
}{known: map[subsetKey]func() (subset, error){}}

type subsetKey struct {
	face faceKey
	used characters
}

// The usual characters are ASCII, and the Greek and the signs that reports use, most of them in the upright sans only.
// They make a report some 30 kB longer than those that it uses would.
const (
	usualText = " !\"#$%&'()*+,-./0123456789:;<=>?@ABCDEFGHIJKLMNOPQRSTUVWXYZ[\\]^_`abcdefghijklmnopqrstuvwxyz{|}~°±²µνχ−"
	usualSans = "³·×Δθλμπσφ–—•…∞≈≤≥"
)

// usual are those of them that a face has.
func (x *face) usual() characters {
	text := usualText
	if x.key == (faceKey{}) {
		text += usualSans
	}
	var c characters
	for _, r := range text {
		if _, ok := x.own(r); ok {
			c.add(r)
		}
	}
	return c
}

// within reports whether all characters are among others.
func (c *characters) within(others *characters) bool {
	for i, word := range c {
		if word&^others[i] != 0 {
			return false
		}
	}
	return true
}

// mostSubsets bounds what is kept, some 20 kB each, and 8 for the key.
const mostSubsets = 32

// embed returns the subsets of all faces that were drawn with, in the order of their numbers.
func (f *fonts) embed() ([]subset, error) {
	all := make([]subset, len(f.drawn))
	return all, parallel.Each(len(all), func(i int) (err error) {
		if all[i], err = f.drawn[i].subset(); err != nil {
			return fmt.Errorf("embedding %s: %w", f.drawn[i].name, err)
		}
		return nil
	})
}

func (x *face) subset() (subset, error) {
	if !x.common {
		return x.cut()
	}
	all := *x
	if usual := x.usual(); x.used.within(&usual) {
		return x.ready()
	}
	k := subsetKey{x.key, *all.used}
	subsets.Lock()
	cut := subsets.known[k]
	if cut == nil {
		if len(subsets.known) >= mostSubsets {
			clear(subsets.known)
		}
		cut = sync.OnceValues(all.cut)
		subsets.known[k] = cut
	}
	subsets.Unlock()
	return cut()
}

// fontObjects is how many objects fpdf makes of a face: the font, its descendant, what maps characters to Unicode, their
// collection, the descriptor, what maps characters to glyphs, and the file of the face.
const fontObjects = 7

// cut makes a file of nothing but the characters used, and takes the font out of it.
func (x *face) cut() (s subset, err error) {
	defer catch(&err)
	p := fpdf.New("P", "pt", "A4", "")
	p.SetCompression(false)
	p.AddUTF8FontFromBytes("face", "", slices.Clone(x.ttf)) // fpdf writes into it where glyphs share a width
	p.AddPage()
	p.SetFont("face", "", 10)
	p.Text(0, 0, x.used.text())
	var b bytes.Buffer
	if err := p.Output(&b); err != nil {
		return s, err
	}
	objects, _, _, err := split(b.Bytes())
	if err != nil {
		return s, err
	}
	for i, o := range objects {
		if !bytes.Contains(o.body[:min(len(o.body), 64)], []byte("<</Type /Font\n/Subtype /Type0\n")) {
			continue
		}
		if i+fontObjects > len(objects) {
			break
		}
		for k, o := range objects[i : i+fontObjects] {
			if o.number != objects[i].number+k {
				return s, errors.New("the objects of the font are not as expected")
			}
			for _, end := range []string{"\n", " "} {
				// The six letters say that only a part of the face is embedded.
				o.body = bytes.ReplaceAll(o.body, []byte("/utf8face"+end), []byte("/WEDGEW+"+x.name+end))
			}
			if o.body, err = mapped(o.body, x.used); err != nil {
				return s, err
			}
			s.objects = append(s.objects, renumbered(compressed(o.body), 1-objects[i].number))
		}
		return s, nil
	}
	return s, errors.New("the font is not there")
}

var numberForm = regexp.MustCompile(`\b\d+ 0 (R|obj)\b`)

// renumbered returns an object with its own number, and those that it names, moved by so much.
func renumbered(body []byte, by int) []byte {
	end := bytes.Index(body, []byte("\nstream\n"))
	if end < 0 {
		end = len(body)
	}
	head := numberForm.ReplaceAllFunc(body[:end:end], func(m []byte) []byte {
		number, rest, _ := bytes.Cut(m, []byte(" "))
		n, err := strconv.Atoi(string(number))
		if err != nil {
			return m
		}
		return append(strconv.AppendInt(nil, int64(n+by), 10), append([]byte{' '}, rest...)...)
	})
	return append(head, body[end:]...)
}

// reserve keeps numbers for the objects of fonts, and returns how the resources of the pages list these.
func (f *file) reserve(fonts []subset) string {
	var list strings.Builder
	list.WriteByte('\n')
	f.fonts = f.next
	for i, s := range fonts {
		fmt.Fprintf(&list, "/F%d %d 0 R\n", i+1, f.next)
		f.next += len(s.objects)
	}
	return list.String()
}

// embed adds the objects under the numbers reserved.
func (f *file) embed(fonts []subset) {
	n := f.fonts
	for _, s := range fonts {
		for k, body := range s.objects {
			f.put(n+k, renumbered(body, n-1))
		}
		n += len(s.objects)
	}
}
