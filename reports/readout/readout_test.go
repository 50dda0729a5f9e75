package readout

import (
	"encoding/json"
	"math"
	"testing"
)

// Values are written as they are printed in their unit, gaps as null, and nothing ends the script element.
func TestJSON(t *testing.T) {
	nan := math.NaN()
	f := Figure{Width: 10, Height: 5, Panels: []Panel{{Title: "</script>", Left: 1.23456, Top: 2, Width: 3, Height: 4,
		X: Axis{Label: "wavelength", Unit: "nm", Low: 1500, High: 1600}, Y: Axis{Label: "n", Low: 1, High: 1.001},
		Series: []Series{{Label: "a", Color: "#000000", X: Numbers{1550.00049, 1551}, Y: Numbers{1.00012345678, nan},
			U: Numbers{-0.0000000001, nan}}}}}}
	f.Settle(func(unit string) (int, bool) { return 3, unit == "nm" })
	got, err := f.JSON()
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"w":10,"h":5,"p":[{"t":"\u003c/script\u003e","l":1.23,"o":2,"w":3,"h":4,` +
		`"x":{"n":"wavelength","u":"nm","a":1500,"b":1600,"d":3},"y":{"n":"n","a":1,"b":1.001,"d":7},` +
		`"s":[{"n":"a","c":"#000000","w":0,"x":[1550,1551],"y":[1.0001235,null],"u":[0,null]}]}]}`
	if string(got) != want || !json.Valid(got) {
		t.Errorf("got %s\nwant %s", got, want)
	}
	if n := f.Points(); n != 2 {
		t.Errorf("%d points, want 2", n)
	}
	f.Panels[0].Left = Rounded(nan)
	if _, err := f.JSON(); err == nil {
		t.Error("a place that is no number gives no error")
	}
}

// A two-thousandth of an axis is told apart: 0.05 of 0 to 100 needs two decimals.
func TestDecimals(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		log       bool
		want      int
	}{{0, 100, false, 2}, {0, 2000, false, 0}, {0, 1e6, false, 0}, {1, 1.001, false, 7}, {0, 1e-30, false, 9},
		{1, 1, false, 3}, {0.01, 100, true, 6}} {
		if got := (Axis{Low: c.low, High: c.high, Log: c.log}).decimals(); got != c.want {
			t.Errorf("%g to %g: %d decimals, want %d", c.low, c.high, got, c.want)
		}
	}
}

// TestAxesDoNotKnowTheProcessor: the ends of an axis that differ as sums do on two processors are written alike, and lie
// where they are within what is seen.
func TestAxesDoNotKnowTheProcessor(t *testing.T) {
	for _, low := range []float64{-6.0331405, -6.0331414, 1498.92, 0.0123456} {
		a := Axis{Low: low, High: low + 7.5926}
		b := Axis{Low: low - 4e-9, High: low + 7.5926 + 4e-9}
		one, two := a.fine()(a.Low), b.fine()(b.Low)
		if one != two {
			t.Errorf("%v is written %v and %v", low, one, two)
		}
		if off := (one - low) / (a.High - a.Low); off > 1e-4 || off < -1e-4 {
			t.Errorf("%v is written %v, off by %v of the axis", low, one, off)
		}
	}
}
