package gauge_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"wedgework/optics/published"
	"wedgework/reports/gauge"
)

// readings reads part, operator, trial, value.
func readings(t *testing.T, name string) []gauge.Reading {
	t.Helper()
	var all []gauge.Reading
	for _, row := range published.Rows(t, name) {
		all = append(all, gauge.Reading{Part: row[0], Conditions: []string{row[1]}, Value: published.Number(t, row[3])})
	}
	return all
}

func study(t *testing.T, rs []gauge.Reading, d gauge.Design) *gauge.Study {
	t.Helper()
	s, err := gauge.New(rs, d)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// near compares a number with one printed to so many digits.
func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %.9g, want %.9g", what, got, want)
	}
}

var operators = gauge.Design{Conditions: []string{"operator"}, Pool: 0.05}

// TestHoufBerman: data of Houf and Berman, IEEE Trans. Components, Hybrids, Manuf. Technol. 11, 516 (1988); estimators
// of the SAS/STAT documentation (VARCOMP, "Gauge Repeatability and Reproducibility Analysis"); the figures were worked
// out from these with numpy and scipy.
func TestHoufBerman(t *testing.T) {
	s := study(t, readings(t, "gauge_houf1988.csv"), operators)
	for i, want := range [][]float64{
		{3935.955556, 9, 437.328395, 162.270270, 0}, {39.266667, 2, 19.633333, 7.284929, 0.004810},
		{48.511111, 18, 2.695062, 5.272947, 5.06e-7}, {30.666667, 60, 0.511111}} {
		src := s.Sources[i]
		near(t, src.Name+" sum of squares", src.Squares, want[0], 1e-6)
		near(t, src.Name+" degrees of freedom", src.DOF, want[1], 0)
		near(t, src.Name+" mean square", src.Mean, want[2], 1e-6)
		if len(want) > 3 {
			near(t, src.Name+" F", src.F, want[3], 1e-6)
			near(t, src.Name+" p", src.PValue, want[4], 5e-7)
		}
	}
	near(t, "mean", s.Mean, 35.8, 1e-12)
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"repeatability", s.Repeatability.Variance, 0.511111}, {"part × operator", s.Components[2].Variance, 0.727984},
		{"operator", s.Components[1].Variance, 0.564609}, {"parts", s.Between.Variance, 48.292593},
		{"bench", s.Total.Variance, 1.803704}, {"bench, deviation", s.Total.Deviation(), 1.343020},
		{"all", s.Variance(), 50.096296}, {"study variation", 100 * s.StudyVariation(s.Total), 18.974913},
		{"repeatability %", 100 * s.StudyVariation(s.Repeatability), 10.100779},
		{"reproducibility %", 100 * s.StudyVariation(s.Reproducibility), 16.063050},
		{"parts %", 100 * s.StudyVariation(s.Between), 98.183261},
		{"contribution", 100 * s.Contribution(s.Total), 3.600473},
		{"tolerance", 100 * s.Against(18, 58).Ratio, 20.145305},
	} {
		near(t, c.what, c.got, c.want, 1e-6)
	}
	near(t, "categories", s.Categories(), 7.3177, 2e-4)
	if fit := s.Against(18, 58).Fit; fit != gauge.Marginal {
		t.Errorf("20 %% of the tolerance is %s", fit)
	}
	// Satterthwaite for the total of three mean squares: V = (MS_O + (p-1) MS_PO)/(p r) + (1 - 1/r) MS_E, by hand.
	o, po, e := 19.633333/30, 2.695062*9/30, 0.511111*2/3
	near(t, "degrees of freedom of the bench", s.Total.DOF, math.Pow(o+po+e, 2)/(o*o/2+po*po/18+e*e/60), 1e-4)
}

