package element

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

func ring(remanence float64) magnet.Assembly {
	return magnet.Assembly{{Inner: 0.75e-3, Outer: 1.5e-3, Length: 2e-3, Remanence: remanence, Coefficient: -4e-4,
		Temperature: magnet.Reference}}
}

// A positive remanence magnetizes along +z; the field in the bore then runs along -z (closed form of a ring on its
// axis), so a film that turns +x towards +y with the field along +z needs the magnet the other way round.
func TestMagnetPolarity(t *testing.T) {
	r := rotator(t)
	r.Magnets = ring(-1.0)
	if err := r.Check(); err != nil {
		t.Errorf("field along +z and +45 deg: %v", err)
	}
	r.Magnets = ring(1.0)
	if err := r.Check(); err == nil || !strings.Contains(err.Error(), "contradicts the magnet") ||
		!strings.Contains(err.Error(), "-45 deg") {
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
	r.Magnets = ring(-1.0)
	if c := r.Cautions(quantity.Celsius(23)); len(c) != 0 {
		t.Errorf("cautions of a strong magnet: %q", c)
	}
	weak := ring(-0.2)
	b, err := weak.OnAxis(0, quantity.Celsius(23))
	if err != nil {
		t.Fatal(err)
	}
	r.Magnets = weak
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

// A film stated by its thickness turns the way garnet and magnet ask for, by the specific rotation.
func TestFilmOfThickness(t *testing.T) {
	for _, c := range []struct {
		name      string
		remanence float64
		sign      float64
	}{{"without a magnet", 0, 1}, {"field along +z", -1, 1}, {"field along -z", 1, -1}} {
		r := rotator(t)
		if c.remanence != 0 {
			r.Magnets = ring(c.remanence)
		}
		d, err := r.Thickness()
		if err != nil {
			t.Fatal(err)
		}
		r.Angle = 0
		r, err = r.OfThickness(2 * d)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := float64(r.Angle)/deg, c.sign*90; math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: angle %.6f deg, want %g", c.name, got, want)
		}
		if err := r.Check(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	if _, err := rotator(t).OfThickness(0); err == nil {
		t.Error("a film of no thickness is made")
	}
}

// The magnet's numbers are those of the part; moving it along the axis by half its length takes the field at the film
// below saturation, and the original keeps its own magnet.
func TestMagnetIsAdjustable(t *testing.T) {
	r := rotator(t)
	r.Magnets = ring(-1.0)
	var names []string
	for _, p := range r.Parameters() {
		names = append(names, p.Path)
	}
	if got := strings.Join(names, " "); got !=
		"angle index reflectance per_kelvin per_nm tilt wedge azimuth extinction remanence magnet_position" {
		t.Errorf("parameters %q", got)
	}
	moved, err := r.With("magnet_position", quantity.Of(1.0, "mm"))
	if err != nil {
		t.Fatal(err)
	}
	if got := moved.(Rotator).Magnets[0].Position; got != 1e-3 || r.Magnets[0].Position != 0 {
		t.Errorf("the magnet stands at %g m, that of the original at %g", got, r.Magnets[0].Position)
	}
	if c := moved.(Rotator).Cautions(quantity.Celsius(23)); len(c) != 1 {
		t.Errorf("cautions of a film at the mouth of its magnet: %q", c)
	}
	if _, err := r.With("remanence", quantity.Of(1, "tesla")); err == nil ||
		!strings.Contains(err.Error(), "contradicts") {
		t.Errorf("a magnet turned round: %v", err)
	}
	if _, err := r.With("remanence", quantity.Of(1, "mm")); err == nil || !strings.Contains(err.Error(),
		"flux density") {
		t.Errorf("a remanence in mm: %v", err)
	}
}

// The margin is taken over the stated footprint, else over the clear aperture, and falls with it: in this bore |Bz| is
// least on the axis at the film's ends or grows outwards, and hot it is less by the coefficient of the remanence.
func TestMargin(t *testing.T) {
	cold, hot := quantity.Celsius(20), quantity.Celsius(70)
	r := rotator(t)
	if _, err := r.Margin(cold); err == nil {
		t.Error("a film without a magnet has a margin")
	}
	r.Magnets = ring(-1.0)
	margin := func(r Rotator, at quantity.Temperature) float64 {
		m, err := r.Margin(at)
		if err != nil {
			t.Fatal(err)
		}
		return m.Ratio
	}
	if got, want := margin(r, hot)/margin(r, cold), 1-4e-4*50; math.Abs(got-want) > 1e-12 {
		t.Errorf("the margin falls to %.6f when hot, want %.6f", got, want)
	}
	plain := margin(r, cold)
	r.Aperture = 0.6e-3
	wide := margin(r, cold)
	if wide > plain {
		t.Errorf("margin %.4f over 0.6 mm, above %.4f over 0.3 mm", wide, plain)
	}
	r.Footprint = 0.3e-3
	if got := margin(r, cold); got != plain {
		t.Errorf("margin %.6f over a footprint of 0.3 mm, want %.6f", got, plain)
	}
	r.Garnet.Saturation = 0
	if c := r.Cautions(hot); len(c) != 1 || !strings.Contains(c[0], "taken as saturated") {
		t.Errorf("cautions where the saturating field is not stated: %q", c)
	}
	r.Footprint = 1e-3 // wider than the bore
	r.Garnet.Saturation = 0.08
	if c := r.Cautions(hot); len(c) != 1 || !strings.Contains(c[0], "reaches into the magnet") {
		t.Errorf("cautions of a beam wider than the bore: %q", c)
	}
}

// The magnets of another part reach a film that has magnets of its own, and one that latches, which they can reverse;
// a film whose saturation is only stated, and one that needs none, stay as they are.
func TestWhoHasNeighbours(t *testing.T) {
	other := ring(-1.0)
	stated, own := rotator(t), rotator(t)
	own.Magnets = ring(-1.0)
	latching := rotator(t)
	latching.Garnet.Latch = &material.Latch{Constant: 0.05, Remanence: 1}
	for what, c := range map[string]struct {
		film Rotator
		gets bool
	}{"stated as saturated": {stated, false}, "in a magnet of its own": {own, true}, "latching": {latching, true}} {
		if got := WithNeighbours(c.film, other).(Rotator).Neighbours; (len(got) > 0) != c.gets {
			t.Errorf("a film %s gets %d neighbours", what, len(got))
		}
	}
}
