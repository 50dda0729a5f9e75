package decide

import (
	"math"
	"testing"

	"wedgework/optics/quantity"
)

// A computed value is stated with three digits, so that the last bits of two processors print alike.
func TestStated(t *testing.T) {
	for v, want := range map[float64]string{
		0.09562371274: "0.0956 dB", 0.09562371275: "0.0956 dB", 0.0999999: "0.1 dB", 12345: "12300 dB",
		-0.0012346: "-0.00123 dB", 0: "0 dB", 1: "1 dB",
	} {
		if got := quantity.Of(stated(v), "dB").String(); got != want {
			t.Errorf("%v is stated as %s, want %s", v, got, want)
		}
	}
	if !math.IsInf(stated(math.Inf(1)), 1) {
		t.Error("an infinite value is stated as a finite one")
	}
}
