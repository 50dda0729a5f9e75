package pdf

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"codeberg.org/go-fonts/liberation/liberationmonobold"
	"codeberg.org/go-fonts/liberation/liberationmonobolditalic"
	"codeberg.org/go-fonts/liberation/liberationmonoitalic"
	"codeberg.org/go-fonts/liberation/liberationmonoregular"
	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansbolditalic"
	"codeberg.org/go-fonts/liberation/liberationsansitalic"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"

	"wedgework/reports/document"
)

// A face of the file: two families, each upright or italic, regular or bold. Figures that ask for another
// family get the sans. What a face lacks is looked for in the fonts added, which have one style each.
type faceKey struct{ mono, bold, italic bool }

var programs = map[faceKey]program{
	{}:                         {name: "LiberationSans", ttf: liberationsansregular.TTF},
	{bold: true}:               {name: "LiberationSans-Bold", ttf: liberationsansbold.TTF},
	{italic: true}:             {name: "LiberationSans-Italic", ttf: liberationsansitalic.TTF},
	{bold: true, italic: true}: {name: "LiberationSans-BoldItalic", ttf: liberationsansbolditalic.TTF},
	{mono: true}:               {name: "LiberationMono", ttf: liberationmonoregular.TTF},
	{mono: true, bold: true}:   {name: "LiberationMono-Bold", ttf: liberationmonobold.TTF},
	{mono: true, italic: true}: {name: "LiberationMono-Italic", ttf: liberationmonoitalic.TTF},
	{mono: true, bold: true, italic: true}: {name: "LiberationMono-BoldItalic",
		ttf: liberationmonobolditalic.TTF},
}

// Vertical measures of all Liberation faces, as shares of the size.
const (
	ascent  = 0.905
	descent = 0.212
)

// fonts holds the faces of one file.
type fonts struct {
	faces   map[faceKey]*face
	added   []*face
	drawn   []*face      // in the order of their first use; these are embedded
	missing map[rune]int // characters printed as code points, and how often
	invalid int          // bytes that were not UTF-8
}

// face is one face of one file.
type face struct {
	program
	key    faceKey
	widths map[rune]float64 // in thousandths of the size
	others []*face          // asked in turn for what this face lacks
	common bool             // one of programs, which key tells
	number int              // of the face in the file, from 1; 0 before it is used
	used   *characters
}

func newFonts(added []program) *fonts {
	f := &fonts{faces: map[faceKey]*face{}, missing: map[rune]int{}}
	for _, a := range added {
		f.added = append(f.added, &face{program: a, widths: map[rune]float64{}})
	}
	return f
}

func keyOf(s document.Style) faceKey {
	return faceKey{mono: s&document.Mono != 0, bold: s&document.Bold != 0, italic: s&document.Italic != 0}
}

// get returns a face, ready for measuring.
func (f *fonts) get(k faceKey) *face {
	if x := f.faces[k]; x != nil {
		return x
	}
	x := &face{program: programs[k], key: k, widths: map[rune]float64{}, others: f.added, common: true}
	for _, c := range liberation.Collection() {
		if c.Font.Variant == variant(k) && (c.Font.Weight > 0) == k.bold && (c.Font.Style > 0) == k.italic {
			x.glyphs = c.Face
		}
	}
	f.faces[k] = x
	return x
}

func variant(k faceKey) font.Variant {
	if k.mono {
		return "Mono"
	}
	return "Sans"
}

// use numbers a face that is drawn with for the first time, and returns how the pages call it.
func (f *fonts) use(x *face) string {
	if x.number == 0 {
		f.drawn = append(f.drawn, x)
		x.number, x.used = len(f.drawn), new(characters)
	}
	return "F" + strconv.Itoa(x.number)
}

// has reports whether a face, or a font added, has a glyph for r.
func (x *face) has(r rune) bool { _, ok := x.advance(r); return ok }

// advance returns the width of r in thousandths of the size, in the face that draws it.
func (x *face) advance(r rune) (float64, bool) {
	if w, ok := x.own(r); ok {
		return w, true
	}
	for _, o := range x.others {
		if w, ok := o.own(r); ok {
			return w, true
		}
	}
	return -1, false
}

