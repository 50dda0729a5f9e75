package qualify_test

import (
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/qualify"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
)

// TestSizes: samples for a consumer's risk of 10 %, exactly binomial. Those for 20, 10 and 5 % are the widely printed
// LTPD table; 333 for 2 % with 3 failures is in Trindade and Meade, JSM 1999; the rest was worked out with scipy. For a
// finite lot: N = 100 with 10 bad takes 20, N = 50 with 5 bad takes 18.
func TestSizes(t *testing.T) {
	for _, c := range []struct {
		ltpd  float64
		sizes [4]int
	}{{0.20, [4]int{11, 18, 25, 32}}, {0.10, [4]int{22, 38, 52, 65}}, {0.05, [4]int{45, 77, 105, 132}},
		{0.02, [4]int{114, 194, 265, 333}}} {
		for allowed, want := range c.sizes {
			n, err := qualify.Size(c.ltpd, 0.1, allowed, 0)
			if err != nil || n != want {
				t.Errorf("LTPD %g with %d allowed takes %d (%v), want %d", c.ltpd, allowed, n, err, want)
			}
			p := qualify.Plan{Units: n, Allowed: allowed}
			if q := p.Quality(0.1); q > c.ltpd || math.Abs(p.Accept(q)-0.1) > 1e-9 {
				t.Errorf("the plan of %d has an LTPD of %g, accepted with %g", n, q, p.Accept(q))
			}
		}
	}
	for lot, want := range map[int]int{100: 20, 50: 18} {
		if n, err := qualify.Size(0.1, 0.1, 0, lot); err != nil || n != want {
			t.Errorf("LTPD 10 %% of a lot of %d takes %d (%v), want %d", lot, n, err, want)
		}
	}
	for allowed, want := range []float64{0.002329, 0.009432, 0.015908} { // AQL at 95 % of the plans for LTPD 10 %
		n, _ := qualify.Size(0.1, 0.1, allowed, 0)
		if q := (qualify.Plan{Units: n, Allowed: allowed}).Quality(0.95); math.Abs(q-want) > 1e-6 {
			t.Errorf("AQL %g, want %g", q, want)
		}
	}
	if _, err := qualify.Size(1e-9, 0.1, 0, 0); err == nil || !strings.Contains(err.Error(), "no sample") {
		t.Errorf("an LTPD of 1e-9: %v", err)
	}
	// No failure in n: 1 - (1 - C)^(1/n), in closed form.
	if b := qualify.Bound(0, 22, 0.9); math.Abs(b-(1-math.Pow(0.1, 1.0/22))) > 1e-12 {
		t.Errorf("bound %g", b)
	}
}

// TestAcceptSums compares with the sum of the binomial law, term by term.
func TestAcceptSums(t *testing.T) {
	p := qualify.Plan{Units: 38, Allowed: 3}
	for _, share := range []float64{0.001, 0.02, 0.1, 0.5} {
		term, sum := math.Pow(1-share, 38), 0.0
		for k := 0; k <= 3; k++ {
			sum += term
			term *= float64(38-k) / float64(k+1) * share / (1 - share)
		}
		if got := p.Accept(share); math.Abs(got-sum) > 1e-12 {
			t.Errorf("share %g is accepted with %g, want %g", share, got, sum)
		}
	}
}

var on = limits.Limit{Quantity: limits.InsertionLoss, Value: 0.6, Low: 1535 * quantity.Nanometre,
	High: 1565 * quantity.Nanometre, TemperatureLow: quantity.Celsius(23), TemperatureHigh: quantity.Celsius(23)}

// measured is a verification with one figure.
func measured(sha string, value float64) *verify.Result {
	d := verify.Decision{Covered: true, Decided: true}
	line := func(name string, u float64, shared uncertainty.Shared) uncertainty.Line {
		return uncertainty.Line{Name: name, Contribution: u, Shared: shared}
	}
	c := uncertainty.Combine([]uncertainty.Line{line("power_meter", 0.04, uncertainty.ByAll),
		line("repeatability", 0.03, uncertainty.ByPoint)})
	d.Decision = limits.Decide(on, uncertainty.Estimate{Value: value, Standard: c.Standard})
	return &verify.Result{Unit: "7", SHA256: sha, Decisions: []verify.Decision{d},
		Budgets: []verify.FigureBudget{{Figure: d.Figure() + ", " + d.Condition(), Combined: c}}}
}

