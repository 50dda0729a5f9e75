package drawing

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/plot/vg"

	"wedgework/optics/magnet"
	"wedgework/optics/stack"
	"wedgework/reports/figure"
)

// scaled is the view to scale: parts, magnets, lens faces and the beam, all with the same scale along and across.
type scaled struct {
	side
	parted []label // the names of the parts, above
	faced  []label // the numbers of the faces, below, and the place where the leader of the waist passes between them
}

// label is a short text above or below what it names.
type label struct {
	text string
	from end       // what it names
	x    vg.Length // where the text stands
}

// spreadLabels gives each text its room beside the others.
func (v scaled) spreadLabels(all []label, least vg.Length) {
	sort.SliceStable(all, func(i, j int) bool { return all[i].from.z < all[j].from.z })
	var want, room []vg.Length
	for _, l := range all {
		want = append(want, v.z.at(l.from.z))
		room = append(room, max(least, width(l.text, textSize, false)+5))
	}
	for i, x := range spread(want, room, 0, sheetWidth) {
		all[i].x = x
	}
}

// The height to which parts without a clear aperture are drawn, in radii of the beam beyond the outermost ray; and how
// far from the axis magnets are drawn, at most, in points.
const (
	beyond                = 1.6
	magnetRoom  vg.Length = 78
	tallestPart vg.Length = 60
)

func (d *Drawing) scaled() scaled {
	v := scaled{side: side{d: d, z: d.axis(sideMargin, sheetWidth-sideMargin)}}
	v.scale = v.z.scale
	half := 0.0
	for _, p := range d.out.Parts {
		half = max(half, v.height(p))
	}
	v.above = max(24, vg.Length(half*v.scale))
	for _, p := range d.out.Parts {
		for i := range p.Magnets {
			m := &p.Magnets[i]
			v.above = max(v.above, min(vg.Length(float64(m.Outer)*v.scale), max(magnetRoom, v.bore(m)+14)))
		}
	}
	v.below = v.above
	v.name()
	return v
}

// name lays the labels out.
func (v *scaled) name() {
	for _, p := range v.d.out.Parts {
		lo, hi := v.extent(p, v.height(p))
		first, last := p.Faces[0], p.Faces[len(p.Faces)-1]
		v.parted = append(v.parted, label{text: p.Label, from: end{(v.d.at(first, hi) + v.d.at(last, hi)) / 2, hi}})
		for _, f := range p.Faces {
			n := len(v.faced) + 1
			v.faced = append(v.faced, label{text: fmt.Sprint(n), from: end{v.d.at(f, lo), lo}})
		}
	}
	if z, x, w, ok := v.d.waist(); ok && len(v.z.visible(end{z - 1e-9, x}, end{z + 1e-9, x})) > 0 {
		v.faced = append(v.faced, label{from: end{z, x - w}})
	}
	v.spreadLabels(v.parted, 0)
	v.spreadLabels(v.faced, 7)
}

// height returns half the height a part is drawn with, in metres.
func (v scaled) height(p stack.Outlined) float64 {
	for _, f := range p.Faces {
		if f.Aperture > 0 {
			return f.Aperture
		}
	}
	lo, hi := v.d.reach(v.d.forward)
	low, high := v.d.reach(v.d.backward)
	x := max(-lo, hi, -low, high)
	return min(x+beyond*v.d.beamRadius(), float64(tallestPart)/v.scale)
}

// bore returns the radius at which a magnet's bore is drawn: its own, or clear of the parts.
func (v scaled) bore(m *magnet.Ring) vg.Length { return vg.Length(float64(m.Inner) * v.scale) }

// The heights of the title, the row of names, the row of numbers, and what stands under it.
const (
	titleHigh vg.Length = 16
	nameHigh  vg.Length = 20
	faceHigh  vg.Length = 20
	footHigh  vg.Length = 26
)

// size is the height the view takes on the sheet.
func (v scaled) size() vg.Length {
	return titleHigh + nameHigh + v.above + v.below + faceHigh + footHigh
}

// draw draws the view below y.
func (v scaled) draw(s *sheet, y vg.Length) {
	v.sheet = s
	v.middle = y - titleHigh - nameHigh - v.above
	v.title("To scale", at(0, y-6), left)
	v.write(fmt.Sprintf("seen from the side, %s; %.3g : 1 at a width of 170 mm", v.d.view,
		v.scale/float64(pointsPerMetre)), at(44, y-6), left)

	v.parts(v.height)
	v.magnets()
	v.lenses(v.middle, min(v.above, max(14, vg.Length(2.2*v.d.beamRadius()*v.scale))))
	v.envelope()
	v.axes()
	v.rays(v.d.forward, 0.7)
	v.rays(v.d.backward, 0.7)
	up := v.middle + v.above + nameHigh - 5
	for _, l := range v.parted {
		v.leader(l, v.middle+v.above+3, up-5)
		v.write(l.text, at(l.x, up), centre)
	}
	down := v.middle - v.below - faceHigh + 6
	for _, l := range v.faced {
		if l.text == "" {
			v.waist(l, down-14)
			continue
		}
		v.leader(l, v.middle-v.below-3, down+5)
		v.write(l.text, at(l.x, down), centre)
	}
	v.poles()
	v.between(down - 25)
	v.collimators()
}

