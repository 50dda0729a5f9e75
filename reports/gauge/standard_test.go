package gauge_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"wedgework/reports/gauge"
	"wedgework/reports/uncertainty"
)

// TestStandard: a bench that reads 0.05 dB too high does so within the uncertainty stated in some 95 of 100 studies
// (the interval has 95.45 %), and one that is right is called biased in some 5 %. The line's bias at the end likewise
// for one that drifts.
func TestStandard(t *testing.T) {
	const studies = 4000
	random := rand.New(rand.NewPCG(6, 21))
	covered, false1, ends := 0, 0, 0
	for range studies {
		certificate := 30 + 0.02*random.NormFloat64()
		ref := uncertainty.Estimate{Value: certificate, Standard: 0.02}
		var biased, right, drifting, at []float64
		for i := range 12 {
			biased = append(biased, 30.05+0.03*random.NormFloat64())
			right = append(right, 30+0.03*random.NormFloat64())
			drifting = append(drifting, 30+0.02*float64(i)+0.03*random.NormFloat64())
			at = append(at, float64(i))
		}
		holds := func(e uncertainty.Estimate, truth float64) bool {
			u, _ := e.Expanded()
			return math.Abs(e.Value-truth) <= u
		}
		s := standard(t, biased, nil, ref)
		if holds(s.Bias, 0.05) {
			covered++
		}
		if s := standard(t, right, nil, ref); !holds(s.Bias, 0) {
			false1++
		}
		if s := standard(t, drifting, at, ref); holds(s.Now, 0.22) && s.Drifts() {
			ends++
		}
	}
	for what, share := range map[string]float64{"bias": float64(covered) / studies,
		"no bias": 1 - float64(false1)/studies, "bias at the end of a drift": float64(ends) / studies} {
		if share < 0.94 || share > 0.97 {
			t.Errorf("%s: covered in %.1f %%", what, 100*share)
		}
	}
}

func standard(t *testing.T, values, times []float64, ref uncertainty.Estimate) *gauge.Standard {
	t.Helper()
	s, err := gauge.NewStandard(values, times, ref)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestStandardOrder: times put the values in order, and a drift is per day.
func TestStandardOrder(t *testing.T) {
	s := standard(t, []float64{3, 1.1, 2, 0}, []float64{30, 10, 20, 0}, uncertainty.Estimate{})
	near(t, "slope", s.Drift.Slope, 0.099, 1e-12) // least squares by hand: (-1.5*0 - 0.5*1.1 + 0.5*2 + 1.5*3)/5/10
	near(t, "first value", s.Values[0], 0, 0)
	near(t, "last time", s.Times[3], 30, 0)
}

func TestStandardRefuses(t *testing.T) {
	for _, c := range []struct {
		values, times []float64
		standard      float64
		want          string
	}{{[]float64{1, 2}, nil, 0, "at least 3"}, {[]float64{1, 2, 3}, []float64{1}, 0, "1 times"},
		{[]float64{1, 2, 3}, []float64{1, 1, 1}, 0, "same time"}, {[]float64{1, 2, 3}, nil, -1, "zero or more"}} {
		_, err := gauge.NewStandard(c.values, c.times, uncertainty.Estimate{Standard: c.standard})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got the error %v, want one with %q", err, c.want)
		}
	}
}
