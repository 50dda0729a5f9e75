package stack

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// DefaultReturnFloor is the return loss in dB that scatter leaves at best, where a collimator states none: fibre
// facets and dust that the overlap of modes knows nothing of (common practice, no source).
const DefaultReturnFloor = 65

// Return is the light that comes back into the fibre it was launched from.
type Return struct {
	Loss  float64      // dB, by the greatest power over polarization (IEC 61300-3-6), scatter included
	Parts []ReturnPart // what each face contributes by itself, in the order the light meets them
}

// ReturnPart is what one face sends back.
type ReturnPart struct {
	Name string  // "wedge1 front", "ferrule", "lens", "scatter"
	Loss float64 // dB; +Inf for nothing
}

// ReturnLoss returns the return loss of the port that light of direction d is launched from: Forward for the
// launching collimator, Backward for the receiving one in its pose. Every face of the stack is taken once;
// their reflections interfere when coherent, as far as the source's linewidth lets them, and add in power otherwise. What
// the fibre's end, the lens and scatter send back always adds in power: their distance is not part of the model.
func (s *Stack) ReturnLoss(d Direction, l quantity.Length, t quantity.Temperature, coherent bool) (Return, error) {
	c := s.lay(t)
	if err := c.tune(l); err != nil {
		return Return{}, err
	}
	shot := s.shoot(c, d, l, s.poseAt(t), nil)
	shot.ghosts = false
	shot.tracer.visit = func(*path) {}
	faces := make([]group, len(c.faces))
	shot.returned = func(p *path) {
		a := shot.meetAgain(p)
		for m := range shot.modes {
			j := shot.from.jones(p, m, -d).Scale(a)
			faces[p.first].add(m, &j, p.delay)
			faces[p.first].weigh(&j, p.delay)
		}
	}
	shot.along(shot.chief())

	var r Return
	for i, name := range s.faceNames() {
		var one polar.Gram
		for m := range shot.modes {
			one.Add(faces[i].sum[m])
		}
		t1, _ := one.Extremes()
		r.Parts = append(r.Parts, ReturnPart{name, -quantity.Decibels(t1)})
	}
	if d == Backward { // in the order the light meets them
		slices.Reverse(r.Parts)
	}
	fwhm := math.Inf(1)
	if coherent {
		fwhm = s.width
	}
	power := total(&faces[0], faces[1:], shot.modes, fwhm).T1
	ferrule, lens := s.spec.Beam.Facets(c.waist, l)
	floor := s.spec.Beam.ReturnFloor
	if floor == 0 {
		floor = DefaultReturnFloor
	}
	for _, p := range []struct {
		name  string
		power float64
	}{{"ferrule", ferrule}, {"lens", lens}, {"scatter", quantity.Ratio(-floor)}} {
		r.Parts = append(r.Parts, ReturnPart{p.name, -quantity.Decibels(p.power)})
		power += p.power
	}
	r.Loss = -quantity.Decibels(power)
	return r, nil
}

// faceNames names the faces of the course in the order of +z.
func (s *Stack) faceNames() []string {
	var names []string
	for _, e := range s.spec.Elements {
		for i, n := 0, len(e.Place(s.spec.AlignTemperature).Faces); i < n; i++ {
			switch {
			case n == 1:
				names = append(names, e.Label())
			case i == 0:
				names = append(names, e.Label()+" front")
			case i == n-1:
				names = append(names, e.Label()+" back")
			default:
				names = append(names, fmt.Sprintf("%s face %d", e.Label(), i+1))
			}
		}
	}
	return names
}

// meetAgain is the amplitude with which light sent back arrives in the mode it was launched from.
func (s *shot) meetAgain(p *path) complex128 {
	d := float64(s.step)
	c := beam.Course{
		Reduced:  p.space,
		Base:     flat(p.wave.N),
		Waiting:  flat(r3.Sub(r3.Scale(-d, s.from.axis), p.wave.N)),
		Offset:   flat(r3.Sub(s.from.r, p.r)),
		Exponent: complex(-p.loss, s.k*math.Mod(p.phase, 2*math.Pi/s.k)),
	}
	return s.coupler.Overlap(&c) * complex(s.loss*s.passed(&c, p.stops), 0)
}
