package material

import (
	"errors"
	"math"
	"testing"

	"wedgework/optics/quantity"
)

// A curve meets its points, is a straight line where they are on one, and never leaves the range of two neighbours; of
// a smooth law it is near: a film's rotation as A/(L^2 - L0^2), read every 20 nm.
func TestCurve(t *testing.T) {
	line, err := NewCurve([][2]float64{{3, 7}, {1, 3}, {2, 5}, {5, 11}})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []float64{1, 1.3, 2, 2.7, 4.9, 5} {
		if got := line.At(x); math.Abs(got-(1+2*x)) > 1e-12 {
			t.Errorf("line at %g: %g", x, got)
		}
	}
	law := func(l float64) float64 { return 2.7e9 / (l*l - 550*550) }
	var points [][2]float64
	for l := 1260.0; l <= 1625; l += 20 {
		points = append(points, [2]float64{l, law(l)})
	}
	film, err := NewCurve(points)
	if err != nil {
		t.Fatal(err)
	}
	lo, hi := film.Range()
	for l, last := lo, math.Inf(1); l <= hi; l++ {
		got := film.At(l)
		if math.Abs(got-law(l)) > 1e-3*law(l) || got >= last {
			t.Errorf("%g nm: %.6g, want %.6g", l, got, law(l))
		}
		last = got
	}
	for _, bad := range [][][2]float64{{{1, 2}}, {{1, 2}, {1, 3}}, {{1, 2}, {2, math.NaN()}}, {{1, 2}, {math.Inf(1), 3}}} {
		if _, err := NewCurve(bad); err == nil {
			t.Errorf("%v passes", bad)
		}
	}
	if film.Holds(lo-1) || film.Holds(hi+1) || !film.Holds(lo) || film.Holds(math.NaN()) {
		t.Error("what the curve holds")
	}
}

// A film's rotation by its points: what its specific rotation is, in proportion, wherever its angle is stated.
func TestSpectrum(t *testing.T) {
	g, err := NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	if g.Spectrum, err = NewCurve([][2]float64{{1310e-9, 3000}, {1550e-9, g.Rotation}}); err != nil {
		t.Fatal(err)
	}
	g.PerMetre = 0
	if err := g.Check(); err != nil {
		t.Fatal(err)
	}
	for _, at := range []quantity.Length{1310e-9, 1400e-9, 1550e-9} {
		d, err := g.Thickness(1, at, g.Temperature)
		if err != nil {
			t.Fatal(err)
		}
		got := g.Turn(1, at, 1310e-9, g.Temperature, g.Temperature)
		if want := 3000 * float64(d); math.Abs(got-want) > 1e-9 {
			t.Errorf("angle stated at %g nm: turns %.6g, want %.6g", float64(at)*1e9, got, want)
		}
	}
	var outside *RangeError
	if err := g.Covers(1560e-9); !errors.As(err, &outside) {
		t.Errorf("outside: %v", err)
	}
	if _, err := g.Thickness(1, 1250e-9, g.Temperature); !errors.As(err, &outside) {
		t.Errorf("outside: %v", err)
	}
}
