package drawing

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"wedgework/optics/stack"
	"wedgework/reports/figure"
)

// side is one side view: the sheet, the axis along z, and the transverse scale.
type side struct {
	*sheet
	d      *Drawing
	z      axis
	middle vg.Length // where the launching axis lies on the sheet
	below  vg.Length // from there down to the lower edge
	above  vg.Length // and up to the upper one
	scale  float64   // points per metre, transverse
}

func (v side) point(e end) vg.Point {
	return at(v.z.at(e.z), v.middle+vg.Length(e.x*v.scale))
}

// edges returns the least and the greatest transverse coordinate in view, in metres.
func (v side) edges() (lo, hi float64) {
	return -float64(v.below) / v.scale, float64(v.above) / v.scale
}

// tints of what stands side by side, told apart by labels as well, and in a copy without colours by greyStep.
var (
	glassTint   = figure.Grey.Tint(0.05)
	crystalTint = figure.SkyBlue.Tint(0.22)
	beamTint    = figure.Green.Tint(0.30)
	filmTint    = figure.Orange.Tint(0.62)
	magnetTint  = figure.Grey.Tint(0.5)
)

// greyStep is by how much, of 255, the greys of any two of them differ: a step that a copier keeps (a choice).
const greyStep = 12

func tintOf(p stack.Outlined) color.Color {
	switch {
	case p.Kind == "rotator":
		return filmTint
	case p.Axis != (r3.Vec{}):
		return crystalTint
	}
	return glassTint
}

// parts draws every part up to a height of half its own, or to the edge of the view.
func (v side) parts(height func(stack.Outlined) float64) {
	for _, p := range v.d.out.Parts {
		lo, hi := v.extent(p, height(p))
		edge := func(f stack.Plane, x float64) vg.Point {
			return v.point(end{v.d.at(f, x), x})
		}
		first, last := p.Faces[0], p.Faces[len(p.Faces)-1]
		if len(p.Faces) == 1 {
			v.stroke(ink, 2, nil, edge(first, lo), edge(first, hi))
			continue
		}
		corners := []vg.Point{edge(first, lo), edge(first, hi), edge(last, hi), edge(last, lo)}
		v.fill(tintOf(p), corners...)
		v.outline(grey, 0.7, corners...)
	}
}

// extent returns from where to where a part of half a height is in view: a wedge may come to its edge before.
func (v side) extent(p stack.Outlined, half float64) (lo, hi float64) {
	lo, hi = v.edges()
	lo, hi = max(lo, -half), min(hi, half)
	first, last := p.Faces[0], p.Faces[len(p.Faces)-1]
	thick := func(x float64) float64 {
		return v.d.at(last, x) - v.d.at(first, x)
	}
	at0 := thick(0)
	if len(p.Faces) == 1 || at0 <= 0 {
		return lo, hi
	}
	if t := thick(hi); t < 0 {
		hi *= at0 / (at0 - t)
	}
	if t := thick(lo); t < 0 {
		lo *= at0 / (at0 - t)
	}
	return lo, hi
}

// lenses draws the lens faces, with a bulge on the fibre's side, and the cuts through the air.
func (v side) lenses(middle, half vg.Length) {
	for _, d := range []stack.Direction{stack.Backward, stack.Forward} {
		x := v.z.at(v.d.lens(d))
		out := way(d)
		const bulge = 7
		r := (half*half + bulge*bulge) / (2 * bulge)
		open := math.Asin(float64(half / r))
		facing := 0.0
		if out < 0 {
			facing = math.Pi
		}
		body := arc(at(x+out*(bulge-r), middle), r, facing-open, facing+open)
		v.fill(glassTint, body...)
		v.outline(grey, 0.7, body...)
		v.stroke(ink, 1.1, nil, at(x, middle-half), at(x, middle+half))
	}
	for _, x := range v.z.cuts() {
		for _, dx := range []vg.Length{-2, 2} {
			v.stroke(grey, hair, nil, at(x+dx-1.5, middle-10), at(x+dx+1.5, middle-3), at(x+dx-1.5, middle+3),
				at(x+dx+1.5, middle+10))
		}
	}
}

