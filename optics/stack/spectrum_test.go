package stack

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/polar"
	"wedgework/optics/ray"
)

// spectrum works out the Jones matrix by a second route that knows nothing of base rays and Gaussian overlap:
// the launched mode is taken apart into plane waves, each is traced through the stack by itself, and what
// arrives is weighed with the receiving mode's own plane waves. The trapezium rule over the transverse
// components converges faster than any power for Gaussians.
func spectrum(t *testing.T, s *Stack, d Direction) polar.Matrix {
	t.Helper()
	c := s.lay(room)
	if err := c.tune(at); err != nil {
		t.Fatal(err)
	}
	k := 2 * math.Pi / at
	w, half := float64(s.spec.Beam.Waist), float64(s.spec.Beam.WorkingDistance)/2
	mode := func(n r3.Vec, p port, before float64) complex128 { // plane wave n in a mode whose waist lies ahead
		x, y, z := r3.Dot(n, p.x), r3.Dot(n, p.y), math.Abs(r3.Dot(n, p.axis))
		size := k * w / math.Sqrt(2*math.Pi) * math.Exp(-k*k*w*w*(x*x+y*y)/4)
		return complex(size, 0) * cmplx.Exp(complex(0, -k*before*(z-1)))
	}
	var sum polar.Matrix
	reach := 5.5 * 2 / (k * w) // of the transverse components, from the middle of the two axes
	const steps = 90
	h := 2 * reach / steps
	sh := s.shoot(c, d, at, s.pose, nil)
	middle := sh.halfway()
	for i := range steps + 1 {
		for j := range steps + 1 {
			n := r3.Vec{X: middle.X - reach + h*float64(i), Y: middle.Y - reach + h*float64(j)}
			n.Z = float64(d) * math.Sqrt(1-n.X*n.X-n.Y*n.Y)
			one := s.shoot(c, d, at, s.pose, nil)
			one.visit = func(p *path) {
				phase := p.phase + r3.Dot(p.wave.N, r3.Sub(one.to.r, p.r)) - 8e-3
				a := mode(n, one.from, half) * cmplx.Conj(mode(p.wave.N, one.to, -half)) *
					cmplx.Exp(complex(0, k*phase)) * complex(h*h*one.loss, 0)
				sum = sum.Add(one.to.received(p, 0, d).Scale(a))
			}
			one.run(one.from.r, n, ray.Turn(one.from.x, one.chief(), n), ray.Turn(one.from.y, one.chief(), n))
		}
	}
	return sum
}

// The Gaussian path sum against the plane-wave spectrum, in amplitude relative to the greatest singular value.
// The bounds are those of the reciprocity test: what a Gaussian overlap leaves of refraction at slanted faces.
func TestPathSumAgainstPlaneWaveSpectrum(t *testing.T) {
	for _, c := range []struct {
		name        string
		apex        float64
		turn        float64
		pose        Pose
		d           Direction
		bound, loss float64 // of the amplitude, and of the greatest transmission in dB
	}{
		{"aligned", 5, 45, Pose{}, Forward, 5e-4, 5e-3},
		{"off its pose", 5, 44, Pose{Offset: vec(25e-6, -15e-6), Tilt: vec(3e-4, -2e-4)}, Forward, 5e-4, 5e-3},
		{"backward leak", 5, 43, Pose{}, Backward, 5e-4, 5e-3},
		{"paths overlap", 0.3, 20, Pose{}, Forward, 1e-5, 1e-4},
		{"paths overlap backward", 0.3, 20, Pose{Offset: vec(10e-6, 0)}, Backward, 1e-5, 1e-4},
		{"steep", 13, 45, Pose{}, Forward, 5e-3, 3e-2},
	} {
		p := plain
		p.apex, p.rotation = c.apex, c.turn
		s := p.stack(t)
		pose := s.Pose()
		pose.Offset, pose.Tilt = pose.Offset.Add(c.pose.Offset), pose.Tilt.Add(c.pose.Tilt)
		s = s.Posed(pose)
		want := spectrum(t, s, c.d)
		got := point(t, s, c.d)
		var common complex128
		var g polar.Gram
		g.Add(want)
		t1, _ := g.Extremes()
		for i := range 2 {
			for j := range 2 {
				common += cmplx.Conj(got.M[i][j]) * want[i][j]
			}
		}
		common /= complex(cmplx.Abs(common), 0)
		worst := 0.0
		for i := range 2 {
			for j := range 2 {
				worst = max(worst, cmplx.Abs(got.M[i][j]*common-want[i][j])/math.Sqrt(t1))
			}
		}
		off := math.Abs(10 * math.Log10(got.T1/t1))
		t.Logf("%s: amplitude %.2g, transmission %.2g dB", c.name, worst, off)
		if worst > c.bound || off > c.loss {
			t.Errorf("%s: amplitude differs by %.3g (at most %g), greatest transmission by %.3g dB (at most %g)",
				c.name, worst, c.bound, off, c.loss)
		}
	}
}
