package face

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// wavelength of all tests in which it matters only through the layers' phases.
const wavelength quantity.Length = 1550e-9

var air = Side{Index: 1, Group: 1}

func glass(n float64) Side { return Side{Index: n, Group: n} }

func crystal(o, e float64, axis r3.Vec) Side {
	return Side{Crystal: &ray.Uniaxial{O: o, E: e, GroupO: o, GroupE: e, Axis: r3.Unit(axis)}}
}

// yvo4 has the indices no 1.9447, ne 2.1486 at 1550 nm of the reference tables.
func yvo4(axis r3.Vec) Side { return crystal(1.9447, 2.1486, axis) }

func direction(rng *rand.Rand) r3.Vec {
	for {
		v := r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		if n := r3.Norm(v); n > 0.1 {
			return r3.Scale(1/n, v)
		}
	}
}

func randomCrystal(rng *rand.Rand) Side {
	return crystal(1.3+rng.Float64(), 1.3+rng.Float64(), direction(rng))
}

func randomGlass(rng *rand.Rand) Side { return glass(1 + 1.5*rng.Float64()) }

// tangentUpTo returns a random component along the face, of size up to most.
func tangentUpTo(rng *rand.Rand, normal r3.Vec, most float64) r3.Vec {
	for {
		if t := r3.Cross(direction(rng), normal); r3.Norm(t) > 0.01 {
			return r3.Scale(most*rng.Float64(), r3.Unit(t))
		}
	}
}

// most is the greatest component along a face that a wave of the medium can have.
func (s Side) most() float64 {
	if s.Crystal != nil {
		return max(s.Crystal.O, s.Crystal.E)
	}
	return s.Index
}

// kinds are the combinations of media that tests run through.
var kinds = []struct {
	name    string
	in, out func(*rand.Rand) Side
}{
	{"glass to glass", randomGlass, randomGlass},
	{"glass to crystal", randomGlass, randomCrystal},
	{"crystal to glass", randomCrystal, randomGlass},
	{"crystal to crystal", randomCrystal, randomCrystal},
}

// clearLayers returns up to four layers without loss.
func clearLayers(rng *rand.Rand) []Layer {
	layers := make([]Layer, rng.IntN(5))
	for i := range layers {
		layers[i] = Layer{complex(1+1.5*rng.Float64(), 0), quantity.Length(rng.Float64()) * wavelength}
	}
	return layers
}

// lossyLayers is clearLayers with absorption.
func lossyLayers(rng *rand.Rand) []Layer {
	layers := clearLayers(rng)
	for i := range layers {
		layers[i].Index += complex(0, 0.3*rng.Float64())
	}
	return layers
}

// shares returns the transmitted and the reflected share for incident mode k.
func (sc *Scattering) shares(k int) (passed, returned float64) {
	for i := range 2 {
		passed += abs2(sc.T[i][k])
		returned += abs2(sc.R[i][k])
	}
	return passed, returned
}

// amplitude returns the electric field that unit flux of a mode stands for.
func (m *Mode) amplitude(normal r3.Vec) r3.Vec {
	flux := r3.Dot(normal, r3.Cross(m.Field, r3.Cross(m.N, m.Field)))
	return r3.Scale(1/math.Sqrt(math.Abs(flux)), m.Field)
}
