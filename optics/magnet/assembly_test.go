package magnet

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// A ring cut across, or along into two concentric ones, has the field of the whole: superposition against one closed
// form, on the axis, off it, along a slanted ray, and in the margin of a film.
func TestPartsOfARingAddUpToIt(t *testing.T) {
	part := func(inner, outer, from, to float64) Ring {
		r := published
		r.Inner, r.Outer = quantity.Length(inner), quantity.Length(outer)
		r.Length, r.Position = quantity.Length(to-from), quantity.Length(from+to)/2
		return r
	}
	whole := Assembly{published}
	for name, parts := range map[string]Assembly{
		"across": {part(1.5e-3, 3e-3, -2e-3, 0.4e-3), part(1.5e-3, 3e-3, 0.4e-3, 2e-3)},
		"along":  {part(1.5e-3, 2e-3, -2e-3, 2e-3), part(2e-3, 3e-3, -2e-3, 2e-3)},
	} {
		if err := parts.Check(); err != nil {
			t.Fatal(err)
		}
		for _, z := range []quantity.Length{-5e-3, -1e-3, 0, 0.7e-3, 3e-3} {
			want, _ := whole.OnAxis(z, room)
			if got, err := parts.OnAxis(z, room); err != nil || math.Abs(got-want) > 1e-14 {
				t.Errorf("%s, on the axis at %g: %.15g, want %.15g, %v", name, z, got, want, err)
			}
			wantR, wantZ, _ := whole.Polar(0.4e-3, z, room)
			if gotR, gotZ, err := parts.Polar(0.4e-3, z, room); err != nil || math.Abs(gotR-wantR) > 1e-13 ||
				math.Abs(gotZ-wantZ) > 1e-13 {
				t.Errorf("%s, off the axis at %g: %g %g, want %g %g, %v", name, z, gotR, gotZ, wantR, wantZ, err)
			}
		}
		from, to := r3.Vec{X: 0.2e-3, Z: -6e-3}, r3.Vec{X: -0.3e-3, Y: 0.1e-3, Z: 5e-3}
		want, _ := whole.Integral(from, to, room)
		if got, err := parts.Integral(from, to, room); err != nil || math.Abs(got-want) > 1e-12*1.2*11e-3 {
			t.Errorf("%s: integral %.15g, want %.15g, %v", name, got, want, err)
		}
		film := Film{Radius: 0.5e-3, From: 0.3e-3, To: 0.7e-3, Saturation: 0.08}
		one, _ := whole.Margin(film, room)
		if got, err := parts.Margin(film, room); err != nil || math.Abs(got.Ratio/one.Ratio-1) > 1e-9 {
			t.Errorf("%s: margin %.12g, want %.12g, %v", name, got.Ratio, one.Ratio, err)
		}
	}
}

// Two rings far apart, each at the dipole's distance law from the other's film: what a neighbour adds is m/(2 pi z^3)
// of its moment, mu0 m = Br V, to the next order of (size/distance)^2.
func TestNeighbourIsADipole(t *testing.T) {
	volume := math.Pi * (9e-6 - 2.25e-6) * 4e-3
	const distance = 60e-3
	pair := append(Assembly{published}, Assembly{published}.Moved(distance)...)
	alone, _ := published.OnAxis(0, room)
	both, err := pair.OnAxis(0, room)
	want := 1.2 * volume / (2 * math.Pi * math.Pow(distance, 3))
	if err != nil || math.Abs((both-alone)/want-1) > 2*math.Pow(4e-3/distance, 2) {
		t.Errorf("the neighbour adds %.6g T, want %.6g, %v", both-alone, want, err)
	}
}

func TestAssemblyIsChecked(t *testing.T) {
	pair := Assembly{published, published}
	if err := pair.Check(); err == nil || !strings.Contains(err.Error(), "same place") {
		t.Errorf("two rings in one place: %v", err)
	}
	pair = append(Assembly{published}, Assembly{published}.Moved(4e-3)...)
	if err := pair.Check(); err != nil {
		t.Errorf("two rings in contact: %v", err)
	}
	pair[1].Length = 0
	if err := pair.Check(); err == nil || !strings.Contains(err.Error(), "ring 2 of 2") {
		t.Errorf("a ring without length: %v", err)
	}
	hot := published
	hot.Greatest = quantity.Celsius(80)
	if said := (Assembly{published, hot}).TooHot(quantity.Celsius(100)); len(said) != 1 ||
		!strings.Contains(said[0], "ring 2") || !strings.Contains(said[0], "80 °C") {
		t.Errorf("cautions at 100 degC: %q", said)
	}
	if said := (Assembly{hot}).TooHot(quantity.Celsius(70)); len(said) != 0 {
		t.Errorf("cautions at 70 degC: %q", said)
	}
}
