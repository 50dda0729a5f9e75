package text

import (
	"math"
	"testing"
)

func TestTwoDigits(t *testing.T) {
	for _, c := range []struct {
		u    float64
		want int
	}{{0.041, 3}, {0.0996, 3}, {0.1, 2}, {1.5, 1}, {12, 0}, {4000, 0}, {0, 3}, {math.NaN(), 3}, {math.Inf(1), 3},
		{1e-30, 9}} {
		if got := TwoDigits(c.u); got != c.want {
			t.Errorf("twoDigits(%g) = %d, want %d", c.u, got, c.want)
		}
	}
}

func TestDecimals(t *testing.T) {
	for _, c := range []struct {
		u    float64
		want int
	}{{0.031, 2}, {0.029, 3}, {0.012, 3}, {0.3, 1}, {4, 0}, {1.5, 1}, {120, 0}, {0, 2}, {math.Inf(1), 2}} {
		if got := Decimals(c.u); got != c.want {
			t.Errorf("%g: got %d decimals, want %d", c.u, got, c.want)
		}
	}
}
