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
	c := newRasterCanvas(f)
	if err := f.Drawing.Draw(c); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := png.Encode(&b, c.paletted()); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// mostColors is how many colours a picture with a palette has at most.
const mostColors = 256

// paletted keeps the colours of a picture that are most in it: drawings have few, and shades of them along lines. It is
// then a third as long, and takes a third of the time to compress. The first are the most frequent of each group of
// colours alike in the upper bits of each channel, so that no hue is lost; what remains becomes the nearest of those.
func (c *rasterCanvas) paletted() *image.Paletted {
	counts := make([]int, len(c.seen.colors))
	for _, n := range c.pixels {
		counts[n]++
	}
	colors := c.seen.colors
	out := image.NewPaletted(image.Rect(0, 0, c.wide, c.high), commonest(colors, counts))
	index := make([]uint8, len(colors))
	for i, n := range counts {
		if n > 0 {
			index[i] = uint8(out.Palette.Index(colors[i]))
		}
	}
	for i, n := range c.pixels {
		out.Pix[i] = index[n]
	}
	return out
}

// tally numbers colours in the order in which they are met. The shades along lines come again and again, so that a
// small table in front of the map answers nearly always.
type tally struct {
	colors  []color.RGBA
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
		t.colors = append(t.colors, c)
	}
	slot.color, slot.number = c, n
	return n
}

// commonest chooses the colours of a palette from those that occur in a picture as often as counts says.
func commonest(colors []color.RGBA, counts []int) color.Palette {
	var order []int
	for i, n := range counts {
		if n > 0 {
			order = append(order, i)
		}
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
