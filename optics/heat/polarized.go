package heat

import "math"

// Rotator is what a warmed Faraday rotator does to polarization.
type Rotator struct {
	Rotation float64 // of the beam's mean, rad
	Spread   float64 // change of the rotation where the rise is less by one Scale, rad

	// Phase is the retardance p of thermal stress, rad: Phase h(u) is that between the principal axes at u, with
	// h(u) = (u - 1 + exp(-u))/u; see Phase. Shear is 2 p44/(p11 - p12), which makes it dependent on the cut.
	Phase, Shear float64
	// Azimuth is that of the light halfway through the part, from a crystal axis, in a part cut along [001], rad.
	Azimuth float64
}

// Phase returns p = (L/l) (share absorbed per length) Q/k P: the retardance of thermal stress in a long rod in plane
// strain, for a beam of power watts at a vacuum wavelength. absorption is in 1/m; the thermo-optic constant
// Q = alpha_T n^3/4 (1+nu)/(1-nu) (p11 - p12), in 1/K, is taken by its magnitude; the conductivity is in W/(m K). What
// is absorbed over the length counts, so that a long rod of strong absorption is not made to absorb more than there is.
func Phase(power, absorption, length, wavelength, q, conductivity float64) float64 {
	return Absorbed(absorption, length) * power * math.Abs(q) / (conductivity * wavelength)
}

// Along111 returns the rotator as cut along [111], where the stress acts alike in all directions: (1 + 2 Shear)/3 of
// Phase, and no shear of its own.
func (r Rotator) Along111() Rotator {
	r.Phase, r.Shear, r.Azimuth = r.Phase*(1+2*r.Shear)/3, 1, 0
	return r
}

// around is the number of points of the quadrature over the azimuth (a choice: the integrand has a few harmonics).
const around = 32

// Crossed returns the share of the power of linear light that leaves polarized across the mean rotation, behind an
// analyser of any aperture: each ray's state turns by its retardance and rotation at once, exactly, and the shares are
// averaged over the beam.
//
// For a small p and a rotation by a = Rotation it is A1 p^2/8 (sin a/a)^2 (1 + (Shear^2 - 1) cos^2 2 Azimuth), with
// A1 = 1 - 6 ln 2 + 3 ln 3 = 0.13695: for 45 deg A1 p^2/pi^2 at best.
func (r Rotator) Crossed() float64 {
	u, share := ringed()
	mean := math.Ln2 // of Ein over a Gaussian beam
	start := 2*r.Azimuth - r.Rotation
	s0 := [3]float64{math.Cos(start), math.Sin(start), 0}
	ideal := [3]float64{math.Cos(start + 2*r.Rotation), math.Sin(start + 2*r.Rotation), 0}
	sum := 0.0
	for i := range u {
		retardance := r.Phase * profile(u[i])
		turn := 2 * (r.Rotation - r.Spread*(Ein(u[i])-mean))
		for k := range around {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / around)
			s := turned(s0, [3]float64{retardance * cos, r.Shear * retardance * sin, turn})
			sum += share[i] / around * (1 - s[0]*ideal[0] - s[1]*ideal[1] - s[2]*ideal[2]) / 2
		}
	}
	return sum
}

// profile is h(u), which for a small u is u/2 - u^2/6.
func profile(u float64) float64 {
	if u < 1e-4 {
		return u/2 - u*u/6
	}
	return (u - 1 + math.Exp(-u)) / u
}

// turned turns a state on the sphere by the length of b, about b.
func turned(s, b [3]float64) [3]float64 {
	angle := math.Sqrt(b[0]*b[0] + b[1]*b[1] + b[2]*b[2])
	if angle == 0 {
		return s
	}
	n := [3]float64{b[0] / angle, b[1] / angle, b[2] / angle}
	sin, cos := math.Sincos(angle)
	along := (n[0]*s[0] + n[1]*s[1] + n[2]*s[2]) * (1 - cos)
	return [3]float64{
		s[0]*cos + (n[1]*s[2]-n[2]*s[1])*sin + n[0]*along,
		s[1]*cos + (n[2]*s[0]-n[0]*s[2])*sin + n[1]*along,
		s[2]*cos + (n[0]*s[1]-n[1]*s[0])*sin + n[2]*along,
	}
}
