package model

import (
	"math"
	"testing"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

func TestSmooth(t *testing.T) {
	var ls []quantity.Length
	for k := range 401 {
		ls = append(ls, quantity.Length(1500e-9+0.2e-9*float64(k)))
	}
	count := 0
	curve := func(periods float64) func([]quantity.Length) ([]polar.Gram, error) {
		return func(ls []quantity.Length) ([]polar.Gram, error) {
			count += len(ls)
			out := make([]polar.Gram, len(ls))
			for i, l := range ls {
				s := math.Sin(periods * math.Pi * float64(l-1550e-9) / 80e-9)
				out[i] = polar.Gram{XX: 1e-5 + s*s, YY: 0.5 * (1e-5 + s*s)}
			}
			return out, nil
		}
	}
	for _, c := range []struct {
		name    string
		periods float64
		few     bool
	}{{"a null", 0.1, true}, {"some ripple", 3, true}, {"a comb that needs every point", 60, false}} {
		count = 0
		got, err := smooth(ls, false, curve(c.periods), func(h polar.Gram) polar.Gram { return h })
		if err != nil {
			t.Fatal(err)
		}
		if few := count < 100; few != c.few {
			t.Errorf("%s: %d evaluations for %d wavelengths", c.name, count, len(ls))
		}
		want, _ := curve(c.periods)(ls)
		for i := range ls {
			if math.Abs(got[i].XX-want[i].XX) > 1e-4*want[i].XX || math.Abs(got[i].YY-want[i].YY) > 1e-4*want[i].YY {
				t.Errorf("%s at %.1f nm: got %v, want %v", c.name, float64(ls[i])*1e9, got[i], want[i])
				break
			}
		}
	}
}
