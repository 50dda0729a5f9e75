package predict

import (
	"math"
	"testing"

	"wedgework/reports/limits"
	"wedgework/reports/verify/model"
)

// A model through which no light passes, as one of a gross error may be, has a loss that is a number: 300 dB, in
// decibels of a transmission of 1e-30, the same for every polarization.
func TestNoLight(t *testing.T) {
	dark := model.Transmission{}
	if got := WorstOf(limits.InsertionLoss, dark); math.Abs(got-300) > 1e-9 {
		t.Errorf("insertion loss of no light: %g dB, want 300", got)
	}
	if got := WorstOf(limits.PDL, dark); got != 0 {
		t.Errorf("PDL of no light: %g dB, want 0", got)
	}
	if l := Lit(dark); l.Mean()/l.T2 != 1 {
		t.Errorf("from the mean to the worst polarization of no light: %g, want 1", l.Mean()/l.T2)
	}
}
