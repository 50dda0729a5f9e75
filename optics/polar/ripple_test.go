package polar

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// The ripple of a delay against delays themselves, of 20,000 draws of phases: to the first order in arrivals of a
// thousandth, of a matrix with a delay of its own and of one without.
func TestDelayRipple(t *testing.T) {
	rng := rand.New(rand.NewPCG(14, 1))
	random := func(size float64) (m Matrix) {
		for r := range m {
			for k := range m[r] {
				m[r][k] = complex(size*rng.NormFloat64(), size*rng.NormFloat64())
			}
		}
		return m
	}
	of := func(w, delay float64) Matrix {
		return Matrix{{cmplx.Rect(1, w*delay/2), 0.02}, {0, cmplx.Rect(0.9, -w*delay/2)}}
	}
	for _, delay := range []float64{0.7e-12, 0} {
		m := of(1.2e15, delay)
		d := Matrix{{m[0][0] * complex(0, delay/2), 0}, {0, m[1][1] * complex(0, -delay/2)}}
		var arrivals [][2]Matrix
		for range 3 {
			g := random(3e-4)
			late := 2e-12 + 5e-12*rng.Float64()
			arrivals = append(arrivals, [2]Matrix{g, g.Scale(complex(0, late))})
		}
		const draws = 20000
		var sum, squares float64
		for range draws {
			with, slope := m, d
			for _, a := range arrivals {
				phase := cmplx.Rect(1, 2*math.Pi*rng.Float64())
				with, slope = with.Add(a[0].Scale(phase)), slope.Add(a[1].Scale(phase))
			}
			slow, fast, ok := Delays(with, slope)
			if !ok {
				t.Fatal("no delays")
			}
			sum += slow - fast
			squares += (slow - fast) * (slow - fast)
		}
		mean := sum / draws
		got := DelayRipple(m, d, arrivals)
		want := squares/draws - mean*mean
		if delay == 0 { // three components make the mean square, of which losses take a part
			if want = squares / draws / 3; got < want || got > 1.6*want {
				t.Errorf("no delay: variance %.3g of a component, drawn %.3g", got, want)
			}
		} else if math.Abs(got-want) > 0.06*want { // 20,000 draws settle a variance to 2 %
			t.Errorf("delay %g: variance %.3g, drawn %.3g", delay, got, want)
		}
	}
}