// TestAIAG: published are the sums of squares, the pooled components 0.0400, 0.0515, 1.086, 0.0914, 1.1774 and 4
// categories (AIAG, Measurement Systems Analysis, 4th edition; McNeese 2015); further digits by numpy.
func TestAIAG(t *testing.T) {
	s := study(t, readings(t, "gauge_aiag.csv"), operators)
	if !s.Sources[2].Pooled {
		t.Fatal("the interaction, with p = 0.97, is not pooled")
	}
	near(t, "part", s.Sources[0].Squares, 88.362, 5e-4)
	near(t, "operator", s.Sources[1].Squares, 3.167, 5e-4)
	near(t, "pooled error", s.Sources[2].Squares+s.Sources[3].Squares, 3.118, 5e-4)
	near(t, "interaction p", s.Sources[2].PValue, 0.9741, 5e-5)
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"repeatability", s.Repeatability.Variance, 0.0399733}, {"reproducibility", s.Reproducibility.Variance, 0.0514553},
		{"parts", s.Between.Variance, 1.0864466}, {"bench, deviation", s.Total.Deviation(), 0.302372},
		{"total", math.Sqrt(s.Variance()), 1.085300},
	} {
		near(t, c.what, c.got, c.want, 1e-6)
	}
	near(t, "published repeatability", s.Repeatability.Variance, 0.0400, 5e-5)
	near(t, "published reproducibility", s.Reproducibility.Variance, 0.0515, 5e-5)
	near(t, "published bench", s.Total.Variance, 0.0914, 5e-5)
	near(t, "published parts", s.Between.Variance, 1.086, 5e-4)
	near(t, "published total", s.Variance(), 1.1774, 1e-3)
	near(t, "study variation", 100*s.StudyVariation(s.Total), 27.861, 5e-4)
	near(t, "categories", s.Categories(), 4.875, 5e-4)
	near(t, "degrees of freedom", s.Repeatability.DOF, 78, 1e-9)
	// Not pooled, with the negative interaction set to zero, the bench is 28.752 % of the study.
	kept := operators
	kept.Pool = 1
	s = study(t, readings(t, "gauge_aiag.csv"), kept)
	near(t, "interaction, raw", s.Components[2].Raw, -0.008680, 5e-7)
	near(t, "study variation, not pooled", 100*s.StudyVariation(s.Total), 28.752, 5e-4)
}

// TestSmallSet: printed output of SixSigma for R (ss.rr).
func TestSmallSet(t *testing.T) {
	s := study(t, readings(t, "gauge_helicopter3x3x3.csv"), operators)
	for i, want := range []float64{1.2007, 0.0529, 0.0834, 0.3854} {
		near(t, s.Sources[i].Name, s.Sources[i].Squares, want, 5e-5)
	}
	near(t, "interaction p", s.Sources[2].PValue, 0.44619, 5e-6)
	near(t, "repeatability", s.Repeatability.Variance, 0.0213087542, 1e-10)
	near(t, "operator", s.Reproducibility.Variance, 0.0005735129, 1e-10)
	near(t, "parts", s.Between.Variance, 0.0643389450, 1e-10)
	near(t, "bench", s.Total.Variance, 0.0218822671, 1e-10)
	near(t, "total", s.Variance(), 0.0862212121, 1e-10)
	near(t, "tolerance", 100*s.Against(0.7, 1.8).Ratio, 80.69, 5e-3)
	if fit := s.Against(0.7, 1.8).Fit; fit != gauge.Coarse {
		t.Errorf("81 %% of the tolerance is %s", fit)
	}
}

// TestFourStrata: parts, operators, fixtures, their interactions, reconnections and repeats, with known variances. The
// mean of the estimates over many studies is the variance (they are unbiased while none is set to zero), within four
// standard errors.
func TestFourStrata(t *testing.T) {
	sd := map[string]float64{"part": 3, "operator": 1, "fixture": 1.5, "part × operator": 1, "part × fixture": 0.8,
		"operator × fixture": 0.7, "part × operator × fixture": 0.6, "reconnection": 0.5, "repeatability": 0.3}
	d := gauge.Design{Conditions: []string{"operator", "fixture"}, Reconnected: true, Pool: 1}
	random := rand.New(rand.NewPCG(21, 6))
	sum, squares, n := map[string]float64{}, map[string]float64{}, 1500
	for range n {
		s := study(t, simulated(random, sd), d)
		for _, c := range s.Components {
			sum[c.Name] += c.Raw
			squares[c.Name] += c.Raw * c.Raw
		}
	}
	if len(sum) != len(sd) {
		t.Fatalf("%d components, want %d", len(sum), len(sd))
	}
	for name, s := range sd {
		mean := sum[name] / float64(n)
		error := math.Sqrt((squares[name]/float64(n) - mean*mean) / float64(n))
		if math.Abs(mean-s*s) > 4*error {
			t.Errorf("%s: the mean of the estimates is %.4f ± %.4f, planted was %.4f", name, mean, error, s*s)
		}
	}
}

