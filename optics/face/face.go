// Package face tells how a plane wave is shared out at one plane face: the exact scattering matrix between
// two media, each isotropic or uniaxial with its optic axis in any direction, bare or with a stack of
// isotropic layers between them. It evaluates what it is given; it designs no coating, follows no ray and
// knows nothing of what lies behind the next face.
//
// Method. All waves at a face share the component t of N (wave vector over k0) along it. The tangential
// fields E and H of the incident and reflected waves equal those of the transmitted ones, carried
// through the layers by a characteristic matrix for s and one for p (F. Abeles; M. Born and E. Wolf,
// Principles of Optics, 1.6). The four waves of a medium are orthogonal in the flux n . (E* x H' + E' x
// H*), so projecting on them leaves only a 2x2 matrix to invert (Lorentz's reciprocity theorem; D. W.
// Berreman, J. Opt. Soc. Am. 62, 502 (1972) has the same four-component fields; from memory).
//
// Conventions. Time factor exp(-i w t): an absorbing layer has a positive imaginary part of its index. H is
// in units that make it N x E. The normal points to the side to which the light travels. Modes come in
// the order s, p (isotropic) and o, e (crystal). With c the optic axis and n the normal, the unit fields are
//
//	s: N x n        p: across N and s, (s, p, N) right-handed
//	o: N x c        e: across S and N x c, (o, e, S) right-handed
//
// so that an isotropic medium is a crystal whose axis is the normal, and at normal incidence p points along t
// for the light that travels on and against it for the light that comes back. Where t vanishes s is a
// fixed direction in the face; where N runs along the axis o is a fixed direction across it.
//
// An amplitude a of a mode stands for the electric field a Field at unit flux: T and R take the square
// root of power to the square root of power, and a real, positive element keeps the phase of the field.
// Amplitudes on the near side refer to a point of the first plane, those on the far side to the point of the
// last plane straight opposite it along the normal, so T holds the phase of the way through the layers.
// Between equal media without layers T is the identity and R is nil.
//
// Reciprocity. Turn the light round: media, layers and normal reversed, t reversed in sign. The fields s and
// e stay, p and o change sign, and so T of the reversed face is D T^t C, where T^t is the transpose and C
// and D are diag(1, -1) for an isotropic and diag(-1, 1) for a crystal medium on the far and the near
// side. R for the same face and -t is D R^t D.
package face

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// Side is the medium on one side of a face.
type Side struct {
	Index   float64       // phase index of an isotropic medium
	Group   float64       // its group index; it enters only the Delay of the waves
	Crystal *ray.Uniaxial // nil for an isotropic medium; then the indices above are not read
}

// Mode is one of the two waves that a medium carries to or from a face.
type Mode struct {
	ray.Wave
	Field   r3.Vec // unit electric field
	Travels bool   // false for an evanescent wave, which carries no flux: all else is then zero
}

// Scattering is what a face does to the two waves that can arrive at it.
type Scattering struct {
	// T and R are indexed [outgoing mode][incident mode]. The square modulus is the share of the incident
	// energy flux through the face; it is zero where either mode is evanescent.
	T, R [2][2]complex128

	In   [2]Mode // the waves that arrive
	Out  [2]Mode // those that travel on
	Back [2]Mode // those that come back, in the medium of In
}

// Scatter returns the scattering at a face for all waves whose component of N along the face is
// tangential. The normal is the face's unit normal on the side to which the light travels; layers are
// listed in the order in which the light meets them; the wavelength is that in vacuum.
//
// It reports false where there is nothing to tell: neither wave of the near medium travels; or the two
// evanescent waves of the far medium have become one, as they do to 1e-8 about an isolated t of a crystal whose
// axis lies in the face. It takes the numbers as they are: see Check for those of a layer.
func Scatter(
	in Side, layers []Layer, out Side, tangential, normal r3.Vec, wavelength quantity.Length,
) (Scattering, bool) {
	var sc Scattering
	var f frame
	f.set(tangential, normal)
	var arriving, returning, leaving [2]tangent
	f.waves(&in, false, &sc.In, &arriving)
	if !sc.In[0].Travels && !sc.In[1].Travels {
		return sc, false
	}
	f.waves(&in, true, &sc.Back, &returning)
	f.waves(&out, false, &sc.Out, &leaving)

	if !sc.Out[0].Travels && !sc.Out[1].Travels && alike(&leaving[0], &leaving[1]) {
		return sc, false
	}
	damping := 0.0
	if len(layers) > 0 {
		damping = f.through(layers, float64(wavelength), &leaving)
	}

	// k takes the amplitudes that leave to those that arrive, and b to those that return.
	var k, b [2][2]complex128
	for i := range 2 {
		for j := range 2 {
			b[i][j] = -product(&returning[i], &leaving[j])
			// An evanescent wave has no flux of its own, only together with its partner that grows the other
			// way. No source feeds it, so its row says that its amplitude is nil.
			k[i][j] = -b[i][j]
			if sc.In[i].Travels {
				k[i][j] = product(&arriving[i], &leaving[j])
			}
		}
	}
	det := k[0][0]*k[1][1] - k[0][1]*k[1][0]
	if det == 0 {
		return sc, false
	}
	inv := 1 / det
	t := [2][2]complex128{{k[1][1] * inv, -k[0][1] * inv}, {-k[1][0] * inv, k[0][0] * inv}}
	shrink := complex(1, 0)
	if damping > 0 {
		shrink = complex(math.Exp(-damping), 0)
	}
	for j := range 2 {
		if !sc.In[j].Travels {
			continue
		}
		for i := range 2 {
			if sc.Out[i].Travels {
				sc.T[i][j] = t[i][j] * shrink
			}
			if sc.Back[i].Travels {
				sc.R[i][j] = b[i][0]*t[0][j] + b[i][1]*t[1][j]
			}
		}
	}
	return sc, true
}