// own returns the width of r, rounded as fpdf writes it into the file. fpdf keeps two bytes of a character, so
// what lies above them counts as missing.
func (x *face) own(r rune) (float64, bool) {
	if w, ok := x.widths[r]; ok {
		return w, w >= 0
	}
	w := -1.0
	if r <= 0xFFFF {
		upem := fixed.Int26_6(x.glyphs.UnitsPerEm())
		if g, err := x.glyphs.GlyphIndex(nil, r); err == nil && g != 0 {
			if a, err := x.glyphs.GlyphAdvance(nil, g, upem, 0); err == nil {
				w = float64(int(float64(a)*1000/float64(upem) + 0.5))
			}
		}
	}
	x.widths[r] = w
	return w, w >= 0
}

// split cuts cleaned text where another face has to draw it.
func (x *face) split(s string, draw func(f *face, s string)) {
	if len(x.others) == 0 {
		draw(x, s)
		return
	}
	from, now := 0, x
	for i, r := range s {
		f := x
		if _, ok := x.own(r); !ok {
			for _, o := range x.others {
				if _, ok := o.own(r); ok {
					f = o
					break
				}
			}
		}
		if f != now {
			if i > from {
				draw(now, s[from:i])
			}
			from, now = i, f
		}
	}
	draw(now, s[from:])
}

// width returns the width of cleaned text at a size, in points.
func (x *face) width(s string, size float64) float64 {
	total := 0.0
	for _, r := range s {
		w, _ := x.advance(r)
		total += w
	}
	return total * size / 1000
}

// stand holds characters that look like another one which the faces have, and those that only guide line
// breaking and have no look at all.
var stand = map[rune]string{
	'\u2011': "-", '\u2009': " ", '\u202F': " ", '\u2008': " ", '\u2002': " ", '\u2003': " ",
	'\u00AD': "", '\u200B': "", '\u200C': "", '\u200D': "", '\u2060': "", '\uFEFF': "", '\uFE0E': "", '\uFE0F': "",
	'\r': "", '\t': "    ",
}

// clean returns text that can be drawn with a face: what has no glyph becomes its code point, a byte that
// is not UTF-8 its value, both counted. Line feeds stay.
func (f *fonts) clean(x *face, s string) string {
	plain := true
	for i := 0; i < len(s); i++ {
		if s[i] < ' ' && s[i] != '\n' || s[i] >= 0x7F {
			plain = false
			break
		}
	}
	if plain {
		return s
	}
	var b strings.Builder
	for len(s) > 0 {
		r, n := utf8.DecodeRuneInString(s)
		switch alt, ok := stand[r]; {
		case document.Directs(r):
			// What turns the direction of text could make a page read otherwise than it was checked.
			fmt.Fprintf(&b, "U+%04X", r)
			f.missing[r]++
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, "\\x%02X", s[0])
			f.invalid++
		case r == '\n':
			b.WriteByte('\n')
		case ok && (alt == "" || r == '\t' || !x.has(r)):
			b.WriteString(alt)
		case r >= ' ' && x.has(r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, "U+%04X", r)
			f.missing[r]++
		}
		s = s[n:]
	}
	return b.String()
}

// warnings says what could not be printed as it was.
func (f *fonts) warnings() []string {
	var out []string
	if len(f.missing) > 0 {
		var list []rune
		total := 0
		for r, n := range f.missing {
			list = append(list, r)
			total += n
		}
		slices.Sort(list)
		const most = 8
		var named []string
		for _, r := range list[:min(len(list), most)] {
			named = append(named, fmt.Sprintf("U+%04X (%d)", r, f.missing[r]))
		}
		if len(list) > most {
			named = append(named, fmt.Sprintf("and %d more", len(list)-most))
		}
		out = append(out, fmt.Sprintf("characters without a glyph, printed as code points: %d in all: %s", total,
			strings.Join(named, ", ")))
	}
	if f.invalid > 0 {
		out = append(out, fmt.Sprintf("bytes that are not UTF-8, printed by value: %d", f.invalid))
	}
	return out
}
