package tolerance

import (
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// A tally against the values themselves, sorted: quantiles to the width of a cell, mean and deviation to a millionth of
// one; and the same to the bit from the units in another order and in parts.
func TestTally(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	f := Figure{Quantity: Isolation}
	whole, parts, values := f.NewTally(), []*Tally{f.NewTally(), f.NewTally(), f.NewTally()}, make([]float64, 50000)
	for u := range values {
		values[u] = 40 + 6*rng.NormFloat64()
		whole.Add(u, values[u])
	}
	for _, u := range rng.Perm(len(values)) {
		parts[u%3].Add(u, values[u])
	}
	merged := f.NewTally()
	for _, k := range []int{2, 0, 1} {
		merged.Merge(parts[k])
	}
	if !reflect.DeepEqual(merged, whole) {
		t.Error("merged in another order, the parts are not the whole")
	}
	sorted := Distribution{Count: len(values), Sorted: slices.Sorted(slices.Values(values))}
	for _, p := range []float64{0, 0.001, 0.05, 0.5, 0.7, 0.99, 1} {
		if got, want := whole.Quantile(p), sorted.Quantile(p); p > 0.01 && p < 0.99 && math.Abs(got-want) > whole.step ||
			math.Abs(got-want) > 0.3 {
			t.Errorf("quantile %g: %.5f, want %.5f", p, got, want)
		}
	}
	mean, deviation := stat.MeanStdDev(values, nil)
	if math.Abs(whole.Mean()-mean) > 1e-9 || math.Abs(whole.Deviation()-deviation) > 1e-9 {
		t.Errorf("%.9f ± %.9f, want %.9f ± %.9f", whole.Mean(), whole.Deviation(), mean, deviation)
	}
	for n, u := range whole.Worst {
		if u.Value != sorted.Sorted[n] || values[u.Unit] != u.Value {
			t.Errorf("worst unit %d is %v, want %g", n, u, sorted.Sorted[n])
		}
	}
	if len(whole.Worst) != mostWorst {
		t.Errorf("%d worst units, want %d", len(whole.Worst), mostWorst)
	}
}

// The interval of a quantile holds the quantile of the distribution that was drawn from in 95 % of studies; in 400 of
// them, 380 within three standard deviations of 4.4.
func TestIntervalOfQuantile(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	for _, p := range []float64{0.01, 0.5, 0.95} {
		held := 0
		for range 400 {
			values := make([]float64, 2000)
			for k := range values {
				values[k] = rng.Float64()
			}
			slices.Sort(values)
			low, high := Distribution{Count: len(values), Sorted: values}.Interval(p)
			if low <= p && p <= high {
				held++
			}
		}
		if held < 367 || held > 397 {
			t.Errorf("%g: held in %d of 400 studies, want about 380", p, held)
		}
	}
}

// Parts of a study, merged, are the whole to the bit; its worst units are what the stack itself makes of them; and
// beyond Kept units the figures come from tallies.
func TestPartsOfStudy(t *testing.T) {
	s := benchCases[1].study(t, 2*Kept)
	s.Good = func(k int, v float64) bool { return (v > 40) == s.Figures[k].Least() }
	whole := mustRun(t, s)
	var parts []*Outcome
	for _, ends := range [][2]int{{150000, 2 * Kept}, {0, 70001}, {70001, 150000}} {
		p := s
		p.From, p.To = ends[0], ends[1]
		parts = append(parts, mustRun(t, p))
	}
	if _, err := parts[0].Merge(parts[1]); err == nil {
		t.Error("parts that do not lie side by side were merged")
	}
	merged, err := parts[1].Merge(parts[2])
	if err == nil {
		merged, err = parts[0].Merge(merged)
	}
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(merged.Tallies, whole.Tallies) || !reflect.DeepEqual(merged.Values, whole.Values) ||
		!slices.Equal(merged.Good, whole.Good) || merged.AllGood != whole.AllGood || merged.Units != whole.Units {
		t.Error("the parts are not the whole")
	}
	d := whole.Distribution(0)
	if d.Count != 2*Kept || len(d.Sorted) != Kept || d.tally == nil {
		t.Errorf("%d units, %d kept", d.Count, len(d.Sorted))
	}
	for _, u := range whole.Tallies[0].Worst[:3] {
		unit, err := whole.Unit(t.Context(), u.Unit)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Worst(t.Context(), unit, s.Figures[:1])
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got[0]-u.Value) > s.Figures[0].allowed(u.Value) {
			t.Errorf("unit %d is %.4f dB, said to be %.4f", u.Unit, got[0], u.Value)
		}
	}
}

// A study of many units takes the memory of one of as many as are kept: not one allocation for ten thousand units more.
func TestMemoryOfStudies(t *testing.T) {
	allocated := func(n int) (objects, bytes uint64) {
		s := benchCases[1].study(t, n)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		mustRun(t, s)
		runtime.ReadMemStats(&after)
		return after.Mallocs - before.Mallocs, after.TotalAlloc - before.TotalAlloc
	}
	objects, bytes := allocated(Kept)
	moreObjects, moreBytes := allocated(4 * Kept)
	if moreObjects > objects+30 || moreBytes > bytes+2<<20 { // a number for each unit more takes 2.4 MB
		t.Errorf("%d units take %d objects, %d bytes; %d take %d, %d", Kept, objects, bytes, 4*Kept, moreObjects, moreBytes)
	}
}
