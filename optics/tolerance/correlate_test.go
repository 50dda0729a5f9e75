package tolerance

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
)

// angles are two tolerances of a stage whose leakage depends on the sum of both.
var angles = [2]string{"rotator1.angle", "wedge2.axis"}

// The sum of two correlated normal variables is normal, with the variance s^2 + t^2 + 2 r s t: so much of the units
// leak no more than at one error of the angle as the error function says.
func TestCorrelatedYield(t *testing.T) {
	s := core(t)
	const sigma, tau, off = 0.3, 0.4, 0.5 // deg
	edge, err := s.Adjusted(map[string]quantity.Quantity{angles[0]: deg(45 + off)})
	if err != nil {
		t.Fatal(err)
	}
	limit, err := Worst(t.Context(), edge, []Figure{point(Isolation)})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []float64{-0.8, 0, 0.6, 1} {
		const n = 40000
		o := mustRun(t, Study{Stack: s, Figures: []Figure{point(Isolation)}, Trials: n, Seed: 3,
			Tolerances: map[string]Tolerance{angles[0]: {Shape: Normal, Value: deg(sigma)},
				angles[1]: {Shape: Normal, Value: deg(tau)}},
			Correlations: []Correlation{{angles, r}},
			Good:         func(_ int, v float64) bool { return v >= limit[0] }})
		want := math.Erf(off / math.Sqrt(2*(sigma*sigma+tau*tau+2*r*sigma*tau)))
		// The null lies a little off 45 deg, and the leakage is a sine: 1e-3 of the units.
		got, may := float64(o.Good[0])/n, 4*math.Sqrt(want*(1-want)/n)+1e-3
		if math.Abs(got-want) > may {
			t.Errorf("correlated by %g: %.4f of the units are good, want %.4f within %.4f", r, got, want, may)
		}
	}
}

// Three standard normal variables, of normal and other tolerances, are correlated as they were told; each keeps its own
// distribution, and one that follows from another is the same.
func TestCorrelatedDraws(t *testing.T) {
	s := core(t)
	const n = 50000
	paths := []string{"wedge1.apex", "wedge1.axis", "wedge2.apex", "wedge2.axis"}
	study := Study{Stack: s, Figures: []Figure{point(InsertionLoss)}, Trials: n, Seed: 5, Tolerances: map[string]Tolerance{
		paths[0]: {Shape: Normal, Value: deg(0.1)}, paths[1]: {Shape: Uniform, Value: deg(0.2)},
		paths[2]: {Shape: Normal, Value: deg(0.3)}, paths[3]: {Shape: Uniform, Value: deg(0.4)}},
		Correlations: []Correlation{{[2]string{paths[2], paths[0]}, 0.7}, {[2]string{paths[1], paths[0]}, -0.4},
			{[2]string{paths[1], paths[2]}, 0.2}, {[2]string{paths[1], paths[3]}, -1},
			{[2]string{paths[0], paths[3]}, 0.4}, {[2]string{paths[2], paths[3]}, -0.2}}}
	w, err := study.begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	index := map[string]int{}
	for j, path := range w.sample.Paths() {
		index[path] = j
	}
	score := func(unit int, path string) float64 {
		j := index[path]
		x := w.departure(unit, j) / w.sample.By[j].Value.SI()
		if w.sample.By[j].Shape == Uniform {
			return Score((x + 1) / 2)
		}
		return x
	}
	for i, a := range paths {
		for k, b := range paths[:i+1] {
			want := 1.0
			for _, c := range study.Correlations {
				if c.Paths == [2]string{a, b} || c.Paths == [2]string{b, a} {
					want = c.Value
				}
			}
			sum := 0.0
			for u := range n {
				x, y := score(u, a), score(u, b)
				sum += x * y
				if want == -1 && k < i && math.Abs(x+y) > 1e-9 {
					t.Fatalf("unit %d: %s is %g and %s is %g, want the opposite", u, a, x, b, y)
				}
			}
			// The variance of a product of normal variables is 1 + r^2.
			if got, may := sum/n, 4*math.Sqrt((1+want*want)/n); math.Abs(got-want) > may {
				t.Errorf("%s and %s are correlated by %.4f, want %.4f within %.4f", a, b, got, want, may)
			}
		}
	}
}

// What cannot be correlated is refused.
func TestCorrelationsRefused(t *testing.T) {
	tolerances := map[string]Tolerance{"wedge1.apex": {Shape: Normal, Value: deg(0.1)},
		"wedge1.axis": {Shape: Normal, Value: deg(0.1)}, "wedge2.apex": {Shape: Normal, Value: deg(0.1)}}
	one := func(a, b string, r float64) Correlation { return Correlation{[2]string{a, b}, r} }
	for want, all := range map[string][]Correlation{
		"has no tolerance above zero": {one("wedge1.apex", "wedge2.axis", 0.5)},
		"with itself":                 {one("wedge1.apex", "wedge1.apex", 1)},
		"is given twice":              {one("wedge1.apex", "wedge1.axis", 0.5), one("wedge1.axis", "wedge1.apex", 0.5)},
		"is not from -1 to 1":         {one("wedge1.apex", "wedge1.axis", math.NaN())},
		"cannot all hold": {one("wedge1.apex", "wedge1.axis", 0.9), one("wedge1.axis", "wedge2.apex", 0.9),
			one("wedge1.apex", "wedge2.apex", -0.9)},
	} {
		s := Study{Stack: core(t), Figures: []Figure{point(Isolation)}, Trials: 10, Tolerances: tolerances,
			Correlations: all}
		if _, err := s.Run(t.Context()); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: got %v, want an error with %q", all, err, want)
		}
	}
	s := Study{Stack: core(t), Figures: []Figure{point(Isolation)}, Tolerances: tolerances,
		Correlations: []Correlation{one("wedge1.apex", "wedge1.axis", 0.5)}}
	if _, err := s.Effects(t.Context(), 10); err == nil {
		t.Error("effects of tolerances that are not independent were not refused")
	}
}
