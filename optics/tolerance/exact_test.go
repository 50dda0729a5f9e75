package tolerance

import (
	"math"
	"testing"
)

// TestAllowed: 0.02 dB at 60 dB and at 80 dB are the same amplitude.
func TestAllowed(t *testing.T) {
	f := Figure{Quantity: Isolation}
	for _, v := range []float64{20, 60, 80, 100} {
		amplitude := func(a float64) float64 { return math.Pow(10, -a/20) }
		want := 0.02
		if v > 60 { // to first order
			want = (amplitude(60) - amplitude(60.02)) / amplitude(v) * 20 / math.Ln10
		}
		if got := f.allowed(v); math.Abs(got/want-1) > 0.002 {
			t.Errorf("at %g dB: %g dB, want %g", v, got, want)
		}
	}
}
