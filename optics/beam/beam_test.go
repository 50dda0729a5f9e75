package beam

import (
	"math"
	"math/cmplx"
	"testing"
)

// couple returns the power coupled between a waist w1 at z = 0 and a waist w2 at z, offset by x0 and tilted
// by theta so that a positive tilt follows the spreading wavefront at positive x0.
func couple(w1, w2, z, x0, theta, wavelength float64) float64 {
	c := Coupler{K: 2 * math.Pi / wavelength, SentW: w1, WaitingW: w2}
	u := c.Overlap(&Course{Reduced: z, Waiting: Vec{X: theta}, Offset: Vec{X: x0}})
	return real(u)*real(u) + imag(u)*imag(u)
}

// joyceDeLoach is the closed form of W. B. Joyce and B. C. DeLoach, Appl. Opt. 23, 4187-4196 (1984), as
// reproduced from memory; it equals a direct overlap integral.
func joyceDeLoach(w1, w2, z, x0, theta, l float64) float64 {
	k := 4 * w1 * w1 * w2 * w2 / (math.Pow(w1*w1+w2*w2, 2) + l*l*z*z/(math.Pi*math.Pi))
	wz2 := w1 * w1 * (1 + math.Pow(l*z/(math.Pi*w1*w1), 2))
	return k * math.Exp(-k*(x0*x0/2*(1/(w1*w1)+1/(w2*w2))+
		math.Pi*math.Pi*theta*theta*(wz2+w2*w2)/(2*l*l)-x0*theta*z/(w1*w1)))
}

func TestCouplingAgainstJoyceDeLoach(t *testing.T) {
	const um, l = 1e-6, 1.55e-6
	for _, c := range []struct {
		name                 string
		w1, w2, z, x0, theta float64
		loss                 float64 // dB, worked out from the closed form and by a direct overlap integral
	}{
		{"offset", 5.2 * um, 5.2 * um, 0, 1 * um, 0, 0.16061},
		{"tilt", 5.2 * um, 5.2 * um, 0, 0, 0.5 * math.Pi / 180, 0.03674},
		{"gap", 5.2 * um, 5.2 * um, 20 * um, 0, 0, 0.14223},
		{"unequal waists", 5.2 * um, 4.6 * um, 0, 0, 0, 0.06512},
		{"collimated tilt", 200 * um, 200 * um, 0, 0, 1e-3, 0.71364},
		{"all together", 200 * um, 180 * um, 20000 * um, 15 * um, 0.5e-3, -10 * math.Log10(0.93308578)},
		{"all, tilted against", 200 * um, 180 * um, 20000 * um, 15 * um, -0.5e-3, -10 * math.Log10(0.92631565)},
	} {
		got := couple(c.w1, c.w2, c.z, c.x0, c.theta, l)
		if loss := -10 * math.Log10(got); math.Abs(loss-c.loss) > 1e-5 {
			t.Errorf("%s: loss %.6f dB, want %.6f", c.name, loss, c.loss)
		}
		if want := joyceDeLoach(c.w1, c.w2, c.z, c.x0, c.theta, l); math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: coupling %.14f, closed form %.14f", c.name, got, want)
		}
	}
}

// The complex overlap, phase included, against a two-dimensional sum over the plane of arrival: both modes
// written out point by point. The trapezium rule converges faster than any power for Gaussians.
func TestOverlapAgainstNumericalIntegral(t *testing.T) {
	const um, l = 1e-6, 1.55e-6
	k := 2 * math.Pi / l
	c := Coupler{K: k, SentW: 180 * um, SentZ: 4e-3, WaitingW: 210 * um, WaitingZ: 5e-3}
	p := Course{
		Reduced: 7e-3,
		Sent:    Vec{0.3e-3, -0.2e-3},
		Base:    Vec{0.4e-3, 0.1e-3},
		Waiting: Vec{-0.5e-3, 0.6e-3},
		Offset:  Vec{30 * um, -20 * um},
	}
	mode := func(w, z, x, y float64) complex128 {
		zr := math.Pi * w * w / l
		q := complex(z, -zr)
		a := complex(math.Sqrt(2/math.Pi)/w, 0) * complex(0, -zr) / q
		return a * cmplx.Exp(complex(0, k/2)*complex(x*x+y*y, 0)/q)
	}
	var sum complex128
	const half, steps = 1.4e-3, 560
	h := 2 * half / steps
	for i := range steps + 1 {
		for j := range steps + 1 {
			x, y := -half+h*float64(i), -half+h*float64(j) // from where the base ray arrives
			ax, ay := p.Reduced*p.Sent.X, p.Reduced*p.Sent.Y
			sent := mode(c.SentW, p.Reduced-c.SentZ, x-ax, y-ay) *
				cmplx.Exp(complex(0, k*(p.Sent.X*(x-ax)+p.Sent.Y*(y-ay)+p.Reduced*p.Sent.Dot(p.Sent)/2)))
			bx, by := x-p.Offset.X, y-p.Offset.Y
			// The waiting mode has phase zero at its own centre; the base ray's wave has it at the ray.
			waiting := mode(c.WaitingW, c.WaitingZ, bx, by) *
				cmplx.Exp(complex(0, k*((p.Waiting.X+p.Base.X)*bx+(p.Waiting.Y+p.Base.Y)*by-p.Base.X*x-p.Base.Y*y)))
			sum += sent * cmplx.Conj(waiting) * complex(h*h, 0)
		}
	}
	got := c.Overlap(&p)
	if d := cmplx.Abs(got - sum); d > 1e-9 {
		t.Errorf("overlap %v, numerical %v, %.2g apart", got, sum, d)
	}
}

// Two modes of one waist at one place couple all their power, with no phase.
func TestOverlapOfAModeWithItself(t *testing.T) {
	c := Coupler{K: 4e6, SentW: 2e-4, SentZ: 3e-3, WaitingW: 2e-4, WaitingZ: 3e-3}
	u := c.Overlap(&Course{Reduced: 6e-3})
	if d := cmplx.Abs(u - 1); d > 1e-14 {
		t.Errorf("overlap %v, want 1", u)
	}
}
