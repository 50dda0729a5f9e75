package verify_test

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
	"wedgework/reports/verify"
	"wedgework/reports/verify/verifytest"
)

// isolator returns the scenario's single stage: two YVO4 wedges of 5 deg around a garnet film.
func isolator(t testing.TB) *stack.Stack {
	t.Helper()
	crystal, err := material.Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	garnet, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	garnet.Extinction = quantity.Ratio(45)
	wedge := func(side element.Side, axis float64) element.Wedge {
		return element.Wedge{Crystal: crystal, Slanted: side, Apex: 5 * quantity.Degree,
			Thickness: 0.5 * quantity.Millimetre,
			Axis:      quantity.Angle(axis) * quantity.Degree, Coating: element.Coating{Reflectance: 0.001}}
	}
	gap := element.Gap{Length: 0.2 * quantity.Millimetre}
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{wedge(element.Front, 22.5), gap,
			element.Rotator{Garnet: garnet, Angle: 45 * quantity.Degree, At: 1550 * quantity.Nanometre,
				Temperature: quantity.Celsius(23),
				Coating:     element.Coating{Reflectance: 0.0005}},
			gap, wedge(element.Back, 67.5)},
		Beam: element.Collimator{Waist: 200 * quantity.Micrometre, WorkingDistance: 10 * quantity.Millimetre,
			Loss: 0.2},
		AlignAt: 1550 * quantity.Nanometre, AlignTemperature: quantity.Celsius(23),
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// sources are how light comes through a simulated instrument: readings of the closed form or of a stack.
type source func(d stack.Direction, l quantity.Length, t quantity.Temperature) float64

// TestStack runs the whole way with the real model: a unit whose film is 0.6 deg thin, whose readings come
// from the stack itself with noise, is told by its cause.
func TestStack(t *testing.T) {
	s := isolator(t)
	unit, err := s.Adjusted(map[string]quantity.Quantity{"rotator1.angle": quantity.Of(44.4, "deg"),
		"rotator1.extinction": quantity.Of(43, "dB")})
	if err != nil {
		t.Fatal(err)
	}
	var through source = func(d stack.Direction, l quantity.Length, temperature quantity.Temperature) float64 {
		// A scrambled source of some linewidth: ghosts add in power.
		p, err := unit.WithGhosts(stack.GhostsIncoherent).At(d, l, temperature)
		if err != nil {
			t.Fatal(err)
		}
		return (p.T1 + p.T2) / 2
	}
	in := other
	in.step = 1
	spec := scenario(nominal, in)
	spec.Model = verify.ForStack(s)
	for i := range spec.Readings.Rows {
		// The noise of the simulated readings, on the stack's curve.
		r := &spec.Readings.Rows[i]
		nm, celsius := float64(r.Wavelength)*1e9, r.Temperature.Celsius()
		floor := math.Pow(10, -in.floor/10)
		ins(r).Value += 10*math.Log10(nominal.at(verify.Forward, nm,
			celsius).Mean()) - quantity.Decibels(through(stack.Forward, r.Wavelength, r.Temperature))
		iso(r).Value += 10*math.Log10(nominal.at(verify.Backward, nm, celsius).Mean()+floor) -
			quantity.Decibels(through(stack.Backward, r.Wavelength, r.Temperature)+floor)
	}
	r := run(t, spec)
	if got := r.Agreement.Outcome; got != document.Fail {
		t.Errorf("agreement: got %v, want fail: %s", got, r.Agreement.Sentence)
	}
	for _, d := range r.Diagnosis.Departures {
		switch d.Path {
		case "rotator1.angle":
			if math.Abs(d.Value-44.4) > 3*d.Sigma || d.Sigma > 0.03 {
				t.Errorf("angle: got %.3f ± %.3f deg, want 44.4", d.Value, d.Sigma)
			}
		case "rotator1.extinction":
			if d.Low > 43 || d.High < 43 {
				t.Errorf("extinction: got %.2f to %.2f dB, want 43", d.Low, d.High)
			}
		}
	}
	for _, want := range []string{"if only the rotator angle (rotator1.angle) is in error, it is 44.",
		"an error in the angle between the optic axes of wedge1 and wedge2", "these data cannot distinguish them"} {
		if !strings.Contains(r.Diagnosis.Sentence, want) {
			t.Errorf("the diagnosis does not say %q: %s", want, r.Diagnosis.Sentence)
		}
	}
}

// TestStackInterpolates: the curves of a sweep agree with the stack evaluated reading by reading.
func TestStackInterpolates(t *testing.T) {
	s := isolator(t)
	m := verify.ForStack(s)
	var ls []quantity.Length
	for k := range 161 {
		ls = append(ls, quantity.Length(1500e-9+0.5e-9*float64(k)))
	}
	plain := s.WithGhosts(stack.GhostsIncoherent)
	for _, celsius := range []float64{-5, 23, 70} {
		for d, direction := range map[verify.Direction]stack.Direction{verify.Forward: stack.Forward,
			verify.Backward: stack.Backward} {
			got, err := m.Over(context.Background(), d, ls, quantity.Celsius(celsius))
			if err != nil {
				t.Fatal(err)
			}
			for i, l := range ls {
				want, err := plain.At(direction, l, quantity.Celsius(celsius))
				if err != nil {
					t.Fatal(err)
				}
				// 1e-4 of the transmission is 0.0004 dB, a hundredth of what any instrument repeats to.
				if math.Abs(got[i].T1-want.T1) > 1e-4*want.T1 || math.Abs(got[i].T2-want.T2) > 1e-4*want.T1 {
					t.Errorf("%v at %.1f nm, %g degC: got %v, want %g and %g", direction, float64(l)*1e9, celsius,
						got[i], want.T1,
						want.T2)
				}
			}
		}
	}
}

// TestSlopeOfFilm: a film whose rotation falls faster with temperature than its data sheet says is found, and nothing
// else is blamed; its peak moves by the slopes' ratio.
func TestSlopeOfFilm(t *testing.T) {
	p := planted{extinction: 42, floor: 62, noise: 0.04, seed: 6}
	s := p.spec(t, 2)
	slope := func(v float64) quantity.Quantity {
		q, err := quantity.Div(quantity.Of(v, "deg"), quantity.Of(1, "kelvin"))
		if err != nil {
			t.Fatal(err)
		}
		return q
	}
	const planted = -0.066
	steeper, err := verifytest.SingleStage(t, 42,
		0.0002).Adjusted(map[string]quantity.Quantity{"rotator1.per_kelvin": slope(planted)})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(6, 6))
	for i, r := range s.Readings.Rows {
		for d, to := range map[stack.Direction]*float64{stack.Backward: &iso(&s.Readings.Rows[i]).Value,
			stack.Forward: &ins(&s.Readings.Rows[i]).Value} {
			point, err := steeper.At(d, r.Wavelength, r.Temperature)
			if err != nil {
				t.Fatal(err)
			}
			power := (point.T1 + point.T2) / 2
			if d == stack.Backward {
				power += quantity.Ratio(-p.floor)
			}
			*to = -quantity.Decibels(power)
		}
		iso(&s.Readings.Rows[i]).Value += p.noise * rng.NormFloat64()
		ins(&s.Readings.Rows[i]).Value += p.noise * rng.NormFloat64()
	}
	s.Tolerances["rotator1.per_kelvin"] = verify.Tolerance{Shape: verify.Normal, Value: slope(0.002)}
	s.Fit = []string{"rotator1.angle", "rotator1.per_kelvin", "rotator1.extinction"}
	r := run(t, s)
	if got := r.Diagnosis.Causes; len(got) != 1 || got[0] != "rotator1.per_kelvin" {
		t.Errorf("causes %q: %s", got, r.Diagnosis.Sentence)
	}
	for _, d := range r.Diagnosis.Departures {
		if d.Path == "rotator1.per_kelvin" && (d.Low > planted || planted > d.High || d.High-d.Low > 0.004) {
			t.Errorf("slope %.5f, %.5f to %.5f deg/K, planted %g", d.Value, d.Low, d.High, planted)
		}
	}
	for _, f := range r.Figures {
		// The slope over wavelength is that of the model, -0.07 deg/nm.
		if want := -planted / -0.07; f.Unit == "nm/K" && math.Abs(f.Diagnosed.Value-want) > 0.02 {
			t.Errorf("the peak of the model as diagnosed moves %.4f nm/K, want %.4f", f.Diagnosed.Value, want)
		}
	}
}

