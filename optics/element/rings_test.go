package element

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// rod is 10 mm of TGG in a long ring between two shorter ones that are magnetized the other way.
func rod(t *testing.T) Rod {
	t.Helper()
	tgg, err := material.NamedParamagnet("TGG")
	if err != nil {
		t.Fatal(err)
	}
	perfect, err := tgg.WithLosses(tgg.Absorption(), math.Inf(1), "perfect")
	if err != nil {
		t.Fatal(err)
	}
	middle := magnet.Ring{Inner: 2.5e-3, Outer: 9e-3, Length: 12e-3, Remanence: -1.2, Coefficient: -1e-3,
		Temperature: magnet.Reference}
	before, behind := middle, middle
	before.Length, before.Position, before.Remanence = 6e-3, -9e-3, 1.2
	behind.Length, behind.Position, behind.Remanence = 6e-3, 9e-3, 1.2
	return Rod{Name: "rod", Material: perfect, Length: 10e-3,
		Surroundings: Surroundings{Magnets: magnet.Assembly{before, middle, behind}}}
}

// The share across of a narrow beam by the paraxial field: Bz(rho, z) = B(z) - rho^2 B”(z)/4, so that the rotation is
// a + b rho^2 with b = -V (B'(end) - B'(start))/4, and with <rho^4> - <rho^2>^2 = w^4/4 over the intensity the share is
// b^2 w^4/4. B' is the slope of the closed form on the axis, by a difference.
func TestExtinctionOfARodInRings(t *testing.T) {
	const l, room = 1064 * quantity.Nanometre, magnet.Reference
	r := rod(t)
	slope := func(z quantity.Length) float64 {
		const h = 1e-6
		up, _ := r.Magnets.OnAxis(z+h, room)
		down, _ := r.Magnets.OnAxis(z-h, room)
		return (up - down) / (2 * h)
	}
	v, err := r.Material.Verdet(l, room)
	if err != nil {
		t.Fatal(err)
	}
	half := quantity.Length(r.long(room) / 2)
	b := -v * (slope(half) - slope(-half)) / 4
	for _, w := range []float64{0.1e-3, 0.2e-3} {
		got, err := r.Extinction(quantity.Length(w), l, room)
		if err != nil {
			t.Fatal(err)
		}
		want := 4 / (b * b * math.Pow(w, 4))
		// 3 %: the next order of the field, (w/bore)^2 with its factor.
		if math.Abs(got/want-1) > 0.03 {
			t.Errorf("waist %g: extinction %.2f dB, want %.2f", w, quantity.Decibels(got), quantity.Decibels(want))
		}
	}
	r.Aperture = 0.1e-3
	cut, err := r.Extinction(0.2e-3, l, room)
	if whole, _ := rod(t).Extinction(0.2e-3, l, room); err != nil || !(cut > whole) {
		t.Errorf("behind a clear aperture %g, without %g, %v", cut, whole, err)
	}
}

// In a uniform field a perfect rod extinguishes in full, and one that depolarizes the share q as (1-q)/q.
func TestExtinctionInAUniformField(t *testing.T) {
	r := rod(t)
	r.Magnets, r.Field = nil, 1.1
	if got, err := r.Extinction(0.5e-3, 1064e-9, magnet.Reference); err != nil || !math.IsInf(got, 1) {
		t.Errorf("perfect material: %g, %v", got, err)
	}
	tgg, _ := material.NamedParamagnet("TGG")
	r.Material = tgg
	if got, err := r.Extinction(0.5e-3, 1064e-9, magnet.Reference); err != nil ||
		math.Abs(got/tgg.Extinction()-1) > 1e-9 {
		t.Errorf("material of %g: %g, %v", tgg.Extinction(), got, err)
	}
	if _, err := r.Margin(magnet.Reference); err == nil {
		t.Error("a uniform field has a margin")
	}
}

// The rotation is that of Place and Tune on the axis; each ring's numbers are parameters; where the field turns round
// within the rod there is no margin, and the rod says so.
func TestRodInSeveralRings(t *testing.T) {
	const l, room = 1064 * quantity.Nanometre, magnet.Reference
	r := rod(t)
	part := r.Place(room)
	if err := r.Tune(l, room, part.Media); err != nil {
		t.Fatal(err)
	}
	on, err := r.RotationAt(0, l, room)
	if err != nil || math.Abs(on-part.Media[0].Rotation) > 1e-15 {
		t.Errorf("rotation on the axis %g, traced %g, %v", on, part.Media[0].Rotation, err)
	}
	alone := r
	alone.Magnets = alone.Magnets[1:2]
	if one, _ := alone.RotationAt(0, l, room); !(math.Abs(on) > 1.2*math.Abs(one)) {
		t.Errorf("reversed rings at the ends turn %g rad, the middle one alone %g", on, one)
	}
	var names []string
	for _, p := range r.Parameters() {
		names = append(names, p.Path)
	}
	if got := strings.Join(names, " "); got != "length reflectance remanence1 magnet_position1 remanence2 "+
		"magnet_position2 remanence3 magnet_position3" {
		t.Errorf("parameters %q", got)
	}
	weaker, err := r.With("remanence2", quantity.Of(-1, "tesla"))
	if err != nil || weaker.(Rod).Magnets[1].Remanence != -1 || r.Magnets[1].Remanence != -1.2 {
		t.Errorf("a weaker ring: %v", err)
	}
	if _, err := r.With("remanence", quantity.Of(-1, "tesla")); err == nil {
		t.Error("one of three rings is changed without its number")
	}
	if m, err := r.Margin(room); err != nil || !(m.Ratio > 0 && m.Ratio < 1) {
		t.Errorf("margin %+v, %v", m, err)
	}
	long := r
	long.Length = 25e-3
	if said := long.Cautions(room); len(said) != 1 || !strings.Contains(said[0], "changes sign") {
		t.Errorf("cautions of a rod longer than the field: %q", said)
	}
}

// A neighbour's field adds to that of a film's own magnet, of a film as of a rod; a film without a magnet is saturated
// by means not stated, and a neighbour changes nothing.
func TestNeighbours(t *testing.T) {
	const l, room = 1550 * quantity.Nanometre, magnet.Reference
	own, other := ring(-0.2), ring(-1.0).Moved(3e-3)
	r := rotator(t)
	r.Magnets = own
	turn := func(e Element) float64 {
		part := e.Place(room)
		if err := e.Tune(l, room, part.Media); err != nil {
			t.Fatal(err)
		}
		return part.Media[0].Rotation
	}
	alone, beside := turn(r), turn(WithNeighbours(r, other))
	a, _ := own.OnAxis(0, room)
	b, _ := other.OnAxis(0, room)
	if want := alone * (a + b) / a; math.Abs(beside-want) > 1e-12 || a*b >= 0 {
		t.Errorf("beside a neighbour %.9g rad, want %.9g", beside, want)
	}
	strong := ring(-1.0)
	for i := range strong { // of greater reach, so that it turns the film's field round
		strong[i].Inner, strong[i].Outer, strong[i].Length, strong[i].Position = 2e-3, 20e-3, 20e-3, 16e-3
	}
	c, _ := strong.OnAxis(0, room)
	if got := turn(WithNeighbours(r, strong)); !(a*(a+c) < 0 && got*alone < 0) {
		t.Errorf("a film in a field that a neighbour turns round (%g and %g T) turns %g, alone %g", a, c, got, alone)
	}
	r.Magnets = nil
	if got := turn(WithNeighbours(r, other)); got != turn(r) {
		t.Errorf("a film without a magnet turns %g beside a neighbour, alone %g", got, turn(r))
	}
}
