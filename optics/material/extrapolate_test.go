package material

import (
	"errors"
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
)

func TestExtrapolated(t *testing.T) {
	strict, err := Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	c := strict.Extrapolated()
	if strict.Extrapolates() || !c.Extrapolates() {
		t.Errorf("leave to extrapolate: strict %v, extrapolated %v", strict.Extrapolates(), c.Extrapolates())
	}
	n, err := c.At(1620e-9, quantity.Celsius(20))
	if err != nil {
		t.Fatal(err)
	}
	// The fit itself, by hand: n^2 = A + B/(L^2 - C) - D L^2.
	const l2 = 1.62 * 1.62
	if want := math.Sqrt(3.77834 + 0.069736/(l2-0.04724) - 0.0108133*l2); math.Abs(n.O-want) > 1e-14 {
		t.Errorf("no at 1620 nm: got %.12f, want %.12f", n.O, want)
	}
	inside, err := c.At(1550e-9, quantity.Celsius(20))
	if err != nil {
		t.Fatal(err)
	}
	if same, err := strict.At(1550e-9, quantity.Celsius(20)); err != nil || same != inside {
		t.Errorf("inside the range leave to extrapolate changes nothing: got %v, want %v (%v)", inside, same, err)
	}
	for _, v := range []struct {
		c    *Crystal
		nm   float64
		want string
	}{
		{c, 1550, ""}, {c, 1600, ""}, {strict, 1620, ""},
		{c, 1640, "YVO4: 1640 nm is 40 nm (2.5 %) above the range of its dispersion fit, 500 to 1600 nm; the index " +
			"is extrapolated"},
		{c, 450, "YVO4: 450 nm is 50 nm (10 %) below the range of its dispersion fit, 500 to 1600 nm; the index is " +
			"extrapolated"},
	} {
		if got := v.c.Warning(quantity.Length(v.nm) * quantity.Nanometre); got != v.want {
			t.Errorf("warning at %g nm: got %q, want %q", v.nm, got, v.want)
		}
	}
	card := ""
	for _, row := range c.Describe() {
		card += row[0] + ": " + row[1] + "\n"
	}
	if !strings.Contains(card, "500 to 1600 nm; extrapolated outside it, as asked") {
		t.Errorf("the card does not say that it extrapolates:\n%s", card)
	}
}

// Past a resonance of the fit there is no index, though its formula gives a number there.
func TestExtrapolationEndsAtAResonance(t *testing.T) {
	yvo4, err := Named("YVO4")
	if err != nil {
		t.Fatal(err)
	}
	mgf2, err := Named("MgF2")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		crystal *Crystal
		um      float64
	}{
		{yvo4, 0.2}, {yvo4, 0.05}, {yvo4, 30}, {mgf2, 40}, {mgf2, 23.8}, {yvo4, math.Inf(1)},
	} {
		_, err := c.crystal.Extrapolated().At(quantity.Length(c.um)*quantity.Micrometre, quantity.Celsius(20))
		if err == nil || !strings.Contains(err.Error(), "gives no index") {
			t.Errorf("%s at %g um: got %v, want an error", c.crystal.Name(), c.um, err)
		}
	}
	var out *RangeError
	for _, um := range []float64{0, -1, math.NaN()} {
		if _, err := yvo4.Extrapolated().At(quantity.Length(um)*quantity.Micrometre,
			quantity.Celsius(20)); !errors.As(err,
			&out) {
			t.Errorf("at %g um: got %v, want a range error", um, err)
		}
	}
}
