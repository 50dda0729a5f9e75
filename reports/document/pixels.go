package document

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"maps"
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
	counts := map[color.RGBA]int{}
	each := func(do func(i, run int, c color.RGBA)) { // runs of one colour: most of a drawing is its ground
		for i := 0; i < len(m.Pix)/4; {
			p := m.Pix[4*i:]
			c, run := color.RGBA{p[0], p[1], p[2], 0xff}, 1
			for ; 4*(i+run) < len(m.Pix) && [3]uint8(m.Pix[4*(i+run):]) == [3]uint8(p); run++ {
			}
			do(i, run, c)
			i += run
		}
	}
	each(func(_, run int, c color.RGBA) { counts[c] += run })
	out := image.NewPaletted(m.Rect, commonest(counts))
	index := make(map[color.RGBA]uint8, len(counts))
	for c := range counts {
		index[c] = uint8(out.Palette.Index(c))
	}
	each(func(i, run int, c color.RGBA) {
		for k := range run {
			out.Pix[i+k] = index[c]
		}
	})
	return out
}

// commonest chooses the colours of a palette.
func commonest(counts map[color.RGBA]int) color.Palette {
	all := slices.SortedFunc(maps.Keys(counts), func(a, b color.RGBA) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(a.R, b.R), cmp.Compare(a.G, b.G),
			cmp.Compare(a.B, b.B))
	})
	var first, rest color.Palette
	for shift := 4; ; shift++ { // the bits that are not looked at; with six of them there are 64 groups
		seen := map[[3]uint8]bool{}
		first, rest = nil, nil
		for _, c := range all {
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
