package stack

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/element"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// What calls for a caution (choices): forward light that leaves more than a milliradian off the axis before alignment,
// or of which an isolator passes one polarization ten times as well as the other; an isolation below what one stage is
// asked for; apertures that take 2 % of the light; and double bounces that carry a tenth of the amplitude, when those
// that bounce again may carry a hundredth.
const (
	crookedAxis = 1e-3 // rad
	divided     = 10   // dB
	weak        = 30   // dB of isolation: what specifications of one stage begin with (common practice, no source)
	clipped     = 0.1  // dB
	echoing     = 0.1
	paraxial    = 5    // wavelengths: below this waist a beam spreads by more than 4 deg
	faint       = 1e-6 // of the power launched: what carries less is not looked at
)

// Usual returns the temperatures between which coefficients measured near room temperature are taken as straight lines
// without a word: what parts for outdoors are tested over, with a margin (a choice). Beyond them a film's rotation, an
// index and the remanence of a magnet are extrapolated, and what heat takes of a magnet for good is not modelled.
func Usual() (from, to quantity.Temperature) { return quantity.Celsius(-60), quantity.Celsius(130) }

// FarFromRoom returns a caution about a temperature outside Usual, "" inside.
func FarFromRoom(t quantity.Temperature) string {
	if from, to := Usual(); t >= from && t <= to {
		return ""
	}
	return fmt.Sprintf("%.6g °C is far from room temperature, where the temperature coefficients were measured: they "+
		"are extrapolated linearly, for magnets too, and irreversible losses of a magnet are not included (for a "+
		"temperature in kelvin, subtract 273.15 to get degC)", t.Celsius())
}

