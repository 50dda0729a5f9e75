package verify_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
	"wedgework/reports/verify/readings"
)

// betweenFibres is polarizer, film and polarizer between two polarization-maintaining fibres whose second key is off by an
// angle in degrees, all of them without light in the wrong polarization. The loss of the pair is 0.2 dB, that of
// either polarizer 0.05 dB.
func betweenFibres(t *testing.T, off float64) *stack.Stack {
	t.Helper()
	film, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	film.Extinction = math.Inf(1)
	gap := element.Gap{Length: 0.3 * quantity.Millimetre}
	polarizer := func(axis quantity.Angle) element.Polarizer {
		return element.Polarizer{Axis: axis * quantity.Degree, Extinction: math.Inf(1), Loss: 0.05}
	}
	fibre := func(key float64) element.Pigtail {
		return element.Pigtail{Axis: quantity.Angle(key) * quantity.Degree, Extinction: math.Inf(1)}
	}
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{polarizer(0), gap, element.Rotator{Garnet: film, Angle: 45 * quantity.Degree,
			At: 1550 * quantity.Nanometre, Temperature: quantity.Celsius(23)}, gap, polarizer(45)},
		Beam: element.Collimator{Waist: 200 * quantity.Micrometre, WorkingDistance: 6 * quantity.Millimetre, Loss: 0.2,
			Pigtails: element.Pigtails{Ends: [2]element.Pigtail{fibre(0), fibre(45 + off)}}},
		AlignAt: 1550 * quantity.Nanometre, AlignTemperature: quantity.Celsius(23),
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestExtinctionAlongAxes: behind a polarizer, a fibre whose key is off by a leaves cot^2 a (Malus's law), whatever the
// wavelength. Units with keys off by 1 to 6 degrees and readings with noise agree with the model of that angle, not
// with the drawing, and limits half a decibel to either side of the truth are decided rightly.
func TestExtinctionAlongAxes(t *testing.T) {
	const units, noise = 40, 0.1
	rng := rand.New(rand.NewPCG(20, 2))
	agree, decided := 0, 0
	for k := range units {
		off := 1 + 5*float64(k)/units
		truth := -20 * math.Log10(math.Tan(off*math.Pi/180))
		var text strings.Builder
		text.WriteString("wavelength [nm],temperature [degC],extinction ratio [dB]\n")
		for nm := 1540.0; nm <= 1560; nm += 2 {
			fmt.Fprintf(&text, "%g,23,%.3f\n", nm, truth+noise*rng.NormFloat64())
		}
		r, err := verify.FromTable(tableOf(t, "axes.csv", text.String()))
		if err != nil {
			t.Fatal(err)
		}
		r.Polarization = verify.Scrambled
		limit := func(value float64) limits.Limit {
			return limits.Limit{Quantity: limits.ExtinctionRatio, AtLeast: true, Value: value,
				Low: 1540 * quantity.Nanometre, High: 1560 * quantity.Nanometre, TemperatureLow: quantity.Celsius(23),
				TemperatureHigh: quantity.Celsius(23)}
		}
		judged := func(off float64) *verify.Result {
			return run(t, verify.Spec{Model: verify.ForStack(betweenFibres(t, off)), Readings: r,
				Limits: []limits.Limit{limit(truth - 0.5), limit(truth + 0.5)},
				Budget: uncertainty.Budget{Contributions: []uncertainty.Contribution{
					{Name: "repeatability", Figure: "extinction_ratio", Value: quantity.Of(noise, "dB")}}}})
		}
		built := judged(off)
		f := built.Figures[slices.IndexFunc(built.Figures, func(f verify.Figure) bool {
			return f.Quantity == limits.ExtinctionRatio
		})]
		if math.Abs(f.Specified.Value-truth) > 2e-6 {
			t.Errorf("off by %.3f deg: the model has %.7f dB, Malus %.7f", off, f.Specified.Value, truth)
		}
		if f.Low <= truth && truth <= f.High {
			agree++
		}
		if built.Decisions[0].Outcome == document.Pass && built.Decisions[1].Outcome == document.Fail {
			decided++
		}
		for _, d := range built.Decisions {
			if right := d.Limit.Value < truth; d.Outcome == document.Pass && !right || d.Outcome == document.Fail && right {
				t.Errorf("off by %.3f deg: at least %.2f dB is said to %s, the truth is %.2f", off, d.Limit.Value,
					d.Outcome, truth)
			}
		}
		if other := judged(off - 0.5); other.Agreement.Outcome != document.Fail {
			t.Errorf("off by %.3f deg: half a degree less agrees too", off)
		}
	}
	t.Logf("%d of %d intervals hold the truth, %d are decided", agree, units, decided)
	if agree < 35 || decided < 35 { // of 40 at 95.45 %: three standard deviations
		t.Errorf("%d of %d intervals hold the truth, %d are decided", agree, units, decided)
	}
}

// TestAxesWithoutFibres: readings along axes that the design's fibres do not have are listed as not used, and the others
// are judged as if the file had none.
func TestAxesWithoutFibres(t *testing.T) {
	p := plant(1)
	s := p.spec(t, 4)
	want := run(t, s)
	for i := range s.Readings.Rows {
		s.Readings.Rows[i].Figures = append(slices.Clone(s.Readings.Rows[i].Figures),
			readings.NewFigure(limits.ExtinctionRatio, 25))
	}
	got := run(t, s)
	unused := fmt.Sprintf("%d readings of extinction ratio, for the fibres of the design have no axes: give its "+
		"collimator axis=", len(s.Readings.Rows))
	if !slices.Contains(got.Unused, unused) {
		t.Errorf("not used: %q, want %q", got.Unused, unused)
	}
	if len(got.Figures) != len(want.Figures) || got.Agreement.Sentence != want.Agreement.Sentence {
		t.Errorf("%s, without them %s", got.Agreement.Sentence, want.Agreement.Sentence)
	}
}