// collimators names the lens faces beside them, or beyond the magnets that leave a name no room there.
func (v scaled) collimators() {
	for _, d := range []stack.Direction{stack.Backward, stack.Forward} {
		name, a := "launching", right
		if d == stack.Forward {
			name, a = "receiving", left
		}
		lines := []string{name, "collimator", "lens face"}
		long := vg.Length(0)
		for _, l := range lines {
			long = max(long, width(l, textSize, false))
		}
		near := v.z.at(v.d.lens(d)) + way(d)*12
		x := v.clear(near, long, lineStep+textSize, way(d))
		if x != near {
			v.stroke(grey, hair, nil, at(near, v.middle), at(x-way(d)*3, v.middle))
		}
		for i, l := range lines {
			v.write(l, at(x, v.middle+lineStep*vg.Length(1-i)), a)
		}
	}
}

// clear returns where text of a length and of half a height begins beside the axis, from x on the way given, so that it
// lies on no magnet.
func (v scaled) clear(x, long, half, way vg.Length) vg.Length {
	for again := true; again; {
		again = false
		for m := range v.d.rings() {
			lo, hi, inner, _ := v.section(m)
			if inner >= half || max(x, x+way*long) <= lo || min(x, x+way*long) >= hi {
				continue
			}
			beyond := hi + 6
			if way < 0 {
				beyond = lo - 6
			}
			x, again = beyond, true
		}
	}
	return x
}

// leader leads straight from what a label names to the height bend, and from there to the text.
func (v scaled) leader(l label, bend, to vg.Length) {
	p := v.point(l.from)
	v.stroke(grey, hair, nil, p, at(p.X, bend), at(l.x, to))
}

// envelope fills the beam to 1/e^2 of its intensity about the strong forward paths.
func (v scaled) envelope() {
	tint, edge := beamTint, figure.Green.Tint(0.55)
	type strip struct{ a, b [2]vg.Point }
	var strips []strip
	for _, t := range v.d.forward.main() {
		for k := range t.Rays {
			const parts = 4 // of a stretch, for the beam's edge is curved
			for i := range parts {
				share := func(i int) (end, float64) {
					f := float64(i) / parts
					p, q := v.end(t, k), v.end(t, k+1)
					return end{p.z + (q.z-p.z)*f, p.x + (q.x-p.x)*f},
						t.Radius(t.Reduced[k] + (t.Reduced[k+1]-t.Reduced[k])*f)
				}
				p, w := share(i)
				q, u := share(i + 1)
				up := v.z.visible(end{p.z, p.x + w}, end{q.z, q.x + u})
				down := v.z.visible(end{p.z, p.x - w}, end{q.z, q.x - u})
				for j := range up {
					strips = append(strips, strip{[2]vg.Point{v.point(up[j][0]), v.point(up[j][1])},
						[2]vg.Point{v.point(down[j][0]), v.point(down[j][1])}})
				}
			}
		}
	}
	for _, s := range strips {
		v.fill(tint, s.a[0], s.a[1], s.b[1], s.b[0])
	}
	// The parts show through: their outlines once more.
	for _, p := range v.d.out.Parts {
		lo, hi := v.extent(p, v.height(p))
		for _, f := range p.Faces {
			w := vg.Length(0.7)
			if len(p.Faces) == 1 {
				w = 2
			}
			v.stroke(grey, w, nil, v.point(end{v.d.at(f, lo), lo}), v.point(end{v.d.at(f, hi), hi}))
		}
	}
	for _, s := range strips {
		v.stroke(edge, 0.6, nil, s.a[0], s.a[1])
		v.stroke(edge, 0.6, nil, s.b[0], s.b[1])
	}
}

// waist marks the beam's waist and writes its radius at a height.
func (v scaled) waist(l label, y vg.Length) {
	z, x, w, _ := v.d.waist()
	v.dimension(v.point(end{z, x + w}), v.point(end{z, x - w}))
	text := fmt.Sprintf("waist, radius %s µm", figures(w*micrometres))
	half := width(text, textSize, false) / 2
	about, p := v.beside(l.x, half+3), v.point(l.from)
	foot := min(max(l.x, about-half+5), about+half-5) // over the text
	v.stroke(ink, hair, []vg.Length{1, 1.5}, p, at(p.X, v.middle-v.below-3), at(l.x, v.middle-v.below-faceHigh+9),
		at(foot, y+5))
	v.write(text, at(about, y), centre)
}

