package drawing

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
)

// Ends draws the parts one by one as seen from the receiving end, and where the rays land on the lens faces.
func (d *Drawing) Ends() document.Figure {
	e := endsDrawing{d.views()}
	text := "Seen from the receiving end, x to the right and y up, +z and forward light towards the eye."
	for _, v := range e.views {
		text += " " + v.describe() + "."
	}
	return document.Figure{
		Caption: d.endsCaption(),
		Text:    text,
		Width:   sheetWidth, Height: e.height(),
		Drawing: e,
	}
}

// endsCaption says how to read the end-on views, as far as there is something to read.
func (d *Drawing) endsCaption() string {
	s := "The parts seen from the receiving end, in the order that forward light meets them: x to the right, y up, " +
		"+z and forward light towards the eye. Angles count from +x towards +y."
	var flat, rising, passes, turns, tapers, magnets bool
	for _, p := range d.out.Parts {
		taper, _ := p.Taper()
		rises := p.Axis != (r3.Vec{}) && math.Abs(p.Axis.Z) > leaning
		flat, rising = flat || p.Axis != (r3.Vec{}) && !rises, rising || rises
		passes, turns = passes || p.Pass != (r3.Vec{}), turns || p.Rotation != 0
		tapers, magnets = tapers || taper > leaning, magnets || len(p.Magnets) > 0
	}
	for _, c := range []struct {
		said bool
		text string
	}{
		{flat, "A double arrow is an optic axis in the plane of the part."},
		{rising, "An arrow from a small circle is an optic axis out of that plane, pointing along +z."},
		{passes, "The double arrow of a polarizer is the polarization that passes."},
		{tapers, "The triangle is the orientation mark: it shows where a wedge is thickest."},
		{turns, "The arc of a rotator leads from light polarized along x (broken line) to what becomes of it, " +
			"whichever way the light travels."},
		{magnets, "The outer ring represents a magnet, not to scale, with the pole of the end towards the eye and " +
			"the field in its bore."},
		{true, "On the lens faces the solid circle is the mode of the collimator there and a dashed one a beam that " +
			"arrives, to 1/e² of the intensity."},
	} {
		if c.said {
			s += " " + c.text
		}
	}
	return s
}

// view is one part, or one lens face.
type view struct {
	title string
	notes []string
	draw  func(s *sheet, c vg.Point)
}

func (v view) describe() string {
	s := v.title
	for i, n := range v.notes {
		sep := ", "
		if i == 0 {
			sep = ": "
		}
		s += sep + n
	}
	return s
}

type endsDrawing struct{ views []view }

const (
	acrossMost           = 5 // views in a row: more would leave no room for their notes
	triadWide  vg.Length = 26
	disc       vg.Length = 29 // radius of a part
	viewRoom   vg.Length = 46 // half the height of a view
	noteLines            = 3
)

const viewHigh = 13 + 2*viewRoom + noteLines*lineStep + 6

// rows returns the number of rows and of views in each.
func (e endsDrawing) rows() (rows, across int) {
	rows = (len(e.views) + acrossMost - 1) / acrossMost
	return rows, (len(e.views) + rows - 1) / rows
}

func (e endsDrawing) height() vg.Length {
	rows, _ := e.rows()
	return vg.Length(rows) * viewHigh
}

// Draw implements document.Drawing.
func (e endsDrawing) Draw(canvas vg.CanvasSizer) error {
	h := e.height()
	rows, across := e.rows()
	return onSheet(canvas, sheetWidth, h, func(s *sheet) {
		wide := (sheetWidth - triadWide) / vg.Length(across)
		for j := range rows {
			y := h - vg.Length(j)*viewHigh
			s.triad(at(5, y-13-2*viewRoom))
			for i := range across {
				k := j*across + i
				if k >= len(e.views) {
					break
				}
				v := e.views[k]
				c := at(triadWide+(vg.Length(i)+0.5)*wide, y-13-viewRoom)
				s.title(v.title, at(c.X, y-6), centre)
				s.texts = nil // of other views, none of which reaches into this one
				s.lines = nil
				v.draw(s, c)
				for n, t := range v.notes {
					s.write(t, at(c.X, y-13-2*viewRoom-5-vg.Length(n)*lineStep), centre)
				}
			}
		}
	})
}

// triad draws the axes of the end-on views, z towards the eye.
func (s *sheet) triad(o vg.Point) {
	for _, a := range []struct {
		angle float64
		name  string
		label vg.Point
	}{{0, "x", at(20, 7)}, {math.Pi / 2, "y", at(-0.5, 25)}} {
		tip := polar(o, 19, a.angle)
		s.stroke(ink, 0.7, nil, polar(o, 3, a.angle), tip)
		s.head(ink, tip, a.angle, 5)
		s.write(a.name, at(o.X+a.label.X, o.Y+a.label.Y), centre)
	}
	s.toEye(o, true)
	s.write("z", at(o.X+8, o.Y+8), centre)
}

// toEye draws the sign of an arrow along z: a point for its tip towards the eye, a cross for its tail.
func (s *sheet) toEye(o vg.Point, towards bool) {
	const r = 3
	s.outline(ink, 0.7, ring(o, r)...)
	if towards {
		s.fill(ink, ring(o, 1.1)...)
		return
	}
	for _, a := range []float64{math.Pi / 4, -math.Pi / 4} {
		s.stroke(ink, 0.7, nil, polar(o, r, a), polar(o, -r, a))
	}
}

func (d *Drawing) views() []view {
	var all []view
	for _, p := range d.out.Parts {
		all = append(all, partView(p))
	}
	return append(all, d.landing(d.forward), d.landing(d.backward))
}
