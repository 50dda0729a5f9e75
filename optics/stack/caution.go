package stack

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// What calls for a caution (choices): forward light that leaves more than a milliradian off the axis before
// alignment, or of which an isolator passes one polarization ten times as well as the other, a backward path that brings a hundredth of the power to the fibre, and double bounces that carry a tenth of
// the amplitude, when those that bounce again may carry a hundredth.
const (
	crookedAxis = 1e-3 // rad
	divided     = 10   // dB
	spoiled     = 20   // dB
	echoing     = 0.1
	paraxial    = 5    // wavelengths: below this waist a beam spreads by more than 4 deg
	faint       = 1e-6 // of the power launched: what carries less is not looked at
)

// Cautions returns what a designer should look at twice, in plain sentences: about the geometry at the wavelength
// and temperature of alignment, and what the parts themselves have to say at that temperature.
func (s *Stack) Cautions() []string {
	var all []string
	if t := math.Hypot(s.pose.Tilt.X, s.pose.Tilt.Y); t > crookedAxis {
		all = append(all, fmt.Sprintf("the forward light leaves the stack %.2f mrad off axis: the receiving collimator must be tilted to meet it (two wedges slanted the same way add their deviations)", t*1e3))
	}
	all = append(all, s.divides()...)
	waist := s.waist()
	if off := math.Hypot(s.pose.Offset.X, s.pose.Offset.Y); off > waist {
		all = append(all, fmt.Sprintf("the forward light leaves the stack %.0f um off axis, more than the waist of %.0f um: check that it clears every aperture", off*1e6, waist*1e6))
	}
	if l := float64(s.spec.AlignAt); waist < paraxial*l {
		all = append(all, fmt.Sprintf("a waist of %.2g um spreads by %.0f deg: the overlap of Gaussian beams holds for small angles only", waist*1e6, math.Atan(l/(math.Pi*waist))*180/math.Pi))
	}
	all = append(all, s.edges()...)
	all = append(all, s.returns()...)
	all = append(all, s.echoes()...)
	for _, e := range s.spec.Elements {
		all = append(all, element.Cautions(e, s.spec.AlignAt, s.spec.AlignTemperature)...)
	}
	return all
}

func (s *Stack) waist() float64 {
	w, _, err := s.spec.Beam.Beam(s.lens, s.spec.AlignAt)
	if err != nil {
		return math.Inf(1) // alignment has used it: there is one
	}
	return w
}

// edges names the faces whose clear aperture a ray of the forward light misses, and those that meet the face before them
// within the beam: a part, or a gap, too thin for the angle between its faces.
func (s *Stack) edges() []string {
	names, w := s.faceNames(), s.waist()
	faces, worst, room := []element.Face(nil), make([]float64, len(names)), make([]float64, len(names))
	if s.WithGhosts(GhostsNone).traced(Forward, s.spec.AlignAt, s.spec.AlignTemperature, func(q *tracer) {
		faces = slices.Clone(q.faces)
		q.seen = func(a *state, i int, in *element.Medium) {
			if q.carried(a, in) < faint {
				return
			}
			worst[i] = max(worst[i], math.Hypot(a.r.X, a.r.Y))
			if i > 0 {
				room[i] = min(room[i], between(&q.faces[i-1], &q.faces[i], a.r, w))
			}
		}
		q.chiefly(func(*state) {})
	}) != nil {
		return nil
	}
	var all []string
	for i, f := range faces {
		if f.Aperture > 0 && worst[i] > f.Aperture {
			all = append(all, fmt.Sprintf("a ray meets %s %.0f um off axis, outside its clear aperture of %.0f um radius", names[i], worst[i]*1e6, f.Aperture*1e6))
		}
		if room[i] < -1e-9 { // a nanometre: parts in contact
			all = append(all, fmt.Sprintf("%s and %s meet within the beam, %.0f um in radius: what lies between them is %.0f um too thin for their angle", names[i-1], names[i], w*1e6, -room[i]*1e6))
		}
	}
	return all
}

