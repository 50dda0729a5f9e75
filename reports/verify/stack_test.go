package verify_test

import (
	"math"
	"testing"
	"time"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/verify"
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
		return element.Wedge{Crystal: crystal, Slanted: side, Apex: 5 * quantity.Degree, Thickness: 0.5 * quantity.Millimetre,
			Axis: quantity.Angle(axis) * quantity.Degree, Coating: element.Coating{Reflectance: 0.001}}
	}
	gap := element.Gap{Length: 0.2 * quantity.Millimetre}
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{wedge(element.Front, 22.5), gap,
			element.Rotator{Garnet: garnet, Angle: 45 * quantity.Degree, At: 1550 * quantity.Nanometre, Temperature: quantity.Celsius(23), Coating: element.Coating{Reflectance: 0.0005}},
			gap, wedge(element.Back, 67.5)},
		Beam:    element.Collimator{Waist: 200 * quantity.Micrometre, WorkingDistance: 10 * quantity.Millimetre, Loss: 0.2},
		AlignAt: 1550 * quantity.Nanometre, AlignTemperature: quantity.Celsius(23),
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestTryStack(t *testing.T) {
	s := isolator(t)
	for _, p := range s.Parameters() {
		t.Log(p)
	}
	in := lab
	in.step = 0.5
	in.seed = 3
	unit, err := s.Adjusted(map[string]quantity.Quantity{"rotator1.angle": quantity.Of(44.4, "deg")})
	if err != nil {
		t.Fatal(err)
	}
	spec := scenario(nominal, in)
	spec.Model = verify.ForStack(s)
	delete(spec.Tolerances, "beam.loss")
	for i := range spec.Readings.Rows {
		r := &spec.Readings.Rows[i]
		old := nominal.at(verify.Backward, float64(r.Wavelength)*1e9, r.Temperature.Celsius()).Mean()
		noise := r.Isolation + 10*math.Log10(old)
		p, _ := unit.At(stack.Backward, r.Wavelength, r.Temperature)
		r.Isolation = p.IsolationMean() + noise*0.1
		f, _ := unit.At(stack.Forward, r.Wavelength, r.Temperature)
		r.InsertionLoss = f.InsertionLoss()
	}
	began := time.Now()
	r := run(t, spec)
	t.Log(time.Since(began))
	t.Logf("A %v %s", r.Agreement.Outcome, r.Agreement.Sentence)
	t.Logf("C %v %s", r.Conformity.Outcome, r.Conformity.Sentence)
	t.Logf("Q %v %s", r.Quality.Outcome, r.Quality.Sentence)
	t.Logf("D %s", r.Diagnosis.Sentence)
	for _, e := range r.Diagnosis.Departures {
		t.Logf("%+v", e)
	}
	for _, e := range r.Diagnosis.Explanations {
		t.Logf("%s %g %g", e.Label, e.ChiSquared, e.PValue)
	}
	for _, e := range r.Diagnosis.Pulls {
		t.Logf("%v", e)
	}
	for i := 0; i < 161; i += 10 {
		p := r.Points[161+i]
		t.Logf("%.1f %.2f nominal %.2f en %.2f diag %.2f en %.2f", float64(p.Wavelength)*1e9, p.Isolation, p.Specified.Isolation, p.Specified.En, p.Diagnosed.Isolation, p.Diagnosed.En)
	}
}
