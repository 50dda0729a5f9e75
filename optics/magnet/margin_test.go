package magnet

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
)

var film = Film{Radius: 0.3e-3, From: -0.2e-3, To: 0.2e-3, Saturation: 0.08}

// The least field of the search on the surface against a plain scan of the whole volume, cold and hot.
func TestMarginAgainstAScanOfTheVolume(t *testing.T) {
	for _, c := range []struct {
		from, to, radius, celsius float64
	}{
		{-0.2e-3, 0.2e-3, 0.3e-3, 20}, {-0.2e-3, 0.2e-3, 0.3e-3, 85}, {0.5e-3, 1.2e-3, 0.9e-3, 20},
		{-1.5e-3, 0.9e-3, 1.2e-3, -40}, {3.5e-3, 7e-3, 2e-3, 70}, {0, 0, 0.1e-3, 20}, {-1e-3, 1e-3, 0, 20},
	} {
		f := Film{quantity.Length(c.radius), quantity.Length(c.from), quantity.Length(c.to), 0.08}
		got, err := published.Margin(f, quantity.Celsius(c.celsius))
		if err != nil {
			t.Fatal(err)
		}
		const n = 60
		want := math.Inf(1)
		for i := 0; i <= n; i++ {
			for j := 0; j <= n; j++ {
				rho, z := c.radius*float64(i)/n, c.from+(c.to-c.from)*float64(j)/n
				_, b, err := published.Polar(quantity.Length(rho), quantity.Length(z), quantity.Celsius(c.celsius))
				if err != nil {
					t.Fatal(err)
				}
				want = min(want, math.Abs(b))
			}
		}
		// The search may only be lower, by what the scan's grid misses: 2e-3 of the field.
		if got.Least > want*(1+1e-12) || got.Least < want*(1-2e-3) {
			t.Errorf("%+v: got %.9g T, want %.9g", c, got.Least, want)
		}
		if math.Abs(got.Ratio-got.Least/0.08) > 1e-12 {
			t.Errorf("%+v: ratio %g of %g T", c, got.Ratio, got.Least)
		}
		_, b, err := published.Polar(got.Rho, got.Z, quantity.Celsius(c.celsius))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(b-got.Signed) > 1e-12 {
			t.Errorf("%+v: Bz at the place named is %.9g T, want %.9g", c, b, got.Signed)
		}
	}
}

// A film across the place where the field turns is nowhere saturated there.
func TestMarginWhereTheFieldTurns(t *testing.T) {
	f := film
	f.From, f.To = 2e-3, 3e-3
	m, err := published.Margin(f, room)
	if err != nil {
		t.Fatal(err)
	}
	if m.Least != 0 || m.Ratio != 0 {
		t.Errorf("got %+v, want no margin", m)
	}
	low, high := extremes(f, func(rho, z float64) float64 {
		_, b := published.unit(rho, z-float64(published.Position))
		return b
	})
	if !(low.b < 0 && high.b > 0) {
		t.Errorf("extremes %g and %g: the case tests nothing", low.b, high.b)
	}
}

func TestMarginRefusesWhatIsNoFilm(t *testing.T) {
	for _, c := range []struct {
		change func(*Film)
		want   string
	}{
		{func(f *Film) { f.Radius = 1.6e-3 }, "reaches into the magnet"},
		{func(f *Film) { f.From = 1 }, "not a volume"},
		{func(f *Film) { f.Saturation = 0 }, "positive"},
		{func(f *Film) { f.Radius = quantity.Length(math.NaN()) }, "not a volume"},
	} {
		f := film
		c.change(&f)
		if _, err := published.Margin(f, room); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %q", f, err, c.want)
		}
	}
}
