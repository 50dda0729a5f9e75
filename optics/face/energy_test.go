package face

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// energy is how far the shares of every face may be from one in all: rounding, grown near grazing
// incidence, where the flux of a unit field goes to zero.
const energy = 1e-12

// lost returns the greatest departure from one of transmitted plus reflected energy, for the modes that
// travel and for any mixture of them: the columns of (T, R) are orthonormal.
func lost(sc *Scattering) float64 {
	worst := 0.0
	var mixed complex128
	for k := range 2 {
		passed, returned := sc.shares(k)
		if sc.In[k].Travels {
			worst = max(worst, math.Abs(passed+returned-1))
		} else {
			worst = max(worst, passed+returned)
		}
		mixed += conj(sc.T[k][0])*sc.T[k][1] + conj(sc.R[k][0])*sc.R[k][1]
	}
	return max(worst, math.Sqrt(abs2(mixed)))
}

// arrives tells whether a wave of the medium has this component along a face.
func arrives(s Side, tangential, normal r3.Vec) bool {
	if s.Crystal == nil {
		return r3.Norm(tangential) < s.Index
	}
	_, o := s.Crystal.Ordinary(tangential, normal)
	_, e := s.Crystal.Extraordinary(tangential, normal)
	return o || e
}

// Energy is kept at every face without loss, 100,000 random ones of each kind, bare, with total reflection
// of neither, one and both waves among them.
func TestEnergyIsKept(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 3))
	for _, kind := range kinds {
		worst, both, one, none, half := 0.0, 0, 0, 0, 0
		for range 100_000 {
			in, out, normal := kind.in(rng), kind.out(rng), direction(rng)
			tangential := tangentUpTo(rng, normal, in.most())
			sc, ok := Scatter(in, nil, out, tangential, normal, wavelength)
			if !ok {
				if arrives(in, tangential, normal) {
					t.Fatalf("%s: no scattering", kind.name)
				}
				continue
			}
			worst = max(worst, lost(&sc))
			switch {
			case sc.Out[0].Travels && sc.Out[1].Travels:
				both++
			case sc.Out[0].Travels || sc.Out[1].Travels:
				one++
			default:
				none++
			}
			if sc.In[0].Travels != sc.In[1].Travels {
				half++
			}
		}
		if worst > energy {
			t.Errorf("%s: energy off by %g, want below %g", kind.name, worst, energy)
		}
		t.Logf("%s: energy off by %.2g; both waves pass %d, one %d, none %d; one arrives %d", kind.name, worst, both,
			one,
			none, half)
		if both == 0 || none == 0 {
			t.Errorf("%s: both waves passed %d times, none %d times: the test has no grip", kind.name, both, none)
		}
	}
}

func TestEnergyIsKeptByLayers(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 5))
	for _, kind := range kinds {
		clear, lossy := 0.0, math.Inf(1)
		for range 10_000 {
			in, out, normal := kind.in(rng), kind.out(rng), direction(rng)
			tangential := tangentUpTo(rng, normal, 0.9*in.most())
			sc, ok := Scatter(in, clearLayers(rng), out, tangential, normal, wavelength)
			if !ok {
				continue // a mode of the near medium only
			}
			clear = max(clear, lost(&sc))
			if sc, ok = Scatter(in, lossyLayers(rng), out, tangential, normal, wavelength); !ok {
				t.Fatalf("%s: layers took the scattering away", kind.name)
			}
			for k := range 2 {
				passed, returned := sc.shares(k)
				lossy = min(lossy, 1-passed-returned)
			}
		}
		// Fields that grow through evanescent layers cost digits.
		if clear > 1e-11 {
			t.Errorf("%s: energy off by %g through clear layers", kind.name, clear)
		}
		if lossy < -energy {
			t.Errorf("%s: absorbing layers gave %g away", kind.name, -lossy)
		}
	}
}

// Close to the optic axis o and e are nearly one wave, and N x axis is mostly rounding: energy must be kept
// at any distance from it, for the wave that arrives and for the one that leaves.
func TestEnergyIsKeptNearTheAxis(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 7))
	worst := 0.0
	for range 100_000 {
		u, normal := randomCrystal(rng), direction(rng)
		c := u.Crystal
		tangential := tangentUpTo(rng, normal, 0.9*min(c.O, c.E))
		o, _ := c.Ordinary(tangential, normal)
		off := math.Pow(10, -17*rng.Float64())
		c.Axis = r3.Unit(r3.Add(r3.Scale(1/c.O, o.N), r3.Scale(off, direction(rng))))
		if rng.IntN(2) == 0 {
			c.Axis = r3.Scale(-1, c.Axis)
		}
		other := randomGlass(rng)
		for _, pair := range [][2]Side{{u, other}, {other, u}, {u, randomCrystal(rng)}} {
			if sc, ok := Scatter(pair[0], nil, pair[1], tangential, normal, wavelength); ok {
				worst = max(worst, lost(&sc))
			}
		}
	}
	if worst > energy {
		t.Errorf("energy off by %g, want below %g", worst, energy)
	}
	t.Logf("energy off by %.2g", worst)
}
