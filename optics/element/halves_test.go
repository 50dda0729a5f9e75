package element

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

// Two half-wave plates side by side: the first half's faces, the second half's medium across the border, both turned with
// the part; the parameters of either half are its own.
func TestHalves(t *testing.T) {
	c, err := material.Named("quartz")
	if err != nil {
		t.Fatal(err)
	}
	half := func(axis float64) Retarder {
		return Retarder{Crystal: c, Retardance: math.Pi, At: 1550e-9, Axis: quantity.Angle(axis * deg)}
	}
	h := Halves{Name: "h", First: half(22.5), Second: half(67.5), Towards: 90 * deg, Border: 0.4e-3}
	if err := h.Check(); err != nil {
		t.Fatal(err)
	}
	turned := h.Rolled(-90 * deg).(Halves)
	part := turned.Place(quantity.Celsius(20))
	if err := turned.Tune(1550e-9, quantity.Celsius(20), part.Media); err != nil {
		t.Fatal(err)
	}
	b := part.Media[0].Beside
	if d := b.Depth(0.5e-3, 7e-3); math.Abs(d-0.1e-3) > 1e-15 {
		t.Errorf("0.5 mm towards the second half, %.3g m deep in it, want 0.1e-3", d)
	}
	for i, m := range []Medium{part.Media[0], b.Medium} {
		want := []float64{22.5 - 90, 67.5 - 90}[i]
		if got := math.Atan2(m.Crystal.Axis.Y, m.Crystal.Axis.X) / deg; math.Abs(got-want) > 1e-9 {
			t.Errorf("half %d: axis at %g deg, want %g", i+1, got, want)
		}
		if !(m.Crystal.E > m.Crystal.O && m.Crystal.O > 1.5) {
			t.Errorf("half %d: indices %g and %g of quartz are not set", i+1, m.Crystal.O, m.Crystal.E)
		}
	}
	e, err := h.With("second_axis", quantity.Of(70, "deg"))
	if err != nil {
		t.Fatal(err)
	}
	if a := e.(Halves).Second.(Retarder).Axis; math.Abs(float64(a)-70*deg) > 1e-15 {
		t.Errorf("axis of the second half %g rad", float64(a))
	}
	for _, c := range []struct {
		h    Halves
		want string
	}{
		{Halves{First: half(0)}, "both halves"},
		{Halves{First: half(0), Second: Gap{}}, "not a gap"},
		{Halves{First: half(0), Second: Retarder{Crystal: c, Retardance: math.Pi / 2, At: 1550e-9}}, "one thickness"},
		{Halves{First: half(0), Second: Retarder{Crystal: c, Retardance: math.Pi, At: 1550e-9, Tilt: 1 * deg}}, "same tilt"},
		{Halves{First: half(0), Second: Retarder{Retardance: math.Pi, At: 1550e-9}}, "no crystal"},
	} {
		if err := c.h.Check(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want an error about %q", err, c.want)
		}
	}
	if err := (Mirror{Name: "m", Reflectance: 1.2}).Check(); err == nil {
		t.Error("a mirror that reflects more than all")
	}
}
