package tolerance

import (
	"testing"

	"wedgework/optics/quantity"
)

// TestSigns: a thickness ends at zero; the slope of a film, an angle and the place of a magnet go through it.
func TestSigns(t *testing.T) {
	for path, c := range map[string]struct {
		value, by quantity.Quantity
		goes      bool
	}{
		"gap1.length":              {quantity.Of(0.1, "mm"), quantity.Of(0.3, "mm"), false},
		"wedge1.reflectance":       {quantity.Of(0.1, "percent"), quantity.Of(0.3, "percent"), false},
		"wedge1.azimuth":           {quantity.Of(0, "deg"), quantity.Of(1, "deg"), true},
		"rotator1.magnet_position": {quantity.Of(0, "mm"), quantity.Of(0.1, "mm"), true},
		"rotator1.per_kelvin": {quantity.Quantity{Value: 0.01, Unit: perKelvin(t)},
			quantity.Quantity{Value: 0.02, Unit: perKelvin(t)}, true},
	} {
		a, err := NewAxis(path, c.value)
		if err != nil {
			t.Fatal(err)
		}
		if got := a.Quantity(a.At + a.Displaced(-c.by.SI())); (got.Value < 0) != c.goes {
			t.Errorf("%s of %s less %s is %s", path, c.value, c.by, got)
		}
	}
}

func perKelvin(t *testing.T) quantity.Unit {
	q, err := quantity.Div(quantity.Of(1, "deg"), quantity.Of(1, "kelvin"))
	if err != nil {
		t.Fatal(err)
	}
	return q.Unit
}
