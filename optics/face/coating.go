package face

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// Shares is how an interface between isotropic media divides the energy that falls on it: reflected and
// transmitted shares for s and p polarization, of the power that falls on it, from 0 to 1. What R and T of one
// polarization leave to 1 stays in the layers.
type Shares struct{ RS, RP, TS, TP float64 }

// Reflectance returns the reflected share of unpolarized light.
func (s Shares) Reflectance() float64 { return (s.RS + s.RP) / 2 }

// Coating returns the shares of an interface from a medium of index in to one of index out, with layers between in
// the order in which the light meets them (characteristic matrices: M. Born and E. Wolf, Principles of Optics, 1.6).
// The incidence is the angle to the normal in the first medium in radians, the wavelength that in vacuum in metres.
// It reports false for an incidence of 90 deg or more.
func Coating(
	in float64, layers []Layer, out float64, incidence quantity.Angle, wavelength quantity.Length,
) (Shares, bool) {
	sin, cos := math.Sincos(math.Abs(float64(incidence)))
	if !(cos > 0) {
		return Shares{}, false
	}
	sc, ok := Scatter(Side{Index: in, Group: in}, layers, Side{Index: out, Group: out},
		r3.Vec{X: in * sin}, r3.Vec{Z: 1}, wavelength)
	return Shares{abs2(sc.R[0][0]), abs2(sc.R[1][1]), abs2(sc.T[0][0]), abs2(sc.T[1][1])}, ok
}