// TestChangeCancels: with u = 0.05 dB each (0.04 and 0.03), the change has sqrt(2) 0.05 = 0.0707 dB, and where the
// power meter is common sqrt(2) 0.03 = 0.0424 dB.
func TestChangeCancels(t *testing.T) {
	l := on
	l.Value, l.Change = 0.2, &limits.Change{Since: "before damp heat"}
	for _, c := range []struct {
		common []string
		u      float64
		want   document.Outcome
	}{{nil, 0.05 * math.Sqrt2, document.Undecided}, {[]string{"power_meter"}, 0.03 * math.Sqrt2, document.Pass}} {
		all, err := qualify.Changes(measured("a", 0.30), measured("b", 0.40), limits.Limits{on, l}, c.common)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(all[0].Standard-c.u) > 1e-12 || math.Abs(all[0].Measured-0.1) > 1e-12 || all[0].Outcome != c.want {
			t.Errorf("common %v: %g ± %g, %v", c.common, all[0].Measured, all[0].Standard, all[0].Outcome)
		}
	}
	other := measured("b", 0.4)
	other.Unit = "8"
	for want, f := range map[string]func() error{
		"of unit \"8\"": func() error { _, err := qualify.Changes(measured("a", 1), other, limits.Limits{l}, nil); return err },
		"the same readings": func() error {
			_, err := qualify.Changes(measured("a", 1), measured("a", 1), limits.Limits{l}, nil)
			return err
		},
		"no limit is on": func() error {
			_, err := qualify.Changes(measured("a", 1), measured("b", 1), limits.Limits{on}, nil)
			return err
		},
		"repeatability is no contribution common": func() error {
			_, err := qualify.Changes(measured("a", 1), measured("b", 1), limits.Limits{l}, []string{"repeatability"})
			return err
		},
	} {
		if err := f(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got the error %v, want one with %q", err, want)
		}
	}
}

// TestMatrix: undecided units and a sample that is too small keep a test from passing, and a requirement without
// evidence is not shown.
func TestMatrix(t *testing.T) {
	units := func(pass, fail, open int) (all []qualify.Unit) {
		for range pass {
			all = append(all, qualify.Unit{After: document.Pass})
		}
		for range fail {
			all = append(all, qualify.Unit{After: document.Fail})
		}
		for range open {
			all = append(all, qualify.Unit{After: document.Pass, Missing: "not measured"})
		}
		return all
	}
	plan := qualify.Plan{Units: 5, Allowed: 1}
	for _, c := range []struct {
		units []qualify.Unit
		want  document.Outcome
	}{{units(5, 0, 0), document.Pass}, {units(4, 1, 0), document.Pass}, {units(3, 2, 0), document.Fail},
		{units(4, 0, 1), document.Pass}, {units(3, 1, 1), document.Undecided}, {units(4, 0, 0), document.Undecided}} {
		test := qualify.Test{Name: "a", Plan: plan, Units: c.units}
		q := qualify.Qualification{Tests: []qualify.Test{test}}
		if got := q.Outcome(); got != c.want {
			t.Errorf("%d units: %v, want %v", len(c.units), got, c.want)
		}
		q.Requirements = []qualify.Requirement{{Text: "R1", Evidence: []string{"a"}}, {Text: "R2"}}
		if got := q.Shown(q.Requirements[1]); got != document.Undecided || q.Check() != nil {
			t.Errorf("a requirement without evidence is %v; %v", got, q.Check())
		}
	}
	bad := qualify.Qualification{Requirements: []qualify.Requirement{{Text: "R1", Evidence: []string{"b"}}}}
	if err := bad.Check(); err == nil || !strings.Contains(err.Error(), `names the test "b"`) {
		t.Errorf("got %v", err)
	}
}
