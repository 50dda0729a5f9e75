package tolerance

import (
	"math"
	"runtime"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/program"
)

// The first numbers of SplitMix64 from the seed 1234567 (Rosetta Code, "Pseudo-random numbers/Splitmix64", from
// memory).
func TestSplitMix(t *testing.T) {
	want := []uint64{6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431,
		16408922859458223821}
	for n, w := range want {
		if got := splitMix(1234567 + uint64(n)*gamma); got != w {
			t.Errorf("number %d is %d, want %d", n, got, w)
		}
	}
}

// Numbers are even over 100 cells of 200,000 draws, those of two parameters and of two seeds, and of a unit and the
// next, do not hang together: chi-squared and correlations within 4 standard deviations.
func TestStreamIsRandom(t *testing.T) {
	const n, cells = 200000, 100
	s, other := NewStream(7, 3), NewStream(8, 1)
	a, b, c, d := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	count := make([]float64, cells)
	for i := range n {
		a[i], b[i], c[i], d[i] = s.At(i, 0), s.At(i, 1), other.At(i, 0), s.At(i+1, 0)
		count[int(a[i]*cells)]++
	}
	chi := 0.0
	for _, k := range count {
		chi += (k - n/cells) * (k - n/cells) / (n / cells)
	}
	if limit := (distuv.ChiSquared{K: cells - 1}).Quantile(1 - 6e-5); chi > limit {
		t.Errorf("chi-squared %.1f of %d cells, at most %.1f", chi, cells, limit)
	}
	for name, x := range map[string][]float64{"parameters": b, "seeds": c, "units": d} {
		if r := stat.Correlation(a, x, nil); math.Abs(r) > 4/math.Sqrt(n) {
			t.Errorf("%s are correlated by %.4f", name, r)
		}
	}
}

// A study has the same values to the bit on any number of processors, and a larger one begins with them.
func TestStudyDoesNotKnowItsProcessors(t *testing.T) {
	run := func(processors, n int) *Outcome {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
		return mustRun(t, benchCases[4].study(t, n))
	}
	want := run(1, 1000)
	for _, c := range [][2]int{{2, 1000}, {3, 1000}, {2, 2001}, {2, program.Width}, {2, program.Width + 1}} {
		got := run(c[0], c[1])
		for k := range want.Values {
			if n := min(c[1], 1000); len(got.Values[k]) != c[1] || !slices.Equal(got.Values[k][:n], want.Values[k][:n]) {
				t.Errorf("%d processors, %d units: figure %d differs", c[0], c[1], k)
			}
		}
	}
}
