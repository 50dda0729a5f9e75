package beam

import (
	"math"
	"testing"
)

// Marcuse (1977): core radius 4.1 um, NA 0.12 at 1.55 um, V = 1.9944, gives 5.2093 um; w/a = 1.26739 at V = 2.
func TestMarcuse(t *testing.T) {
	w, err := MarcuseRadius(4.1e-6, 0.12, 1.55e-6)
	if err != nil || math.Abs(w*1e6-5.2093) > 1e-4 {
		t.Errorf("mode-field radius %.5f um, %v, want 5.2093", w*1e6, err)
	}
	a := 2 * 1.55e-6 / (2 * math.Pi * 0.12)
	if w, err := MarcuseRadius(a, 0.12, 1.55e-6); err != nil || math.Abs(w/a-1.26739) > 1e-5 {
		t.Errorf("w/a = %.6f, %v at V = 2, want 1.26739", w/a, err)
	}
	if _, err := MarcuseRadius(10e-6, 0.2, 1.55e-6); err == nil {
		t.Error("a multimode fibre was given a mode field")
	}
}

// The waist in front of the lens against the complex beam parameter carried through by ABCD matrices.
func TestCollimateAgainstABCD(t *testing.T) {
	const w, l = 5.2e-6, 1.55e-6
	for _, c := range []struct{ focal, waist float64 }{{2e-3, 10e-3}, {2e-3, 2e-3}, {2e-3, 0.5e-3}, {4e-3, 60e-3}} {
		lens, err := Collimate(c.focal, w, l, c.waist)
		if err != nil {
			t.Fatal(err)
		}
		q := complex(lens.Distance, -RayleighRange(w, l))
		q = 1 / (1/q - complex(1/c.focal, 0)) // just past the lens
		radius, distance := lens.Waist(w, l)
		if math.Abs(-real(q)-c.waist) > 1e-12 || math.Abs(distance-c.waist) > 1e-12 {
			t.Errorf("waist %g m away by matrices, %g by formula, want %g", -real(q), distance, c.waist)
		}
		if want := math.Sqrt(-imag(q) * l / math.Pi); math.Abs(radius/want-1) > 1e-9 {
			t.Errorf("waist %g m, by matrices %g", radius, want)
		}
	}
	if _, err := Collimate(2e-3, w, l, 100e-3); err == nil {
		t.Error("a waist farther away than any was promised")
	}
}

// Clipping against a two-dimensional sum over the aperture, in polar coordinates about the aperture's centre:
// trapezium in angle, Gauss-free Simpson in radius, both converged well below the bound.
func TestClipAgainstQuadrature(t *testing.T) {
	for _, c := range [][3]float64{{0, 1, 1}, {0.3, 1, 0.8}, {1.2, 1, 0.5}, {0.1, 2.5, 1}, {2, 1, 1}, {3, 3, 0.6}} {
		r0, a, w := c[0], c[1], c[2]
		const nr, nphi = 4000, 256
		sum := 0.0
		for i := range nr + 1 {
			r := a * float64(i) / nr
			ring := 0.0
			for j := range nphi {
				phi := 2 * math.Pi * float64(j) / nphi
				d2 := r*r + r0*r0 - 2*r*r0*math.Cos(phi)
				ring += math.Exp(-2 * d2 / (w * w))
			}
			simpson := 2.0
			if i%2 == 1 {
				simpson = 4
			}
			if i == 0 || i == nr {
				simpson = 1
			}
			sum += simpson * r * ring
		}
		want := sum * (a / nr / 3) * (2 * math.Pi / nphi) * 2 / (math.Pi * w * w)
		if got := Clip(r0, a, w); math.Abs(got-want) > 1e-9 {
			t.Errorf("offset %g, aperture %g, w %g: %.12f, want %.12f", r0, a, w, got, want)
		}
	}
	// On axis the closed form is 1 - exp(-2 a^2/w^2).
	if got, want := Clip(0, 1.3, 0.9), 1-math.Exp(-2*1.3*1.3/0.81); math.Abs(got-want) > 1e-14 {
		t.Errorf("on axis %.15f, want %.15f", got, want)
	}
	if got := Clip(40, 1, 1); got > 1e-300 {
		t.Errorf("a beam forty radii off passes %g", got)
	}
}
