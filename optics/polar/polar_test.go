package polar

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// rotation turns +x towards +y by theta.
func rotation(theta float64) Matrix {
	s, c := math.Sincos(theta)
	return Matrix{{complex(c, 0), complex(-s, 0)}, {complex(s, 0), complex(c, 0)}}
}

func randomMatrix(rng *rand.Rand) Matrix {
	var m Matrix
	for i := range 2 {
		for j := range 2 {
			m[i][j] = complex(rng.NormFloat64(), rng.NormFloat64())
		}
	}
	return m
}

// The greatest and least transmission against a search over launch states.
func TestExtremesBoundEveryState(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for range 50 {
		var h Gram
		ms := []Matrix{randomMatrix(rng), randomMatrix(rng)}
		for _, m := range ms {
			h.Add(m)
		}
		t1, t2 := h.Extremes()
		most, least := 0.0, math.Inf(1)
		for range 20_000 {
			theta, phi := math.Acos(2*rng.Float64()-1)/2, 2*math.Pi*rng.Float64()
			x, y := complex(math.Cos(theta), 0), cmplx.Rect(math.Sin(theta), phi)
			power := 0.0
			for _, m := range ms {
				power += abs2(m[0][0]*x+m[0][1]*y) + abs2(m[1][0]*x+m[1][1]*y)
			}
			most, least = max(most, power), min(least, power)
		}
		// 0.5 %: how near 20,000 random states come to the extreme ones.
		if most > t1*(1+1e-12) || most < t1*0.995 || least < t2*(1-1e-12) || least-t2 > 0.005*t1 {
			t.Errorf("extremes %g %g, found %g %g", t1, t2, most, least)
		}
	}
}

// PDL by the four-state method of formulas in IEC 61300-3-2 (Mueller): for T = 0.90, 0.85, 0.88, 0.876 at 0,
// 90, 45 deg and circular it is 0.253349 dB, worked out from m11 = (T1+T2)/2, m12 = (T1-T2)/2, m13 = T3 -
// m11, m14 = T4 - m11. Here the same powers come out of a Gram matrix.
func TestPDLAgreesWithFourStates(t *testing.T) {
	const t1, t2, t3, t4 = 0.90, 0.85, 0.88, 0.876
	m11 := (t1 + t2) / 2
	// u^dagger H u for 45 deg is m11 + Re XY, for (1, i)/sqrt2 it is m11 - Im XY.
	h := Gram{XX: t1, YY: t2, XY: complex(t3-m11, -(t4 - m11))}
	hi, lo := h.Extremes()
	if got := 10 * math.Log10(hi/lo); math.Abs(got-0.253349) > 1e-6 {
		t.Errorf("PDL %.6f dB, want 0.253349", got)
	}
}

// A retarder whose retardance is w times a delay, between any two unitary matrices that do not change with
// frequency, has that delay as its DGD.
func TestDelaysOfARetarder(t *testing.T) {
	const tau, omega = 0.7e-12, 1.2e15
	plate := func(w float64) Matrix {
		return Matrix{{cmplx.Exp(complex(0, w*tau/2)), 0}, {0, cmplx.Exp(complex(0, -w*tau/2))}}
	}
	a, b := rotation(0.3), rotation(-1.1)
	m := a.Mul(plate(omega)).Mul(b)
	d := a.Mul(Matrix{{1i * tau / 2 * plate(omega)[0][0], 0}, {0, -1i * tau / 2 * plate(omega)[1][1]}}).Mul(b)
	slow, fast, ok := Delays(m, d)
	if !ok || math.Abs(slow-fast-tau) > 1e-9*tau {
		t.Errorf("delays %g and %g, want %g apart", slow, fast, tau)
	}
	if _, _, ok := Delays(Matrix{{1, 0}, {0, 0}}, d); ok {
		t.Error("a polarizer has no inverse, yet delays were found")
	}
}

func TestLeastTransmissionKeepsItsDigits(t *testing.T) {
	var h Gram
	h.Add(Matrix{{1, 0}, {0, 1e-6}})
	if _, t2 := h.Extremes(); math.Abs(t2-1e-12) > 1e-24 {
		t.Errorf("least transmission %g, want 1e-12", t2)
	}
}

// A polarization that is lost altogether: rounding is told neither as a polarization-dependent loss nor as a delay, in
// whatever frame; one that is only faint keeps its own.
func TestLostPolarization(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	turn := func(a float64) Matrix {
		return Matrix{{complex(math.Cos(a), 0), complex(-math.Sin(a), 0)}, {complex(math.Sin(a), 0),
			complex(math.Cos(a), 0)}}
	}
	for range 1000 {
		into, out, phase := turn(rng.Float64()*7), turn(rng.Float64()*7), cmplx.Rect(1, rng.Float64()*7)
		for _, c := range []struct {
			amplitude float64
			lost      bool // beyond what H can tell, and M
		}{{0, true}, {1e-5, false}} {
			m := into.Mul(Matrix{{phase, 0}, {0, complex(c.amplitude, 0)}}).Mul(out)
			d := into.Mul(Matrix{{phase * 3i, 0}, {0, complex(0, c.amplitude)}}).Mul(out)
			var h Gram
			h.Add(m)
			_, t2 := h.Extremes()
			slow, fast, ok := Delays(m, d)
			if c.lost != (t2 == 0) || c.lost == ok {
				t.Fatalf("amplitude %g: t2 %g, delays %t", c.amplitude, t2, ok)
			}
			if ok && (math.Abs(slow-fast-2) > 1e-9 || math.Abs(t2/1e-10-1) > 1e-4) {
				t.Fatalf("amplitude %g: t2 %g, delays %g and %g apart, want 1e-10 and 2", c.amplitude, t2, slow, fast)
			}
		}
	}
}
