package model

import (
	"context"
	"math"
	"testing"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/verifytest"
)

// Anchored copies say what they would say without an anchor, whether they keep its ghosts or drop them.
func TestAnchoredSaysTheSame(t *testing.T) {
	s := verifytest.SingleStage(t, 45, 0.0005)
	plain := ForStack(s)
	sweeps := []readings.Sweep{{Temperature: quantity.Celsius(-5), Low: 1500e-9, High: 1580e-9},
		{Temperature: quantity.Celsius(70), Low: 1500e-9, High: 1580e-9}}
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
		if keeps := m.(stacked).apart == nil; keeps != c.keeps {
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
						t.Fatalf("%s, direction %v, %.0f nm: got %.9g, want %.9g", c.name, d, float64(ls[i])*1e9,
							got[i].T1, want[i].T1)
					}
				}
			}
		}
	}
}

// Of two stages the ghosts of one depend on the leakage of the other: copies have their own, and say what they would
// say by tracing them at every wavelength.
func TestOwnGhostsOfTwoStages(t *testing.T) {
	spec := verifytest.SingleStage(t, 42, 0.0005).Spec()
	core := spec.Elements
	spec.Elements = nil
	for _, by := range []quantity.Angle{0, -45 * quantity.Degree} {
		for _, e := range core {
			spec.Elements = append(spec.Elements, e.Rolled(by).Labelled(""))
		}
		if by == 0 {
			spec.Elements = append(spec.Elements, element.Gap{Length: 0.5 * quantity.Millimetre})
		}
	}
	spec.Beam.WorkingDistance = 10 * quantity.Millimetre
	s, err := stack.New(spec)
	if err != nil {
		t.Fatal(err)
	}
	plain := ForStack(s)
	sweep := readings.Sweep{Temperature: quantity.Celsius(23), Low: 1500e-9, High: 1580e-9}
	a, err := plain.(stacked).Anchored(context.Background(), []readings.Sweep{sweep})
	if err != nil {
		t.Fatal(err)
	}
	values := map[string]quantity.Quantity{"rotator2.angle": quantity.Of(44.5, "deg")}
	m, err := a.Adjusted(values)
	if err != nil {
		t.Fatal(err)
	}
	if m.(stacked).apart == nil {
		t.Fatal("the anchor's ghosts are kept")
	}
	full, err := plain.Adjusted(values)
	if err != nil {
		t.Fatal(err)
	}
	var ls []quantity.Length
	for k := range 21 {
		ls = append(ls, quantity.Length(1500+4*float64(k))*quantity.Nanometre)
	}
	got, err := m.Over(context.Background(), Backward, ls, sweep.Temperature)
	if err != nil {
		t.Fatal(err)
	}
	for i, l := range ls {
		want, err := full.Over(context.Background(), Backward, ls[i:i+1], sweep.Temperature)
		if err != nil {
			t.Fatal(err)
		}
		// 0.0004 dB, a hundredth of what any instrument repeats to
		if math.Abs(got[i].Mean()-want[0].Mean()) > 1e-4*want[0].Mean() {
			t.Errorf("%.0f nm: got %.6g, want %.6g", float64(l)*1e9, got[i].Mean(), want[0].Mean())
		}
	}
}