// between returns the least distance along z of two faces over a disc of radius w about the point r.
func between(a, b *element.Face, r r3.Vec, w float64) float64 {
	height := func(f *element.Face) float64 { return f.Z - (f.Normal.X*r.X+f.Normal.Y*r.Y)/f.Normal.Z }
	slope := math.Hypot(b.Normal.X/b.Normal.Z-a.Normal.X/a.Normal.Z, b.Normal.Y/b.Normal.Z-a.Normal.Y/a.Normal.Z)
	return height(b) - height(a) - slope*w
}

// divides says when an isolator without polarizers loses one polarization of the forward light: its crystals part what they
// should put together again, as they do when an axis stands on the wrong side of the rotation.
func (s *Stack) divides() []string {
	polarizes := slices.ContainsFunc(s.spec.Elements, func(e element.Element) bool { return e.Kind() == "polarizer" })
	if polarizes || !s.isolates() {
		return nil
	}
	p, err := s.WithGhosts(GhostsNone).At(Forward, s.spec.AlignAt, s.spec.AlignTemperature)
	if err != nil || !(p.PDL() > divided) {
		return nil
	}
	return []string{fmt.Sprintf("the fibre receives one polarization of the forward light and loses the other, %s dB down: the crystals do not put the two together again (an axis on the wrong side of the rotation, a film that turns the other way, or parts that differ)", atLeast(p.InsertionLossMax()))}
}

// atLeast writes a loss, and one that rounding hides as a bound.
func atLeast(dB float64) string {
	if dB > 99 {
		return "more than 99"
	}
	return fmt.Sprintf("%.1f", dB)
}

// returns names the backward path that brings most light to the launching fibre of an isolator, when that is much:
// a rotator far from its angle, or a second stage that sends the beams which the first has rejected back on axis.
func (s *Stack) returns() []string {
	paths, err := s.WithGhosts(GhostsNone).Paths(Backward, s.spec.AlignAt, s.spec.AlignTemperature)
	if err != nil || !s.isolates() {
		return nil
	}
	worst := -1
	for i, p := range paths {
		if p.Power < spoiled && (worst < 0 || p.Power < paths[worst].Power) {
			worst = i
		}
	}
	if worst < 0 {
		return nil
	}
	return []string{fmt.Sprintf("backward light reaches the launching fibre on the path %s, %.1f dB down: the stack hardly isolates (a second stage at the azimuth of the first sends the rejected beams back on axis)",
		paths[worst].Label, paths[worst].Power)}
}

// echoes says when so much light bounces between parallel faces that one double bounce of each pair does not tell all.
func (s *Stack) echoes() []string {
	sum := 0.0
	err := s.traced(Forward, s.spec.AlignAt, s.spec.AlignTemperature, func(q *tracer) {
		size := make([]float64, len(q.faces))
		for i := range q.faces {
			size[i] = q.echo(i)
			for j := i - 1; j >= 0 && q.parallel(i, j); j-- {
				sum += size[i] * size[j]
			}
		}
	})
	if err != nil || s.ghosts == GhostsNone || sum < echoing {
		return nil
	}
	return []string{fmt.Sprintf("the double bounces between parallel faces add up to %.2g of the amplitude; light that bounces more often is left out, which may put a loss wrong by %.1g dB and bring back %.0f dB of what was sent: coat the faces, or look for the bounds of the ripple only",
		sum, -2*quantity.Decibels(1-min(sum*sum, 0.9)), -2*quantity.Decibels(sum*sum))}
}

// echo is the greatest amplitude that a face sends back across the beam.
func (s *shot) echo(i int) float64 {
	f := &s.faces[i]
	if !f.Exact {
		return math.Sqrt(f.Reflectance)
	}
	sc, ok := s.scatter(i, +1, s.medium(i, -1), s.medium(i, +1), r3.Vec{}, f.Normal)
	if !ok {
		return 1
	}
	most := 0.0
	for w := range 2 {
		most = max(most, math.Hypot(math.Sqrt(power(sc.R[0][w])), math.Sqrt(power(sc.R[1][w]))))
	}
	return most
}

// isolates reports whether the stack has a Faraday rotator at all.
func (s *Stack) isolates() bool {
	for _, e := range s.spec.Elements {
		if e.Kind() == "rotator" {
			return true
		}
	}
	return false
}
