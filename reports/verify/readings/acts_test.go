package readings

import (
	"math"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// TestActs: a PDL is the ratio of two readings of power: an error of each counts twice, root 2 times its standard
// uncertainty, and what both share cancels (JCGM 100:2008, equation 16, with correlations of 0 and 1). What is declared
// for one figure acts on that one as it stands, and delays on a DGD alone.
func TestActs(t *testing.T) {
	line := func(name, figure string, v float64, unit string) uncertainty.Contribution {
		return uncertainty.Contribution{Name: name, Figure: figure, Value: quantity.Of(v, unit)}
	}
	for _, c := range []struct {
		line uncertainty.Contribution
		want [8]float64 // isolation, insertion loss, PDL, DGD, return loss, loss along either axis, extinction ratio
	}{
		{line("repeatability", "", 0.02, "dB"),
			[8]float64{0.02, 0.02, 0.02 * math.Sqrt2, 0, 0.02, 0.02, 0.02, 0.02 * math.Sqrt2}},
		{line("repeatability", "pdl", 0.02, "dB"), [8]float64{2: 0.02}},
		{line("repeatability", "extinction_ratio", 0.02, "dB"), [8]float64{7: 0.02}},
		{line("repeatability", "dgd", 5, "fs"), [8]float64{3: 0.005}},
		{line("timing", "", 0.003, "ps"), [8]float64{3: 0.003}},
		{line("power_meter", "", 0.05, "dB"), [8]float64{0.05, 0.05, 0, 0, 0.05, 0.05, 0.05, 0}},
		{line("reference_2", "", 0.05, "dB"), [8]float64{0.05, 0.05, 0, 0, 0.05, 0.05, 0.05, 0}},
		{line("source_polarization", "", 0.05, "dB"), [8]float64{0.05, 0.05, 0.05, 0, 0.05, 0.05, 0.05, 0.05}},
		{line("wavelength", "", 0.05, "nm"), [8]float64{}},
	} {
		for k, q := range limits.Quantities {
			if got := Acts(q, c.line); math.Abs(got-c.want[k]) > 1e-15 {
				t.Errorf("%s %s of %s on %s: got %g, want %g", c.line.Name, c.line.Figure, c.line.Value, q, got,
					c.want[k])
			}
		}
	}
}

// TestScales: what an error moves a value by, against finite differences and the moments of a squared length: with
// noise u in three components about a length r the standard deviation of its square is root(4 r^2 u^2 + 6 u^4) (the
// noncentral chi-squared distribution of three degrees of freedom, variance 2 (3 + 2 lambda)).
func TestScales(t *testing.T) {
	for _, q := range limits.Quantities {
		scale := ScaleOf(q)
		if got := scale.Figure(scale.Value(0.7)); math.Abs(got-0.7) > 1e-12 {
			t.Errorf("%s: 0.7 there and back is %g", q, got)
		}
		const h = 1e-6
		want := (scale.Value(0.7+h) - scale.Value(0.7-h)) / (2 * h)
		if got := scale.Moved(h, scale.Value(0.7)) / h; math.Abs(got-want) > 1e-5*math.Abs(want) {
			t.Errorf("%s: moved by %g, want %g", q, got, want)
		}
	}
	for _, r := range []float64{0, 1, 3} {
		want := math.Sqrt(2 * (3 + 2*r*r))
		if got := Square.Moved(1, r*r); math.Abs(got-want) > 1e-12 {
			t.Errorf("length %g: %g, want %g", r, got, want)
		}
	}
}
