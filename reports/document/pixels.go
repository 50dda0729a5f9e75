package document

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"slices"

	"gonum.org/v1/plot/vg/vgimg"
)

// dotsPerInch makes a figure of the width of a page some 800 pixels wide: sharp in a notebook's column.
const dotsPerInch = 120

// PNG draws a figure as a picture on its own white ground, with the same bytes every time. A panic of the drawing
// becomes an error.
func PNG(f Figure) (picture []byte, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("drawing panicked: %v", r)
		}
	}()
	if f.Drawing == nil {
		return nil, errors.New("the figure has no drawing")
	}
	w, h := f.Size()
	c := vgimg.NewWith(vgimg.UseWH(w, h), vgimg.UseDPI(dotsPerInch))
	if err := f.Drawing.Draw(c); err != nil {
		return nil, err
	}
	var m image.Image = c.Image()
	if rgba, ok := m.(*image.RGBA); ok {
		m = paletted(rgba)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// mostColors is how many colours a picture with a palette has at most.
const mostColors = 256

// paletted keeps the colours of a picture that are most in it: drawings have few, and shades of them along lines. It is
// then a third as long, and takes a third of the time to compress. The first are the most frequent of each group of
// colours alike in the upper bits of each channel, so that no hue is lost; what remains becomes the nearest of those.
func paletted(m *image.RGBA) *image.Paletted {
	var seen tally
	which := make([]int32, len(m.Pix)/4)
	last, at := color.RGBA{}, int32(-1)
	for i := range which {
		p := m.Pix[4*i : 4*i+4 : 4*i+4]
		if c := (color.RGBA{p[0], p[1], p[2], 0xff}); at < 0 || c != last { // most of a drawing is runs of its ground
			last, at = c, seen.number(c)
		}
		which[i] = at
		seen.counts[at]++
	}
	out := image.NewPaletted(m.Rect, commonest(seen.colors, seen.counts))
	index := make([]uint8, len(seen.colors))
	for i, c := range seen.colors {
		index[i] = uint8(out.Palette.Index(c))
	}
	for i, w := range which {
		out.Pix[i] = index[w]
	}
	return out
}

// tally numbers colours in the order in which they are met. The shades along lines come again and again, so that a
// small table in front of the map answers nearly always.
type tally struct {
	colors  []color.RGBA
	counts  []int
	numbers map[color.RGBA]int32
	recent  [1 << 12]struct {
		color  color.RGBA // the zero value is no opaque colour
		number int32
	}
}

func (t *tally) number(c color.RGBA) int32 {
	slot := &t.recent[(uint32(c.R)<<16|uint32(c.G)<<8|uint32(c.B))*0x9e3779b1>>20] // multiplicative hashing
	if slot.color == c {
		return slot.number
	}
	n, known := t.numbers[c]
	if !known {
		if t.numbers == nil {
			t.numbers = map[color.RGBA]int32{}
		}
		n = int32(len(t.colors))
		t.numbers[c] = n
		t.colors, t.counts = append(t.colors, c), append(t.counts, 0)
	}
	slot.color, slot.number = c, n
	return n
}

// commonest chooses the colours of a palette from those that occur in a picture as often as counts says.
func commonest(colors []color.RGBA, counts []int) color.Palette {
	order := make([]int, len(colors))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		a, b := colors[i], colors[j]
		return cmp.Or(cmp.Compare(counts[j], counts[i]), cmp.Compare(a.R, b.R), cmp.Compare(a.G, b.G),
			cmp.Compare(a.B, b.B))
	})
	var first, rest color.Palette
	for shift := 4; ; shift++ { // the bits that are not looked at; with six of them there are 64 groups
		seen := map[[3]uint8]bool{}
		first, rest = nil, nil
		for _, i := range order {
			c := colors[i]
			if g := [3]uint8{c.R >> shift, c.G >> shift, c.B >> shift}; !seen[g] {
				seen[g], first = true, append(first, c)
				continue
			}
			rest = append(rest, c)
		}
		if len(first) <= mostColors {
			break
		}
	}
	palette := append(first, rest...)
	return palette[:min(len(palette), mostColors)]
}