// simulated draws a study of 5 parts, 3 operators, 3 fixtures, 2 reconnections and 2 repeats.
func simulated(random *rand.Rand, sd map[string]float64) []gauge.Reading {
	effects := map[string]float64{}
	effect := func(name string, levels ...int) float64 {
		key := fmt.Sprint(name, levels)
		if _, ok := effects[key]; !ok {
			effects[key] = sd[name] * random.NormFloat64()
		}
		return effects[key]
	}
	var all []gauge.Reading
	for p := range 5 {
		for o := range 3 {
			for f := range 3 {
				for c := range 2 {
					for r := range 2 {
						v := effect("part", p) + effect("operator", o) + effect("fixture", f) +
							effect("part × operator", p, o) + effect("part × fixture", p, f) +
							effect("operator × fixture", o, f) + effect("part × operator × fixture", p, o, f) +
							effect("reconnection", p, o, f, c) + effect("repeatability", p, o, f, c, r)
						all = append(all, gauge.Reading{Part: fmt.Sprint(p), Conditions: []string{fmt.Sprint(o),
							fmt.Sprint(f)}, Connection: fmt.Sprint(c), Value: v})
					}
				}
			}
		}
	}
	return all
}

// TestDecomposition: the sums of squares of all sources add up to that of the readings about their mean, and neither
// the order of the readings nor a constant changes anything.
func TestDecomposition(t *testing.T) {
	sd := map[string]float64{"part": 3, "operator": 1, "part × fixture": 0.8, "reconnection": 0.5, "repeatability": 0.3}
	random := rand.New(rand.NewPCG(3, 1))
	rs := simulated(random, sd)
	d := gauge.Design{Conditions: []string{"operator", "fixture"}, Reconnected: true, Pool: 0.05}
	s := study(t, rs, d)
	total, parts := 0.0, 0.0
	for _, r := range rs {
		total += (r.Value - s.Mean) * (r.Value - s.Mean)
	}
	for _, src := range s.Sources {
		parts += src.Squares
	}
	near(t, "sum of the sums of squares", parts, total, 1e-9*total)
	random.Shuffle(len(rs), func(i, j int) { rs[i], rs[j] = rs[j], rs[i] })
	for i := range rs {
		rs[i].Value += 1000
	}
	again := study(t, rs, d)
	near(t, "bench, of shuffled and shifted readings", again.Total.Variance, s.Total.Variance, 1e-8)
}

func TestNewRefuses(t *testing.T) {
	whole := readings(t, "gauge_aiag.csv")
	cut := func(n int) []gauge.Reading { return append([]gauge.Reading{}, whole[:n]...) }
	oneEach := []gauge.Reading{}
	for i, r := range whole {
		if i%3 == 0 {
			oneEach = append(oneEach, r)
		}
	}
	bad := cut(90)
	bad[7].Value = math.Inf(1)
	for _, c := range []struct {
		rs   []gauge.Reading
		d    gauge.Design
		want string
	}{
		{nil, operators, "no readings"},
		{cut(89), operators, "part 10, operator C has 2 readings, others 3"},
		{cut(87), operators, "29 of 30 combinations"},
		{cut(9), operators, "one part only, 1"},
		{oneEach, operators, "was read once"},
		{bad, operators, "reading 8 (part 1) is not a finite number"},
		{whole, gauge.Design{Pool: 0.05}, "has 1 conditions, expected 0"},
		{whole, gauge.Design{Conditions: []string{"a", "b", "c", "d"}}, "crosses at most 3"},
		{whole, gauge.Design{Conditions: []string{"operator"}, Pool: 2}, "expected 0 to 1"},
	} {
		if _, err := gauge.New(c.rs, c.d); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got the error %v, want one with %q", err, c.want)
		}
	}
}

// TestAmplitude: 30 dB is an amplitude of 10^-1.5; a deviation of 1 % of it is 20 log10(1.01) = 0.0864 dB, to first
// order 0.08686 dB.
func TestAmplitude(t *testing.T) {
	near(t, "30 dB", gauge.Amplitude(30), math.Pow(10, -1.5), 1e-15)
	near(t, "back", gauge.Level(gauge.Amplitude(37.3)), 37.3, 1e-12)
	near(t, "1 %", gauge.PerLevel(0.01*gauge.Amplitude(30), 30), 0.08685889638, 1e-10)
}
