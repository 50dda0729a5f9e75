package uncertainty_test

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

func TestStandard(t *testing.T) {
	dB := quantity.Of(0.06, "dB")
	for _, c := range []struct {
		name string
		c    uncertainty.Contribution
		want float64
	}{
		{"normal", uncertainty.Contribution{Value: dB}, 0.06},
		{"rectangular", uncertainty.Contribution{Value: dB, Distribution: uncertainty.Rectangular},
			0.06 / math.Sqrt(3)},
		{"triangular", uncertainty.Contribution{Value: dB, Distribution: uncertainty.Triangular}, 0.06 / math.Sqrt(6)},
		{"arcsine", uncertainty.Contribution{Value: dB, Distribution: uncertainty.Arcsine}, 0.06 / math.Sqrt2},
		{"own divisor", uncertainty.Contribution{Value: dB, Divisor: 2}, 0.03},
		{"length in metres", uncertainty.Contribution{Value: quantity.Of(0.02, "nm")}, 0.02e-9},
	} {
		got, err := c.c.Standard()
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name, got, c.want, 1e-15)
	}
}

func TestSharedBy(t *testing.T) {
	for _, c := range []struct {
		name  string
		given uncertainty.Shared
		want  uncertainty.Shared
	}{
		{"repeatability", "", uncertainty.ByPoint},
		{"wavelength", "", uncertainty.ByRun},
		{"power_meter", "", uncertainty.ByAll},
		{"power_meter", uncertainty.ByRun, uncertainty.ByRun},
		{"connector", "", uncertainty.ByAll},
	} {
		if got := (uncertainty.Contribution{Name: c.name, Shared: c.given}).SharedBy(); got != c.want {
			t.Errorf("%s shared by %q: got %s, want %s", c.name, c.given, got, c.want)
		}
	}
}

func TestCheck(t *testing.T) {
	good := uncertainty.Contribution{Name: "repeatability", Value: quantity.Of(0.05, "dB")}
	floor := func(level, u quantity.Quantity) *uncertainty.Floor {
		return &uncertainty.Floor{Level: level, Uncertainty: u}
	}
	for _, c := range []struct {
		name string
		b    uncertainty.Budget
		want string
	}{
		{"empty", uncertainty.Budget{}, ""},
		{"good", uncertainty.Budget{Contributions: []uncertainty.Contribution{good}, Floor: floor(quantity.Of(62, "dB"),
			quantity.Quantity{})}, ""},
		{"twice", uncertainty.Budget{Contributions: []uncertainty.Contribution{good, good}},
			`"repeatability" is given twice`},
		{"no name", uncertainty.Budget{Contributions: []uncertainty.Contribution{{Value: quantity.Of(1, "dB")}}},
			"has no name"},
		{"a temperature", uncertainty.Budget{Contributions: []uncertainty.Contribution{{Name: "t",
			Value: quantity.Of(23, "degC")}}}, "a point on a scale"},
		{"negative", uncertainty.Budget{Contributions: []uncertainty.Contribution{{Name: "t", Value: quantity.Of(-1,
			"dB")}}}, "not negative"},
		{"an angle", uncertainty.Budget{Contributions: []uncertainty.Contribution{{Name: "t",
			Value: quantity.Of(1, "deg")}}}, "a level in dB, a delay, a length or a temperature"},
		{"shared", uncertainty.Budget{Contributions: []uncertainty.Contribution{{Name: "t", Value: quantity.Of(1, "dB"),
			Shared: "lot"}}}, "expected point, run or all"},
		{"distribution", uncertainty.Budget{Contributions: []uncertainty.Contribution{{Name: "t",
			Value: quantity.Of(1, "dB"), Distribution: "flat"}}}, "expected normal, rectangular"},
		{"divisor", uncertainty.Budget{Contributions: []uncertainty.Contribution{{Name: "t",
			Value: quantity.Of(1, "dB"), Divisor: -1}}}, "must be positive"},
		{"freedom", uncertainty.Budget{Contributions: []uncertainty.Contribution{{Name: "t",
			Value: quantity.Of(1, "dB"), DOF: -1}}}, "degrees of freedom"},
		{"half a degree", uncertainty.Budget{Contributions: []uncertainty.Contribution{{Name: "t",
			Value: quantity.Of(1, "dB"), DOF: 0.5}}}, "0.5 degrees of freedom: 1 or more"},
		{"floor", uncertainty.Budget{Floor: floor(quantity.Of(62, "dBm"), quantity.Quantity{})}, "a loss in dB"},
		{"floor's uncertainty", uncertainty.Budget{Floor: floor(quantity.Of(62, "dB"), quantity.Of(1, "nm"))},
			"a level in dB"},
	} {
		err := c.b.Check()
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
	}
}
