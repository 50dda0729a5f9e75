package drawing

import (
	"fmt"

	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
	"wedgework/reports/figure"
)

// The width that everything is laid out for, that of the text on a page; and the room left and right of the lens faces
// for names and dimensions.
const (
	sheetWidth               = document.DefaultWidth
	sideMargin     vg.Length = 96
	pointsPerMetre           = vg.Millimeter * 1000
	legendHigh     vg.Length = 15
	viewGap        vg.Length = 8
)

// Rays draws the stack from the side: to scale, and the rays of each direction stretched.
func (d *Drawing) Rays() document.Figure {
	r := raysDrawing{d}
	return document.Figure{
		Caption: d.caption(),
		Text:    d.describeRays(),
		Width:   sheetWidth, Height: r.height(),
		Drawing: r,
	}
}

type raysDrawing struct{ d *Drawing }

func (r raysDrawing) height() vg.Length {
	return legendHigh + r.d.scaled().size() + r.d.stretched(r.d.forward).size() + r.d.stretched(r.d.backward).size() +
		2*viewGap + 4
}

// Draw implements document.Drawing.
func (r raysDrawing) Draw(canvas vg.CanvasSizer) error {
	h := r.height()
	return onSheet(canvas, sheetWidth, h, func(s *sheet) {
		s.legend(h - 6)
		y := h - legendHigh
		a := r.d.scaled()
		a.draw(s, y)
		y -= a.size() + viewGap
		for _, b := range []bundle{r.d.forward, r.d.backward} {
			v := r.d.stretched(b)
			v.draw(s, y)
			y -= v.size() + viewGap
		}
	})
}

// legend tells the lines apart.
func (s *sheet) legend(y vg.Length) {
	x := vg.Length(0)
	sample := func(text string, draw func(a, b vg.Point)) {
		draw(at(x, y), at(x+22, y))
		s.write(text, at(x+26, y), left)
		x += 26 + width(text, textSize, false) + 13
	}
	for _, k := range []struct {
		kind byte
		text string
	}{{'o', "o, ordinary ray"}, {'e', "e, extraordinary ray"}, {' ', "ray outside crystals"}} {
		l := looks[k.kind]
		sample(k.text, func(a, b vg.Point) { s.stroke(l.col, l.width, l.dash, a, b) })
	}
	sample(fmt.Sprintf("below −%d dB", strong), func(a, b vg.Point) { s.stroke(ink, looks[' '].width*thin, nil, a, b) })
	sample("beam to 1/e²", func(a, b vg.Point) {
		s.fill(beamTint, at(a.X, a.Y-4), at(a.X, a.Y+4), at(b.X, b.Y+4), at(b.X, b.Y-4))
		for _, dy := range []vg.Length{-4, 4} {
			s.stroke(figure.Green.Tint(0.55), 0.6, nil, at(a.X, a.Y+dy), at(b.X, b.Y+dy))
		}
	})
}
