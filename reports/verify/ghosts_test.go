package verify

import (
	"context"
	"math"
	"testing"

	"wedgework/optics/quantity"
)

// Anchored copies say what they would say without an anchor, whether they keep its ghosts or drop them.
func TestAnchoredSaysTheSame(t *testing.T) {
	s := SingleStage(t, 45, 0.0005)
	plain := ForStack(s)
	sweeps := []Sweep{{Temperature: quantity.Celsius(-5), Low: 1500e-9, High: 1580e-9}, {Temperature: quantity.Celsius(70), Low: 1500e-9, High: 1580e-9}}
	a, err := plain.(stacked).Anchored(context.Background(), sweeps)
	if err != nil {
		t.Fatal(err)
	}
	var ls []quantity.Length
	for k := range 81 {
		ls = append(ls, quantity.Length(1500e-9+1e-9*float64(k)))
	}
	for _, c := range []struct {
		name   string
		values map[string]quantity.Quantity
		keeps  bool
	}{
		{"itself", nil, true},
		{"a little short", map[string]quantity.Quantity{"rotator1.angle": quantity.Of(44.95, "deg")}, true},
		{"an axis off", map[string]quantity.Quantity{"wedge2.axis": quantity.Of(67.55, "deg")}, true},
		{"leaky", map[string]quantity.Quantity{"rotator1.extinction": quantity.Of(30, "dB")}, true},
		{"far off", map[string]quantity.Quantity{"rotator1.angle": quantity.Of(35, "deg")}, false},
		{"bright faces", map[string]quantity.Quantity{"rotator1.reflectance": quantity.Of(0.2, "percent")}, false},
	} {
		m, err := a.Adjusted(c.values)
		if err != nil {
			t.Fatal(err)
		}
		full, err := plain.Adjusted(c.values)
		if err != nil {
			t.Fatal(err)
		}
		if keeps := !m.(stacked).apart; keeps != c.keeps {
			t.Errorf("%s: keeps the anchor's ghosts: %v, want %v", c.name, keeps, c.keeps)
		}
		for _, d := range []Direction{Forward, Backward} {
			for _, celsius := range []float64{-5.3, 70} {
				got, err := m.Over(context.Background(), d, ls, quantity.Celsius(celsius))
				if err != nil {
					t.Fatal(err)
				}
				want, err := full.Over(context.Background(), d, ls, quantity.Celsius(celsius))
				if err != nil {
					t.Fatal(err)
				}
				for i := range ls {
					// What hold lets pass and what an interpolation lets pass.
					if math.Abs(got[i].T1-want[i].T1) > 2*smoothError*want[i].T1 {
						t.Fatalf("%s, direction %v, %.0f nm: got %.9g, want %.9g", c.name, d, float64(ls[i])*1e9, got[i].T1, want[i].T1)
					}
				}
			}
		}
	}
}
