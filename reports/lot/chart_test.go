package lot

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.8g, want %.8g within %g", what, got, want, tolerance)
	}
}

// TestFactorsOfRanges compares with the tables of every handbook: for ranges of two, d2 = 1.128, E2 = 2.660, D4 =
// 3.267.
func TestFactorsOfRanges(t *testing.T) {
	near(t, "E2", factorE2, 2.660, 0.002) // 3/1.128 = 2.6596; in closed form 2.6587
	near(t, "D4", factorD4, 3.267, 0.0005)
}

// TestIndividuals holds three published charts. From memory: the moisture of ten lots of milk powder in ISO 8258, which
// ISO 7870-2 follows, and the flow rates of ten batches in the NIST/SEMATECH handbook, 6.3.2.2. As printed: twenty
// concentrations of a chemical process in D. C. Montgomery and G. C. Runger, Applied Statistics and Probability for
// Engineers, 3rd edition, Wiley 2003, example 16-2, with its mean rounded to 99.1.
func TestIndividuals(t *testing.T) {
	for _, c := range []struct {
		name                            string
		values                          []float64
		centre, meanRange, lower, upper float64
		upperRange, accuracy            float64
	}{
		// Printed from a mean range rounded to 0.38.
		{"milk powder", []float64{2.9, 3.2, 3.6, 4.3, 3.8, 3.5, 3.0, 3.1, 3.6, 3.5}, 3.45, 0.38, 2.44, 4.46, 1.24,
			0.0075},
		{"flow rate", []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}, 50.81, 1.8778, 45.8159,
			55.8041, 6.1347, 0.003},
		{"concentration", []float64{102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1, 101.3, 98.7, 101.1,
			98.4, 97.0, 96.7, 100.3, 101.4, 97.2, 101.0},
			99.095, 2.59, 92.21, 105.99, 8.46, 0.012},
	} {
		chart := NewChart(c.values)
		near(t, c.name+": centre", chart.Centre, c.centre, 1e-9)
		near(t, c.name+": mean range", chart.MeanRange, c.meanRange, c.accuracy)
		near(t, c.name+": lower", chart.Lower, c.lower, c.accuracy)
		near(t, c.name+": upper", chart.Upper, c.upper, c.accuracy)
		near(t, c.name+": upper range", chart.UpperRange, c.upperRange, c.accuracy)
		if len(chart.Signals) > 0 || chart.Trial != (len(c.values) < 20) {
			t.Errorf("%s: got %v, trial %v; want no signal, and trial limits of fewer than 20 values", c.name,
				chart.Signals, chart.Trial)
		}
	}
	if NewChart([]float64{1, 2}) != nil {
		t.Error("a chart of two values")
	}
}

// TestSignals plants what each rule looks for.
func TestSignals(t *testing.T) {
	units := strings.Split("a b c d e f g h i j k l m n o p q r s t u v w x", " ")
	calm := []float64{0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1}
	for _, c := range []struct {
		name   string
		values []float64
		want   string
	}{
		{"calm", calm, ""},
		{"one off", append(append([]float64{}, calm...), 9, 0, 1, 0, 1, 0, 1),
			"beyond a control limit: m (rule 1); moving range beyond its control limit: l to m, m to n (rule 1)"},
		{"a step", []float64{0, 1, 0, 1, 0, 1, 3, 2, 3, 2, 3, 2, 3, 0, 1},
			"7 in a row on one side of the centre line: g to m (rule 2)"},
		{"six are no run", []float64{0, 1, 0, 1, 0, 2, 1, 2, 1, 2, 1, 0, 1, 0, 1}, ""},
		{"a trend", []float64{5, 4, 1, 2, 3, 4, 5, 6, 7, 3, 4, 2}, "7 in a row in one direction: c to i (rule 3)"},
		{"all alike", []float64{2, 2, 2, 2, 2, 2, 2, 2}, ""},
	} {
		if got := strings.Join(NewChart(c.values).Words(units), "; "); got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}

// Units of one value show no signal and no trend, whatever rounding makes of their mean.
func TestOneValue(t *testing.T) {
	values, at := make([]float64, 13), make([]float64, 13)
	for i := range values {
		values[i], at[i] = 34.1, float64(i+1)
	}
	if c := NewChart(values); len(c.Signals) > 0 || c.Lower != 34.1 || c.Upper != 34.1 {
		t.Errorf("limits %v to %v, signals %v; want none", c.Lower, c.Upper, c.Signals)
	}
	if tr := NewTrend(at, values); tr.Significant() {
		t.Errorf("a trend of one value: %+v", tr)
	}
}

// TestFalseAlarms: with limits from very many values of a stable process, one in 370 lies beyond them (normal
// distribution beyond three standard deviations: 0.27 %).
func TestFalseAlarms(t *testing.T) {
	rng := rand.New(rand.NewPCG(7870, 2))
	values := make([]float64, 200000)
	for i := range values {
		values[i] = 5 + 2*rng.NormFloat64()
	}
	chart := NewChart(values)
	beyond := 0
	for _, s := range chart.beyond() {
		if !s.Range {
			beyond++
		}
	}
	near(t, "share beyond", float64(beyond)/float64(len(values)), 0.0027,
		0.0004) // three standard deviations of the count
	near(t, "sigma", (chart.Upper-chart.Centre)/3, 2, 0.02)
}

// TestTrend is worked by hand: y = 1 + 2x with residuals 1, -2, 1 about it, which
// at 1, 2, 3 leave the line as it is: s^2 = 6 with one degree of freedom, over a spread of 2.
func TestTrend(t *testing.T) {
	trend := NewTrend([]float64{1, 2, 3}, []float64{4, 3, 8})
	near(t, "slope", trend.Slope, 2, 1e-12)
	near(t, "standard uncertainty", trend.Standard, math.Sqrt(3), 1e-12)
	// t = 2/sqrt 3 with one degree of freedom, a Cauchy variable: p = 1 - (2/pi) arctan t.
	near(t, "p", trend.PValue, 1-2/math.Pi*math.Atan(2/math.Sqrt(3)), 1e-9)
	if trend.Significant() {
		t.Error("a slope of 1.2 standard uncertainties is called significant")
	}
	if NewTrend([]float64{1, 2}, []float64{1, 2}) != nil {
		t.Error("a trend of two values")
	}
	if flat := NewTrend([]float64{1, 2, 3}, []float64{4, 4, 4}); flat.Slope != 0 || flat.PValue != 1 {
		t.Errorf("all alike: got %+v", flat)
	}
}
