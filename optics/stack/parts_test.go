package stack

import (
	"math"
	"math/cmplx"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

func crystal(t testing.TB, name string) *material.Crystal {
	t.Helper()
	c, err := material.Named(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// assemble puts elements between collimators wide enough that a small offset costs nothing.
func assembled(t testing.TB, elements ...element.Element) *Stack {
	t.Helper()
	s, err := New(Spec{Elements: elements, Beam: element.Collimator{Waist: 300e-6, WorkingDistance: 20e-3}, AlignAt: at,
		AlignTemperature: room})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A displacer cut at 45 deg moves the e ray by thickness times tan(walk-off), the textbook closed form, and
// leaves the o ray where it was.
func TestDisplacerMovesTheExtraordinaryRay(t *testing.T) {
	for _, name := range []string{"YVO4", "calcite"} {
		d := element.Plate{As: "displacer", Crystal: crystal(t, name), Thickness: 2e-3, Axis: 30 * deg, Cut: 45 * deg}
		s := assembled(t, d).Posed(Pose{})
		drawn := quantity.Celsius(20) // elsewhere the plate shears a little as it expands
		all, err := s.Paths(Forward, at, drawn)
		if err != nil {
			t.Fatal(err)
		}
		ps := map[string]Path{all[0].Label: all[0], all[1].Label: all[1]}
		n, err := d.Crystal.At(at, drawn)
		if err != nil {
			t.Fatal(err)
		}
		want := 2e-3 * math.Tan(float64(n.WalkOff(45*deg)))
		if got := math.Hypot(ps["e"].Offset.X, ps["e"].Offset.Y); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("%s: e ray moved by %.4f um, want %.4f", name, got*1e6, want*1e6)
		}
		if got := math.Hypot(ps["o"].Offset.X, ps["o"].Offset.Y); got > 1e-15 {
			t.Errorf("%s: o ray moved by %g", name, got)
		}
		if math.Abs(ps["e"].Offset.Y/ps["e"].Offset.X-math.Tan(30*deg)) > 1e-9 {
			t.Errorf("%s: e ray moved along %v, want the azimuth of the axis", name, ps["e"].Offset)
		}
	}
}

// A half-wave plate turns linear light by twice the angle to its axis; a quarter-wave plate at 45 deg makes it
// circular (textbook).
func TestRetarders(t *testing.T) {
	half := element.Retarder{Crystal: crystal(t, "YVO4"), Retardance: math.Pi, At: at, Axis: 22.5 * deg}
	m := point(t, assembled(t, half), Forward).M
	if got := math.Pow(cmplx.Abs(m[1][0]), 2) / (math.Pow(cmplx.Abs(m[0][0]), 2) + math.Pow(cmplx.Abs(m[1][0]),
		2)); math.Abs(got-0.5) > 1e-4 {
		t.Errorf("light along x leaves with %.5f of its power along y, want a half", got)
	}
	if phase := cmplx.Phase(m[1][0] / m[0][0]); math.Abs(phase) > 2e-3 { // 3 K from the temperature of the drawing
		t.Errorf("the field along y lags by %g, want linear light", phase)
	}
	quarter := element.Retarder{Crystal: crystal(t, "YVO4"), Retardance: math.Pi / 2, At: at, Axis: 45 * deg, Order: 2}
	m = point(t, assembled(t, quarter), Forward).M
	if got := cmplx.Abs(m[1][0]) / cmplx.Abs(m[0][0]); math.Abs(got-1) > 5e-3 {
		t.Errorf("|Ey/Ex| = %g, want circular light", got)
	}
	d0, _ := element.Retarder{Crystal: crystal(t, "YVO4"), Retardance: math.Pi, At: at}.Thickness()
	n, _ := crystal(t, "YVO4").At(at, quantity.Celsius(20))
	if want := at / 2 / (n.E - n.O); math.Abs(float64(d0)/want-1) > 1e-12 {
		t.Errorf("zero-order half-wave plate %g m thick, want %g", d0, want)
	}
}

// Malus's law: two polarizers at an angle pass the squared cosine, down to the extinction ratio.
func TestPolarizersFollowMalus(t *testing.T) {
	for _, angle := range []float64{0, 30, 60, 90} {
		a := element.Polarizer{Axis: 10 * deg, Extinction: 1e4, Loss: 0.1}
		b := a
		b.Axis += quantity.Angle(angle * deg)
		p := point(t, assembled(t, a, element.Gap{Length: 1e-3}, b), Forward)
		c2, s2 := math.Pow(math.Cos(angle*deg), 2), math.Pow(math.Sin(angle*deg), 2)
		// Launched along the first axis: amplitude cos along the second axis, sin across it, blocked there by 1e-4.
		want := (c2 + 1e-4*s2) * math.Pow(10, -0.02)
		if angle == 90 {
			want = 1e-4 * math.Pow(10, -0.02) * 1 // either axis leaks alike: t1 of a product of crossed sheets
		}
		if math.Abs(p.T1/want-1) > 2e-3 {
			t.Errorf("%g deg: greatest transmission %.6g, want %.6g", angle, p.T1, want)
		}
	}
}

// The polarization-dependent isolator: polarizers at 0 and 45 deg about a 45 deg rotator pass light of the first
// polarization forward and stop all of it backward, to the extinction of polarizers and rotator (common
// practice, no source).
func TestPolarizationDependentIsolator(t *testing.T) {
	p := plain
	r := p.spec(t).Elements[2]
	a := element.Polarizer{Axis: 0, Extinction: 1e5}
	b := a
	b.Axis = 45 * deg
	s := assembled(t, a, element.Gap{Length: 0.2e-3}, r, element.Gap{Length: 0.2e-3}, b)
	if f := point(t, s, Forward); f.InsertionLossMin() > 0.01 || f.PDL() < 45 {
		t.Errorf("forward: loss %.3f dB, PDL %.1f dB", f.InsertionLossMin(), f.PDL())
	}
	if got := point(t, s, Backward).Isolation(); got < 48 {
		t.Errorf("isolation %.1f dB, want that of the polarizers", got)
	}
}
