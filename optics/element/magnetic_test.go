package element

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

func ring(remanence float64) *magnet.Ring {
	return &magnet.Ring{Inner: 0.75e-3, Outer: 1.5e-3, Length: 2e-3, Remanence: remanence, Coefficient: -4e-4, Temperature: magnet.Reference}
}

// A positive remanence magnetizes along +z; the field in the bore then runs along -z (closed form of a ring on its
// axis), so a film that turns +x towards +y with the field along +z needs the magnet the other way round.
func TestMagnetPolarity(t *testing.T) {
	r := rotator(t)
	r.Magnet = ring(-1.0)
	if err := r.Check(); err != nil {
		t.Errorf("field along +z and +45 deg: %v", err)
	}
	r.Magnet = ring(1.0)
	if err := r.Check(); err == nil || !strings.Contains(err.Error(), "contradicts the magnet") || !strings.Contains(err.Error(), "-45 deg") {
		t.Errorf("field along -z and +45 deg: %v", err)
	}
	r.Angle = -r.Angle
	if err := r.Check(); err != nil {
		t.Errorf("field along -z and -45 deg: %v", err)
	}
}

// Below saturation the rotation falls with the field, and the film says so.
func TestUnsaturatedFilm(t *testing.T) {
	r := rotator(t)
	r.Magnet = ring(-1.0)
	if c := r.Cautions(quantity.Celsius(23)); len(c) != 0 {
		t.Errorf("cautions of a strong magnet: %q", c)
	}
	weak := ring(-0.2)
	b, err := weak.OnAxis(0, quantity.Celsius(23))
	if err != nil {
		t.Fatal(err)
	}
	r.Magnet = weak
	media := []Medium{{}}
	if err := r.Tune(1550e-9, quantity.Celsius(23), media); err != nil {
		t.Fatal(err)
	}
	want := 45 * min(1, math.Abs(b)/r.Garnet.Saturation)
	if got := media[0].Rotation / deg; math.Abs(got-want) > 1e-9 || want > 44 {
		t.Errorf("rotation %.6f deg in %.1f mT, want %.6f", got, b*1e3, want)
	}
	if c := r.Cautions(quantity.Celsius(23)); len(c) != 1 || !strings.Contains(c[0], "not saturated") {
		t.Errorf("cautions of a weak magnet: %q", c)
	}
}

// A rod turns by V B d in a uniform field (common practice, no source), with the sign of its Verdet constant, negative
// for TGG; in a magnet's field by the integral, here against a sum over the closed form on the axis.
func TestRodTurnsByVerdetFieldAndLength(t *testing.T) {
	tgg, err := material.NamedParamagnet("TGG")
	if err != nil {
		t.Fatal(err)
	}
	room := quantity.Celsius(20)
	r := Rod{Name: "rod", Material: tgg, Length: 10e-3, Field: 0.5}
	turn := func(r Rod) float64 {
		part := r.Place(room)
		if err := r.Tune(1064e-9, room, part.Media); err != nil {
			t.Fatal(err)
		}
		return part.Media[0].Rotation
	}
	v, err := tgg.Verdet(1064e-9, room)
	if err != nil || v >= 0 {
		t.Fatalf("Verdet constant %g, %v", v, err)
	}
	if got, want := turn(r), v*0.5*10e-3; math.Abs(got-want) > 1e-15 {
		t.Errorf("rotation %g rad, want V B d = %g", got, want)
	}
	r.Field, r.Magnet = 0, &magnet.Ring{Inner: 3e-3, Outer: 12e-3, Length: 20e-3, Remanence: 1.2, Temperature: magnet.Reference}
	sum, n := 0.0, 2000
	for i := range n {
		z := (float64(i)+0.5)/float64(n)*10e-3 - 5e-3
		b, err := r.Magnet.OnAxis(quantity.Length(z), room)
		if err != nil {
			t.Fatal(err)
		}
		sum += b * 10e-3 / float64(n)
	}
	if got, want := turn(r), v*sum; math.Abs(got/want-1) > 1e-6 { // midpoint rule of 2,000 steps
		t.Errorf("rotation %.8f rad, want %.8f", got, want)
	}
}
