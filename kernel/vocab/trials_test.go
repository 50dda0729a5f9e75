package vocab

import (
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/limits"
)

// TestYieldAllowsForTheSurface: a unit that is nearer to its limit than the surface was seen to be off counts at neither end of
// the interval for certain.
func TestYieldAllowsForTheSurface(t *testing.T) {
	list := []wanted{{tolerance.Figure{Quantity: tolerance.Isolation, Wavelengths: make([]quantity.Length, 1), Temperatures: make([]quantity.Temperature, 1)},
		&limits.Limit{Quantity: tolerance.Isolation, AtLeast: true, Value: 40}}}
	found := &tolerance.Outcome{Nominal: []float64{41}, Values: [][]float64{{40.05, 39.95, 41, 39}}, Surface: true, Off: []float64{0.1}}
	got := newTrials(list, found, 4, 1, "")
	low, _ := tolerance.Yield(1, 4)
	_, high := tolerance.Yield(3, 4)
	if got.good != 2 || got.low != low || got.high != high {
		t.Errorf("%d units, %g to %g, want 2, %g to %g", got.good, got.low, got.high, low, high)
	}
	found.Surface = false // each evaluated by itself: nothing is off
	got = newTrials(list, found, 4, 1, "")
	if low, high := tolerance.Yield(2, 4); got.low != low || got.high != high {
		t.Errorf("%g to %g, want %g to %g", got.low, got.high, low, high)
	}
}

// TestBetweenCorners: what is worse for the stack itself than at any corner is said.
func TestBetweenCorners(t *testing.T) {
	at := func(q string) wanted {
		return wanted{figure: tolerance.Figure{Quantity: q, Wavelengths: make([]quantity.Length, 1), Temperatures: make([]quantity.Temperature, 1)}}
	}
	c := Corners{wanted: []wanted{at(tolerance.Isolation), at(tolerance.InsertionLoss), at(tolerance.PDL)},
		found: &tolerance.Corners{Nominal: []float64{40, 0.5, 0.1}, Worst: []tolerance.Corner{{Value: 30}, {Value: 0.4}, {Value: 0.2}}}}
	if said := c.between(); len(said) != 1 || !strings.HasPrefix(said[0], "insertion loss, ") {
		t.Errorf("said %q, want it of the insertion loss", said)
	}
	c.found.Nominal[0] = 29
	if said := c.between(); len(said) != 2 {
		t.Errorf("said %q, want it of the isolation as well", said)
	}
}

func TestPercent(t *testing.T) {
	for share, want := range map[float64]string{0: "0.0 %", 1: "100.0 %", 0.5: "50.0 %", 0.995: "99.50 %", 0.999963: "99.9963 %", 0.003: "0.30 %"} {
		if got := percent(share); got != want {
			t.Errorf("%g is %s, want %s", share, got, want)
		}
	}
}
