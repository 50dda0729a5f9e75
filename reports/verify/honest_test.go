package verify_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/verify"
)

// A polarization that was not sought out proves no limit that holds over all of them; it may disprove one.
func TestUnsoughtPolarizationMeetsNoLimit(t *testing.T) {
	for _, p := range []verify.Polarization{verify.FixedUnknown, verify.Unstated} {
		s := scenario(good(), other)
		s.Readings.Polarization = p
		r := run(t, s)
		if r.Conformity.Outcome != document.Undecided {
			t.Errorf("%q: %v, want undecided: %s", p, r.Conformity.Outcome, r.Conformity.Sentence)
		}
		for _, d := range r.Decisions {
			if !strings.Contains(d.Reserve, "polarization") || d.Correction != 0 {
				t.Errorf("%q: reserve %q, correction %g dB", p, d.Reserve, d.Correction)
			}
		}
		each(&s, func(r *verify.Reading) { iso(r).Value = 10 })
		if r := run(t, s); r.Conformity.Outcome != document.Fail {
			t.Errorf("%q, 10 dB everywhere: %v, want fail", p, r.Conformity.Outcome)
		}
	}
}

// Readings that show less light than the fixture lets through contradict the floor, and are named by their lines.
func TestReadingsBelowTheFloor(t *testing.T) {
	s := scenario(good(), other)
	floor := *s.Budget.Floor
	// without it the floor's power may be none at all, and nothing contradicts that
	floor.Uncertainty = quantity.Of(0.5, "dB")
	s.Budget.Floor = &floor
	find := func(r *verify.Result) verify.Check {
		for _, c := range r.Checks {
			if c.Name == "readings above the floor" {
				return c
			}
		}
		t.Fatal("the readings were not held against the floor")
		return verify.Check{}
	}
	if c := find(run(t, s)); c.Outcome != document.Pass {
		t.Errorf("sound readings: %v: %s", c.Outcome, c.Sentence)
	}
	for _, level := range []float64{floor.Level.SI() + 4, 120} {
		iso(&s.Readings.Rows[3]).Value = level
		r := run(t, s)
		if c := find(r); c.Outcome != document.Fail ||
			!strings.Contains(c.Sentence, "line "+strconv.Itoa(s.Readings.Rows[3].Line)) {
			t.Errorf("a reading of %g dB: %v: %s", level, c.Outcome, c.Sentence)
		}
		if r.Quality.Outcome != document.Fail {
			t.Errorf("a reading of %g dB: data quality %v, want fail", level, r.Quality.Outcome)
		}
	}
}

// One wild reading leaves the model's figures what they are.
func TestOneWildReading(t *testing.T) {
	sound := run(t, scenario(good(), other))
	s := scenario(good(), other)
	for i, r := range s.Readings.Rows {
		if r.Wavelength > 1549e-9 && r.Wavelength < 1551e-9 && !math.IsNaN(iso(&r).Value) {
			iso(&s.Readings.Rows[i]).Value = 0
			break
		}
	}
	r := run(t, s)
	for i, f := range r.Figures {
		if f.Name == "minimum isolation" && math.Abs(f.Specified.Value-sound.Figures[i].Specified.Value) > 1 {
			t.Errorf("%s, %s: the model has %.2f dB, and %.2f dB with sound readings", f.Name, f.Condition,
				f.Specified.Value,
				sound.Figures[i].Specified.Value)
		}
	}
}
