package magnet

import "math"

// A cylinder magnetized along its axis has the field of a solenoid: a sheet of current Br/mu0 per metre
// around its mantle. Lengths in this file are in metres, half is half the cylinder's length, z is counted
// from its centre, and fields are those of a remanence of one tesla.

// onAxis returns Bz on the axis of a cylinder of radius a.
func onAxis(a, half, z float64) float64 {
	up, down := z+half, z-half
	return (up/math.Hypot(up, a) - down/math.Hypot(down, a)) / 2
}

// cylinder returns Brho and Bz of a cylinder of radius a at a distance rho from its axis, after N. Derby and
// S. Olbert, Am. J. Phys. 78, 229 (2010). On the mantle Bz jumps by the remanence and is the mean of both
// sides. On the edges Brho is infinite, and NaN is returned.
func cylinder(a, half, rho, z float64) (radial, axial float64) {
	upRadial, upAxial := end(a, rho, z+half)
	downRadial, downAxial := end(a, rho, z-half)
	return (upRadial - downRadial) / math.Pi, (upAxial - downAxial) / math.Pi * a / (a + rho)
}

// end returns what the end of a cylinder of radius a contributes at height z above it.
func end(a, rho, z float64) (radial, axial float64) {
	far, near := math.Hypot(z, rho+a), math.Hypot(z, rho-a)
	k := near / far
	complement := 4 * a * rho / far / far // 1 - k^2 without the difference
	g := (a - rho) / (a + rho)
	return a / far * celBend(k, complement), z / far * cel(k, g*g, 1, g)
}
