package compose

import (
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/verify"
)

// TestOnlyBounds: where every backward reading says "at least" there is no normalized error, and a sentence stands
// where its empty figure could not be drawn.
func TestOnlyBounds(t *testing.T) {
	for _, censored := range []bool{false, true} {
		r := &verify.Result{Runs: []verify.Sweep{{Temperature: 296}}, Points: []verify.Point{{Wavelength: 1550e-9,
			Isolation: 60, Censored: censored}}}
		if _, drawn := residuals(r).(document.Figure); drawn == censored {
			t.Errorf("censored %v: a figure is %v", censored, drawn)
		}
	}
}
