package diagnose

import (
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
)

// A departure that the tolerance of a look-alike accounts for is no fault of the parameter that was named.
func TestShareOfALookalike(t *testing.T) {
	far := func(limit float64) document.Outcome {
		d := Departure{Departure: -0.6, U: 0.02, Tolerance: 0.3, Within: document.Fail,
			Alike: []Alike{{Path: "wedge2.axis", Departure: quantity.Of(0.6, "deg")}}}
		d.share(map[string]tolerance.Tolerance{"wedge2.axis": {Shape: tolerance.Uniform, Value: quantity.Of(limit,
			"deg")}})
		return d.Within
	}
	for _, c := range []struct {
		limit float64
		want  document.Outcome
	}{{0.15, document.Fail}, {0.29, document.Undecided}, {0.6, document.Undecided}, {0, document.Fail}} {
		if got := far(c.limit); got != c.want {
			t.Errorf("axis held to %g deg: %v, want %v", c.limit, got, c.want)
		}
	}
}
