// Package drawing sketches a stack the way an optics engineer would: the parts to scale from the side, the chief rays
// of both directions with the transverse scale stretched by a stated factor, angles and offsets dimensioned, and the
// parts end on as an assembler holds them.
//
// The figures are vectors, drawn the same every time. What is drawn follows from stack.Traces and stack.Outline; this
// package computes no optics. Heights of parts are not part of a design: unless a clear aperture is stated they are
// drawn high enough for the light. Side views have z to the right and the transverse axis up, so that y points to the
// eye in the x-z plane. Seen end on, x is to the right and y up; the frame being right-handed, +z and the forward light
// then come towards the eye.
package drawing

import (
	"fmt"
	"iter"
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// Choices: what a path must carry to be drawn, what to count as strong, and how many paths a panel can hold apart.
const (
	faintest = 60 // dB below the power launched: a path that carries less is left out
	strong   = 20 // dB; a path that carries less is drawn thinner and not dimensioned
	most     = 8
)

const (
	degrees     = 180 / math.Pi
	micrometres = 1e6
)

// Drawing is a stack at one wavelength and temperature, ready to be drawn.
type Drawing struct {
	out               stack.Outline
	forward, backward bundle
	wavelength        quantity.Length
	temperature       quantity.Temperature

	up   r3.Vec // the transverse axis of the side views
	view string // their plane
}

// bundle is the light of one direction.
type bundle struct {
	direction stack.Direction
	drawn     []stack.Trace // in the order of their power
	faint     int           // left out for their power
	crowded   int           // left out for want of room
	greatest  float64       // dB: what the strongest of the paths left out carries
}

// Is reports whether a block is a figure of a stack, made by this package.
func Is(b document.Block) bool {
	f, _ := b.(document.Figure)
	switch f.Drawing.(type) {
	case raysDrawing, endsDrawing:
		return true
	}
	return false
}

// New traces a stack. The wavelength or temperature may lie outside what a material is known for, which is an error.
func New(s *stack.Stack, l quantity.Length, t quantity.Temperature) (*Drawing, error) {
	d := &Drawing{wavelength: l, temperature: t}
	var err error
	if d.out, err = s.Outline(l, t); err != nil {
		return nil, err
	}
	for _, b := range []struct {
		to *bundle
		d  stack.Direction
	}{{&d.forward, stack.Forward}, {&d.backward, stack.Backward}} {
		all, err := s.Traces(b.d, l, t)
		if err != nil {
			return nil, err
		}
		*b.to = choose(b.d, all)
	}
	d.look()
	return d, nil
}

// choose picks the paths that are drawn. A dark stack has none.
func choose(d stack.Direction, all []stack.Trace) bundle {
	b := bundle{direction: d, greatest: math.Inf(1)}
	sort.SliceStable(all, func(i, j int) bool { return math.Round(all[i].Sent*1e6) < math.Round(all[j].Sent*1e6) })
	for _, t := range all {
		switch {
		case !(t.Sent <= faintest):
			b.faint++
		case len(b.drawn) == most:
			b.crowded++
		default:
			b.drawn = append(b.drawn, t)
			continue
		}
		b.greatest = min(b.greatest, t.Sent)
	}
	return b
}

// main returns the strong paths.
func (b bundle) main() []stack.Trace {
	n := sort.Search(len(b.drawn), func(i int) bool { return b.drawn[i].Sent > strong })
	return b.drawn[:n]
}

// look chooses the plane of the side views: x-z, unless less than half of what the rays do happens in it. Then it is
// the plane in which most happens, to a degree.
func (d *Drawing) look() {
	d.up, d.view = r3.Vec{X: 1}, "x–z plane, y towards the eye"
	var xx, yy, xy float64
	for _, b := range []bundle{d.forward, d.backward} {
		for _, t := range b.main() {
			for _, p := range t.Points {
				xx, yy, xy = xx+p.X*p.X, yy+p.Y*p.Y, xy+p.X*p.Y
			}
		}
	}
	if xx >= yy || yy < 1e-18 { // nanometres: nothing to see
		return
	}
	azimuth := math.Round(math.Atan2(2*xy, xx-yy) / 2 * degrees)
	if azimuth < 0 {
		azimuth += 180 // seen from the same side whichever way the axis is named
	}
	s, c := math.Sincos(azimuth / degrees)
	d.up, d.view = r3.Vec{X: c, Y: s}, fmt.Sprintf("plane through z at azimuth %g°", azimuth)
}

// along returns the transverse coordinate of a point in the side views.
func (d *Drawing) along(p r3.Vec) float64 { return r3.Dot(p, d.up) }

// centre returns where the axis of the collimator that light of a direction travels to meets its lens face, and the
// slope of that axis in the side views.
func (d *Drawing) centre(to stack.Direction) (x, slope float64) {
	if to == stack.Backward {
		return 0, 0
	}
	p := d.out.Pose
	return p.Offset.X*d.up.X + p.Offset.Y*d.up.Y, p.Tilt.X*d.up.X + p.Tilt.Y*d.up.Y
}

// lens returns z of the lens face that light of a direction travels to.
func (d *Drawing) lens(to stack.Direction) float64 {
	if to == stack.Backward {
		return d.out.Launching
	}
	return d.out.Receiving
}

// rings are the magnets of all parts, each with the part that it drives.
func (d *Drawing) rings() iter.Seq2[*magnet.Ring, stack.Outlined] {
	return func(yield func(*magnet.Ring, stack.Outlined) bool) {
		for _, p := range d.out.Parts {
			for i := range p.Magnets {
				if !yield(&p.Magnets[i], p) {
					return
				}
			}
		}
	}
}

// span returns where the parts and their magnets begin and end.
func (d *Drawing) span() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range d.out.Parts {
		for _, f := range p.Faces {
			lo, hi = min(lo, f.Z), max(hi, f.Z)
		}
		for _, m := range p.Magnets {
			lo, hi = min(lo, float64(m.Position-m.Length/2)), max(hi, float64(m.Position+m.Length/2))
		}
	}
	return lo, hi
}

// beamRadius returns the greatest radius of the beam between the lens faces.
func (d *Drawing) beamRadius() float64 {
	w := 0.0
	for _, t := range d.forward.main() {
		for _, r := range t.Reduced {
			w = max(w, t.Radius(r))
		}
	}
	return w
}

// reach returns from where to where the drawn rays of a bundle come, in the side views; the axis is always between.
func (d *Drawing) reach(b bundle) (lo, hi float64) {
	for _, t := range b.drawn {
		for _, p := range t.Points {
			lo, hi = min(lo, d.along(p)), max(hi, d.along(p))
		}
	}
	return lo, hi
}

// at returns z of a face at a transverse coordinate of the side views.
func (d *Drawing) at(f stack.Plane, x float64) float64 { return f.Height(x*d.up.X, x*d.up.Y) }

// waist returns where the strongest forward path has its waist, and the radius there, if that is between the lens
// faces.
func (d *Drawing) waist() (z, x, radius float64, ok bool) {
	all := d.forward.main()
	if len(all) == 0 {
		return 0, 0, 0, false
	}
	t := all[0]
	for k := range t.Rays {
		a, b := t.Reduced[k], t.Reduced[k+1]
		if a < b && t.Ahead >= a && t.Ahead <= b {
			f := (t.Ahead - a) / (b - a)
			p := r3.Add(r3.Scale(1-f, t.Points[k]), r3.Scale(f, t.Points[k+1]))
			return p.Z, d.along(p), t.Waist, true
		}
	}
	return 0, 0, 0, false
}
