package heat

import "math"

// Focus returns the power of the lens on the axis of a warmed part, in 1/m; positive focuses. slope is the change of
// its optical path per length and kelvin: dn/dT, and (n-1)(1+nu) alpha_T more where the faces may bulge, as those of a
// plate thinner than its beam do. 1/f = slope (absorbed power)/(pi k w^2).
func (l Load) Focus(slope float64) float64 {
	return slope * l.Power / (math.Pi * l.Conductivity * l.Waist * l.Waist)
}

// Coupled returns the share of the power that the warmed part leaves in the beam's own mode, if nothing is refocused:
// the overlap of the beam with itself behind the phase 2 pi slope Length Scale/wavelength Ein(u), wherever along the
// beam the part stands.
func (l Load) Coupled(slope, wavelength float64) float64 {
	phase := 2 * math.Pi * slope * l.Length * l.Scale() / wavelength
	u, share := ringed()
	re, im := 0.0, 0.0
	for i := range u {
		sin, cos := math.Sincos(phase * Ein(u[i]))
		re, im = re+share[i]*cos, im+share[i]*sin
	}
	return re*re + im*im
}