// axes draws the axis of the launching collimator through the stack, and that of the receiving one before its lens
// face.
func (v side) axes() {
	dash := []vg.Length{8, 2, 1.5, 2}
	v.chord(end{v.d.out.Launching, 0}, end{v.d.out.Receiving, 0}, func(a, b vg.Point) {
		v.stroke(grey, hair, dash, a,
			b)
	})
	x, slope := v.d.centre(stack.Forward)
	_, hi := v.d.span()
	if z := v.d.out.Receiving; math.Abs(x)*v.scale > 1 && z > hi {
		v.chord(end{hi, x - slope*(z-hi)}, end{z, x}, func(a, b vg.Point) { v.stroke(grey, hair, dash, a, b) })
	}
}

// chord hands on the visible stretches of a straight line.
func (v side) chord(p, q end, draw func(a, b vg.Point)) {
	for _, s := range v.z.visible(p, q) {
		draw(v.point(s[0]), v.point(s[1]))
	}
}

// look is how a kind of ray is drawn.
type look struct {
	col   color.Color
	dash  []vg.Length
	width vg.Length
}

var looks = map[byte]look{
	'o': {figure.Blue.NRGBA(), nil, 1.3},
	'e': {figure.Vermillion.NRGBA(), []vg.Length{4, 1.8}, 1.3},
	' ': {ink, nil, 0.8},
}

// thin is by how much a weak path's line is thinner.
const thin = 0.45

// rays draws the chief rays of a bundle, the weak ones first, in lines of a share of their width. Where paths share a
// stretch it is drawn once.
func (v side) rays(b bundle, share vg.Length) {
	seen := map[string]bool{}
	for i := len(b.drawn) - 1; i >= 0; i-- {
		t := b.drawn[i]
		for k, kind := range t.Rays {
			l := looks[kind]
			l.width *= share
			if t.Sent > strong {
				l.width *= thin
			}
			v.chord(v.end(t, k), v.end(t, k+1), func(p, q vg.Point) {
				key := fmt.Sprintf("%c %.1f %.1f %.1f %.1f %g", kind, p.X, p.Y, q.X, q.Y, l.width)
				if !seen[key] {
					seen[key] = true
					v.ray(l.col, l.width, l.dash, p, q)
				}
			})
		}
	}
}

func (v side) end(t stack.Trace, k int) end { return end{t.Points[k].Z, v.d.along(t.Points[k])} }

// arrows marks the direction of travel, on the way in and on the ways out.
func (v side) arrows(b bundle) {
	for i, t := range b.drawn {
		n := len(t.Points) - 1
		size := vg.Length(5)
		if t.Sent > strong {
			size = 4
		}
		mark := func(from, to end, share vg.Length) {
			var longest [2]vg.Point
			v.chord(from, to, func(p, q vg.Point) {
				if math.Abs(float64(q.X-p.X)) > math.Abs(float64(longest[1].X-longest[0].X)) {
					longest = [2]vg.Point{p, q}
				}
			})
			p, q := longest[0], longest[1]
			if p != q {
				v.head(ink, at(p.X+(q.X-p.X)*share, p.Y+(q.Y-p.Y)*share), direction(p, q), size)
			}
		}
		if i == 0 {
			mark(v.end(t, 0), v.end(t, 1), 0.6)
		}
		mark(v.end(t, n-1), v.end(t, n), 0.72)
	}
}

// narrow is how wide a crystal must be on the sheet to hold an o or an e, in points.
const narrow = 9

// kinds writes o and e beside the rays in the crystals.
func (v side) kinds(b bundle) {
	within := vg.Rectangle{Min: at(0, v.middle-v.below), Max: at(sheetWidth, v.middle+v.above)}
	seen := map[string]bool{}
	for _, t := range b.main() {
		for k, kind := range t.Rays {
			if kind == ' ' {
				continue
			}
			p, q := v.point(v.end(t, k)), v.point(v.end(t, k+1))
			if math.Abs(float64(q.X-p.X)) < narrow {
				continue
			}
			key := fmt.Sprintf("%c %.0f %.0f %.0f", kind, p.X, p.Y, q.Y)
			if seen[key] {
				continue
			}
			seen[key] = true
			var places []place
			for _, gap := range []vg.Length{5.5, 8, 12} {
				for _, share := range []vg.Length{0.5, 0.3, 0.7, 0.15, 0.85} {
					x, y := p.X+(q.X-p.X)*share, p.Y+(q.Y-p.Y)*share
					up := gap
					if y < v.middle {
						up = -gap
					}
					places = append(places, place{at(x, y+up), centre}, place{at(x, y-up), centre})
				}
			}
			v.find(string(kind), within, places)
		}
	}
}
