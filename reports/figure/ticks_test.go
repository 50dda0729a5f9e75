package figure

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/plot"
)

func labels(ticks []plot.Tick) string {
	var out []string
	for _, t := range ticks {
		if t.Label != "" {
			out = append(out, t.Label)
		}
	}
	return strings.Join(out, " ")
}

func TestLinearTicks(t *testing.T) {
	tests := []struct {
		name     string
		lo, hi   float64
		count    int
		want     string
		exponent int
	}{
		{"a band of wavelengths", 1500, 1580, 8, "1500 1510 1520 1530 1540 1550 1560 1570 1580", 0},
		{"few", 1500, 1580, 4, "1500 1520 1540 1560 1580", 0},
		{"across zero", -1.1, 1.1, 5, "−1.0 −0.5 0.0 0.5 1.0", 0},
		{"decimals of the step", 0.35, 0.62, 3, "0.4 0.5 0.6", 0},
		{"far from zero", 1549.95, 1550.05, 5, "1549.96 1549.98 1550.00 1550.02 1550.04", 0},
		{"thousandths", 0, 0.004, 4, "0 1 2 3 4", -3},
		{"small by 1e-9", 0, 2e-9, 4, "0.0 0.5 1.0 1.5 2.0", -9},
		{"large", 0, 3e6, 3, "0 1 2 3", 6},
		{"no negative zero", -0.4, 0.4, 4, "−0.4 −0.2 0.0 0.2 0.4", 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			ticks, exponent := linearTicks(tt.lo, tt.hi, tt.count)
			if got := labels(ticks); got != tt.want || exponent != tt.exponent {
				t.Errorf("labels %q times 1e%d, want %q times 1e%d", got, exponent, tt.want, tt.exponent)
			}
			for _, x := range ticks {
				if x.Value < tt.lo || x.Value > tt.hi {
					t.Errorf("tick at %g, outside %g to %g", x.Value, tt.lo, tt.hi)
				}
			}
		})
	}
}

func TestLogTicks(t *testing.T) {
	tests := []struct {
		name   string
		lo, hi float64
		count  int
		want   string
	}{
		{"three decades", 0.1, 100, 6, "0.1 1 10 100"},
		{"less than one and a half", 2, 30, 6, "2 5 10 20"},
		{"far decades", 1e-7, 1e-5, 6, "1e−07 1e−06 1e−05"},
		{"more decades than room", 1e-6, 1e6, 4, "1e−06 0.001 1 1000 1e+06"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := labels(logTicks(tt.lo, tt.hi, tt.count)); got != tt.want {
				t.Errorf("labels %q, want %q", got, tt.want)
			}
		})
	}
}

func TestAxisText(t *testing.T) {
	tests := []struct {
		axis     Axis
		exponent int
		want     string
	}{
		{Axis{Label: "Delay", Unit: "ps"}, 0, "Delay (ps)"},
		{Axis{Label: "Delay", Unit: "ps"}, -6, "Delay (1e-6 ps)"},
		{Axis{Label: "Ratio"}, 0, "Ratio"},
		{Axis{Label: "Ratio"}, 3, "Ratio (1e3)"},
	}
	for _, tt := range tests {
		if got := tt.axis.text(tt.exponent); got != tt.want {
			t.Errorf("text(%d) of %+v = %q, want %q", tt.exponent, tt.axis, got, tt.want)
		}
	}
}

func TestBounds(t *testing.T) {
	tests := []struct {
		name string
		axis Axis
		in   span
		want span
	}{
		{"stated", Axis{Min: 1, Max: 2}, span{5, 6}, span{1, 2}},
		{"margin", Axis{}, span{0, 10}, span{-1, 11}},
		{"one value", Axis{}, span{30, 30}, span{27, 33}},
		{"one value but for rounding", Axis{}, span{30, math.Nextafter(30, 31)}, span{27, 33}},
		{"zero", Axis{}, span{0, 0}, span{-0.5, 0.5}},
		{"one value on a log axis", Axis{Log: true}, span{100, 100}, span{25.118864315095795, 398.1071705534973}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			// A relative 1e-12 covers the last bits of Pow on other processors.
			close := cmp.Comparer(func(a, b float64) bool {
				return a-b <= 1e-12*max(a, b, 1) && b-a <= 1e-12*max(a, b,
					1)
			})
			if diff := cmp.Diff(tt.axis.bounds(tt.in, 0.1), tt.want, cmp.AllowUnexported(span{}), close); diff != "" {
				t.Errorf("bounds (-got +want):\n%s", diff)
			}
		})
	}
}
