package element

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/magnet"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

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
	r.Field, r.Magnets = 0, magnet.Assembly{{Inner: 3e-3, Outer: 12e-3, Length: 20e-3, Remanence: 1.2,
		Temperature: magnet.Reference}}
	sum, n := 0.0, 2000
	for i := range n {
		z := (float64(i)+0.5)/float64(n)*10e-3 - 5e-3
		b, err := r.Magnets.OnAxis(quantity.Length(z), room)
		if err != nil {
			t.Fatal(err)
		}
		sum += b * 10e-3 / float64(n)
	}
	if got, want := turn(r), v*sum; math.Abs(got/want-1) > 1e-6 { // midpoint rule of 2,000 steps
		t.Errorf("rotation %.8f rad, want %.8f", got, want)
	}
}

// Heat lengthens the rod by its own expansion; where the straight line of the remanence has run through zero the rod
// refuses instead of turning nothing.
func TestRodWhenHot(t *testing.T) {
	tgg, err := material.NamedParamagnet("TGG")
	if err != nil {
		t.Fatal(err)
	}
	hot := quantity.Celsius(120)
	r := Rod{Name: "rod", Material: tgg, Length: 10e-3, Field: 0.5}
	alpha, _ := tgg.Expansion()
	part := r.Place(hot)
	if got, want := part.Media[0].Drive, 0.5*10e-3*(1+100*alpha); math.Abs(got-want) > 1e-17 ||
		part.Length != part.Media[0].Drive/0.5 {
		t.Errorf("drive %.12g T m over %.12g m, want %.12g", got, part.Length, want)
	}
	r.Field, r.Magnets = 0, magnet.Assembly{{Inner: 3e-3, Outer: 12e-3, Length: 20e-3, Remanence: 1.2,
		Coefficient: -0.02,
		Temperature: magnet.Reference}}
	if err := r.Check(); err != nil {
		t.Fatal(err)
	}
	part = r.Place(hot)
	if err := r.Tune(1064e-9, hot, part.Media); err == nil || !strings.Contains(err.Error(), "leaves none") {
		t.Errorf("a magnet without remanence: %v", err)
	}
}

// What an element is made of says how far outside its fit it is used, by leave only.
func TestFitOf(t *testing.T) {
	yvo4, err := material.Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	silica, err := material.NamedGlass("fused silica")
	if err != nil {
		t.Fatal(err)
	}
	tgg, err := material.NamedParamagnet("TGG")
	if err != nil {
		t.Fatal(err)
	}
	film, err := material.NamedGarnet("Bi:RIG")
	if err != nil {
		t.Fatal(err)
	}
	const far, near = 5e-6, 1.55e-6
	for _, c := range []struct {
		name string
		e    Element
		want bool
	}{
		{"wedge by leave", Wedge{Crystal: yvo4.Extrapolated()}, true},
		{"wedge without", Wedge{Crystal: yvo4}, false},
		{"plate", Plate{Crystal: yvo4.Extrapolated()}, true},
		{"plate of glass", Plate{Glass: silica.Extrapolated()}, true},
		{"retarder", Retarder{Crystal: yvo4.Extrapolated()}, true},
		{"rod", Rod{Material: tgg.Extrapolated()}, true},
		{"film", Rotator{Garnet: film}, true},
	} {
		fit := FitOf(c.e)
		if got := fit.Warning(far); (got != "") != c.want {
			t.Errorf("%s at 5 um: %q", c.name, got)
		}
		if got := fit.Warning(near); got != "" {
			t.Errorf("%s inside its fit: %q", c.name, got)
		}
	}
	for _, e := range []Element{Gap{}, Polarizer{}, Wedge{}} {
		if fit := FitOf(e); fit != nil {
			t.Errorf("a %s has the fit %v", e.Kind(), fit)
		}
	}
}