// TestNotAskedAbout: a film that is short is not called unsaturated because only other parameters were named.
func TestNotAskedAbout(t *testing.T) {
	p := planted{d: -0.6, extinction: 42, floor: 62, noise: 0.04, seed: 5}
	for _, named := range []string{"beam.loss"} {
		s := p.spec(t, 4)
		s.Fit = []string{named}
		g := run(t, s).Diagnosis
		if len(g.Gross) > 0 || !strings.Contains(g.Sentence, "no explanation tried fits the readings") {
			t.Errorf("%s: %s", named, g.Sentence)
		}
	}
}

// TestRippleOfStack: the coherent response, whose ghosts interfere as they do, scatters about the incoherent one by
// what is stated, in amplitude too: most of the leakage far from the null beats with the ghosts, and next to it what
// the film depolarizes is most, and does not.
func TestRippleOfStack(t *testing.T) {
	for _, c := range []struct{ extinction, off float64 }{{30, 0}, {42, 0.6}, {60, 4}} {
		spec := verifytest.SingleStage(t, c.extinction, 0.0005).Spec()
		film := spec.Elements[2].(element.Rotator)
		film.Angle += quantity.Angle(c.off) * quantity.Degree
		spec.Elements[2], spec.Elements[3] = film, element.Gap{Length: 0.137e-3} // two like gaps would have like phases
		s, err := stack.New(spec)
		if err != nil {
			t.Fatal(err)
		}
		m, at := verify.ForStack(s), quantity.Celsius(23)
		var ls []quantity.Length
		for k := range 4000 { // a fringe is 1 nm
			ls = append(ls, quantity.Length(1500+0.02*float64(k))*quantity.Nanometre)
		}
		incoherent, err := m.Over(context.Background(), verify.Backward, ls, at)
		if err != nil {
			t.Fatal(err)
		}
		ripple, err := m.Ripple(context.Background(), ls, at)
		if err != nil {
			t.Fatal(err)
		}
		var mean, t1 float64 // mean squares over what is stated
		for i, l := range ls {
			p, err := s.At(stack.Backward, l, at)
			if err != nil {
				t.Fatal(err)
			}
			mean += math.Pow(((p.T1+p.T2)/2-incoherent[i].Mean())/ripple[i].Mean, 2) / float64(len(ls))
			t1 += math.Pow((p.T1-incoherent[i].T1)/ripple[i].T1, 2) / float64(len(ls))
		}
		// Of 80 fringes of half a dozen ghosts, which come into step every 10 nm, some 8 are independent; by T1 the
		// variance is an upper bound.
		if mean < 0.8 || mean > 1.2 || t1 < 0.6 || t1 > 1.2 {
			t.Errorf("%g dB, %g deg off: the mean scatters with %.2f of the variance stated, T1 with %.2f",
				c.extinction, c.off,
				mean, t1)
		}
	}
}