// Cautions returns what a designer should look at twice, in plain sentences: about the geometry at the wavelength
// and temperature of alignment, and what the parts themselves have to say at that temperature.
func (s *Stack) Cautions() []string {
	var all []string
	if far := FarFromRoom(s.spec.AlignTemperature); far != "" {
		all = append(all, far)
	}
	if t := math.Hypot(s.pose.Tilt.X, s.pose.Tilt.Y); t > crookedAxis {
		all = append(all, fmt.Sprintf("the forward light leaves the stack %.2f mrad off axis: the receiving "+
			"collimator must be tilted to meet it (two wedges slanted the same way add their deviations)", t*1e3))
	}
	all = append(all, s.divides()...)
	waist := s.waist()
	if off := math.Hypot(s.pose.Offset.X, s.pose.Offset.Y); off > waist {
		all = append(all, fmt.Sprintf("the forward light leaves the stack %.0f um off axis, more than the waist of "+
			"%.0f um: check that it clears every aperture", off*1e6, waist*1e6))
	}
	if l := float64(s.spec.AlignAt); waist < paraxial*l {
		all = append(all, fmt.Sprintf("a waist of %.2g um spreads by %.0f deg: the overlap of Gaussian beams holds "+
			"for small angles only",
			waist*1e6, math.Atan(l/(math.Pi*waist))*180/math.Pi))
	}
	all = append(all, s.edges()...)
	all = append(all, s.clips()...)
	all = append(all, s.leaks()...)
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

// edges names the faces whose clear aperture a ray of the forward light misses, and those that meet the face before
// them within the beam: a part, or a gap, too thin for the angle between its faces.
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
			all = append(all, fmt.Sprintf("a ray meets %s %.0f um off axis, outside its clear aperture of %.0f um "+
				"radius",
				names[i], worst[i]*1e6, f.Aperture*1e6))
		}
		if room[i] < -1e-9 { // a nanometre: parts in contact
			all = append(all, fmt.Sprintf("%s and %s meet within the beam, %.0f um in radius: what lies between them "+
				"is %.0f um too thin for their angle",
				names[i-1], names[i], w*1e6, -room[i]*1e6))
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

// clips says what the clear apertures take of the forward light that the receiver would collect, when that is much.
func (s *Stack) clips() []string {
	whole, left := 0.0, 0.0
	narrowest := math.Inf(1)
	for _, e := range s.spec.Elements {
		for _, f := range e.Place(s.spec.AlignTemperature).Faces {
			if f.Aperture > 0 {
				narrowest = min(narrowest, f.Aperture)
			}
		}
	}
	err := s.WithGhosts(GhostsNone).traced(Forward, s.spec.AlignAt, s.spec.AlignTemperature, func(q *tracer) {
		q.chiefly(func(a *state) {
			c := q.way(a)
			w, passed := q.carried(a, &outside)*power(q.coupler.Overlap(&c)), q.passed(&c, a.stops)
			whole, left = whole+w, left+w*passed*passed
		})
	})
	loss := -quantity.Decibels(left / whole)
	if err != nil || !(loss > clipped) {
		return nil
	}
	return []string{fmt.Sprintf("clear apertures cost %s dB of the forward light: the narrowest has a radius of %.0f "+
		"um, the beam a waist of %.0f um", atLeast(loss), narrowest*1e6, s.waist()*1e6)}
}

// divides says when an isolator without polarizers loses one polarization of the forward light: its crystals part
// what they should put together again, as they do when an axis stands on the wrong side of the rotation.
func (s *Stack) divides() []string {
	polarizes := slices.ContainsFunc(s.spec.Elements, func(e element.Element) bool { return e.Kind() == "polarizer" })
	if polarizes || !s.isolates() {
		return nil
	}
	p, err := s.WithGhosts(GhostsNone).At(Forward, s.spec.AlignAt, s.spec.AlignTemperature)
	if err != nil || !(p.PDL() > divided) {
		return nil
	}
	return []string{fmt.Sprintf("the fibre receives one polarization of the forward light and loses the other, %s dB "+
		"down: the crystals do not put the two together again (an axis on the wrong side of the rotation, a film "+
		"that turns the other way, or parts that differ)", atLeast(p.InsertionLossMax()))}
}

// atLeast writes a loss, and one that rounding hides as a bound.
func atLeast(dB float64) string {
	if dB > 99 {
		return "more than 99"
	}
	return fmt.Sprintf("%.1f", dB)
}

// leaks says when an isolator isolates little where it was aligned, and what lets the light through: the
// depolarization of its films, a second stage that sends the beams which the first has rejected back on axis, or an
// angle. Light that is turned by an angle d too far or too little keeps sin^2 d of its power where it should have
// none.
func (s *Stack) leaks() []string {
	bare := s.WithGhosts(GhostsNone)
	p, err := bare.At(Backward, s.spec.AlignAt, s.spec.AlignTemperature)
	if err != nil || !s.isolates() || !(p.Isolation() < weak) {
		return nil
	}
	var polarized polar.Gram
	polarized.Add(p.M)
	t1, _ := polarized.Extremes()
	turns, n := s.rotations()
	var why string
	switch {
	case t1 < p.T1/2:
		why = "most of the leakage is light that a rotator depolarizes (its extinction ratio)"
	case n > 1:
		why = fmt.Sprintf("most of the leakage is on the path %s (a second stage at the azimuth of the first sends "+
			"the deflected beams back on axis)", bare.strongest())
	default:
		why = fmt.Sprintf("the leakage corresponds to an angle error of %.1f deg, on the path %s; %s",
			math.Asin(math.Sqrt(min(1, t1)))*180/math.Pi, bare.strongest(), turns)
	}
	return []string{fmt.Sprintf("the isolation is only %.1f dB at %.6g nm and %.4g °C: %s", p.Isolation(),
		float64(s.spec.AlignAt)/1e-9, s.spec.AlignTemperature.Celsius(), why)}
}

// strongest returns the label of the backward path that brings most light.
func (s *Stack) strongest() string {
	paths, err := s.Paths(Backward, s.spec.AlignAt, s.spec.AlignTemperature)
	if err != nil || len(paths) == 0 {
		return unsplit
	}
	return slices.MinFunc(paths, func(a, b Path) int { return cmp.Compare(a.Power, b.Power) }).Label
}

// rotations says by how much the rotators turn the light where the stack was aligned, and counts them.
func (s *Stack) rotations() (text string, n int) {
	c := s.lay(s.spec.AlignTemperature)
	if c.tune(s.spec.AlignAt) != nil {
		return "", 0
	}
	for _, p := range c.parts {
		if p.element.Kind() == "rotator" {
			text = fmt.Sprintf("%s rotates the polarization by %.1f deg", p.element.Label(),
				c.media[p.first].Rotation*180/math.Pi)
			n++
		}
	}
	return text, n
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
	return []string{fmt.Sprintf("the double bounces between parallel faces add up to %.2g of the amplitude; light "+
		"that bounces more often is left out, which may put a loss wrong by %.1g dB and bring back %.0f dB of what "+
		"was sent: coat the faces, or look for the bounds of the ripple only",
		sum, -2*quantity.Decibels(1-min(sum*sum, 0.9)), -2*quantity.Decibels(sum*sum))}
}

// echo is the greatest amplitude that a face sends back across the beam.
func (s *shot) echo(i int) float64 {
	f := &s.faces[i]
	if !f.Exact {
		return math.Sqrt(f.Reflectance)
	}
	sc, ok := s.scatter(i, +1, s.medium(i, -1, &f.Normal), s.medium(i, +1, &f.Normal), r3.Vec{}, f.Normal)
	if !ok {
		return 1
	}
	most := 0.0
	for w := range 2 {
		most = max(most, math.Hypot(math.Sqrt(power(sc.R[0][w])), math.Sqrt(power(sc.R[1][w]))))
	}
	return most
}

// isolates reports whether the stack is made to isolate: a Faraday rotator with something before it and something
// behind it that takes polarizations apart.
func (s *Stack) isolates() bool {
	parts := false // what takes polarizations apart
	turned := false
	for _, e := range s.spec.Elements {
		switch {
		case e.Kind() == "rotator":
			turned = turned || parts
		case e.Kind() == "polarizer" || element.CrystalOf(e) != nil && e.Kind() != "retarder":
			if turned {
				return true
			}
			parts = true
		}
	}
	return false
}