// beside returns the place nearest to x for the middle of a text, of half a width, through which no line down from a lens
// face passes.
func (v scaled) beside(x, half vg.Length) vg.Length {
	edges := []vg.Length{v.z.at(v.d.out.Launching), v.z.at(v.d.out.Receiving)}
	places := []vg.Length{x}
	for _, e := range edges {
		places = append(places, e-half, e+half)
	}
	sort.SliceStable(places, func(i, j int) bool {
		return math.Abs(float64(places[i]-x)) < math.Abs(float64(places[j]-x))
	})
	for _, p := range places {
		if math.Abs(float64(p-edges[0])) > float64(half)-1e-6 && math.Abs(float64(p-edges[1])) > float64(half)-1e-6 {
			return p
		}
	}
	return x // not reached: left of the first edge and right of the last there is none
}

// between dimensions the distance of the lens faces.
func (v scaled) between(y vg.Length) {
	a, b := v.z.at(v.d.out.Launching), v.z.at(v.d.out.Receiving)
	for _, x := range []vg.Length{a, b} {
		v.stroke(grey, hair, nil, at(x, v.middle-14), at(x, y-3))
	}
	text := fmt.Sprintf("%s mm between the lens faces", figures((v.d.out.Receiving-v.d.out.Launching)*1e3))
	w := width(text, textSize, false)
	m := (a + b) / 2
	v.stroke(ink, hair, nil, at(a, y), at(m-w/2-4, y))
	v.stroke(ink, hair, nil, at(m+w/2+4, y), at(b, y))
	v.head(ink, at(a, y), math.Pi, 4)
	v.head(ink, at(b, y), 0, 4)
	v.write(text, at(m, y), centre)
}

// figures writes a length with four digits, none of them idle.
func figures(x float64) string { return fmt.Sprintf("%.4g", x) }

// magnets draws the section of ring magnets.
func (v scaled) magnets() {
	for m := range v.d.rings() {
		lo, hi, inner, outer := v.section(m)
		for _, sign := range []vg.Length{1, -1} {
			a, b := v.middle+sign*inner, v.middle+sign*outer
			corners := []vg.Point{at(lo, b), at(lo, a), at(hi, a), at(hi, b)}
			v.fill(magnetTint, corners...)
			if vg.Length(float64(m.Outer)*v.scale) > outer { // it goes on beyond the drawing
				v.stroke(grey, 0.8, nil, corners...)
			} else {
				v.outline(grey, 0.8, corners...)
			}
		}
	}
}

// section returns where a magnet lies on the sheet, from the axis.
func (v scaled) section(m *magnet.Ring) (lo, hi, inner, outer vg.Length) {
	return v.z.at(float64(m.Position - m.Length/2)), v.z.at(float64(m.Position + m.Length/2)),
		v.bore(m), min(v.above, vg.Length(float64(m.Outer)*v.scale))
}

// poles writes the poles on the magnets and the field in their bores, over the leaders that pass.
func (v scaled) poles() {
	for m, p := range v.d.rings() {
		lo, hi, inner, outer := v.section(m)
		near, far := "S", "N" // of the ends at smaller and at greater z
		if m.Remanence < 0 {
			near, far = far, near
		}
		h := (inner + outer) / 2
		for _, pole := range []struct {
			text string
			p    vg.Point
		}{{near, at(lo+6, v.middle+h)}, {far, at(hi-6, v.middle+h)}, {near, at(lo+6, v.middle-h)},
			{far, at(hi-6, v.middle-h)}} {
			q := pole.p
			v.fill(magnetTint, at(q.X-4, q.Y-5), at(q.X-4, q.Y+5), at(q.X+4, q.Y+5), at(q.X+4, q.Y-5))
			v.write(pole.text, q, centre)
		}
		if m != &p.Magnets[len(p.Magnets)-1] {
			continue // the field of all of them is written once
		}
		// Beside the upper half, where no leader passes.
		x, y := hi+5, v.middle+h
		v.write(fmt.Sprintf("bore field %s mT", figures(math.Abs(p.Field)*1e3)), at(x, y+5), left)
		tail, tip := at(x, y-5), at(x+26, y-5)
		if p.Field < 0 {
			tail, tip = tip, tail
		}
		v.stroke(ink, 1, nil, tail, tip)
		v.head(ink, tip, direction(tail, tip), 5)
	}
}
