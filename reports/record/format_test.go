package record

import (
	"math"
	"testing"
)

func TestCondition(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want Number
	}{{1535, "1535"}, {23.5, "23.5"}, {-5, "-5"}, {-0.0001, "0"}, {1550.1236, "1550.124"}, {100, "100"},
		{math.NaN(), ""}} {
		if got := Condition(c.v); got != c.want {
			t.Errorf("Condition(%g) = %q, want %q", c.v, got, c.want)
		}
	}
}

func TestPrinted(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Number("0.010").Equation("p"), "p = 0.010"},
		{Number("0.0004").Equation("p"), "p < 0.001"},
		{Number("1.000").Equation("p"), "p > 0.999"},
		{Number("1.000").Chance(), ">" + Tie + "99.9" + Tie + "%"},
		{Number("0.000").Chance(), "<" + Tie + "0.1" + Tie + "%"},
		{Number("0.512").Chance(), "51.2" + Tie + "%"},
		{Number("").Chance(), ""},
		{Between("-0.866", "-0.846"), "−0.866" + Tie + "to" + Tie + "−0.846"},
		{Number("0.779").Percent(), "77.9" + Tie + "%"},
		{Number("0.12").Signed() + Number("-0.12").Signed() + Number("0.00").Signed(), "+0.12−0.120.00"},
		{Number("").Or("none") + Number("-1").Or("none"), "none−1"},
		{string(Number("-0.30").Abs()), "0.30"},
		{string(Exact(0.000001) + "," + Exact(1)), "0.000001,1"},
		{string(Probability(0) + "," + Probability(1)), "0.000001,0.999999"},
		{string(InUnit(30, "dB") + "," + InUnit(1550.04, "nm") + "," + InUnit(0.69403, "ps")), "30.00,1550.0,0.694"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
