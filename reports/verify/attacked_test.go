package verify_test

import (
	"context"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

// attacked is a sound unit on a fine grid whose readings are changed; it passes as it is.
func attacked(t *testing.T, change func(s *verify.Spec)) *verify.Result {
	t.Helper()
	u := nearUnit(8)
	u.step, u.first, u.temperatures, u.inFile, u.noise = 0.5, 1526.05, []float64{23}, false, 0.04
	u.margins[limits.Isolation], u.margins[limits.InsertionLoss] = 0.5, 0.3
	s, _, err := u.spec(t)
	if err != nil {
		t.Fatal(err)
	}
	s.MaxGap = 2 * quantity.Nanometre
	change(&s)
	r, err := verify.Run(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A meter that is stuck and whose last digits toggle by less than the noise, and a hole of 5 nm inside the band, prove
// nothing: no limit is met by them, and data quality fails.
func TestNothingProved(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(s *verify.Spec)
		passes bool
	}{
		{"as it is", func(*verify.Spec) {}, true},
		{"a meter that toggles", func(s *verify.Spec) {
			for i, row := range s.Readings.Rows {
				for k := range row.Figures {
					if f := &row.Figures[k]; f.Quantity == limits.Isolation {
						f.Value = 40 + 0.02*float64(i%3)
					}
				}
			}
		}, false},
		{"a hole in the band", func(s *verify.Spec) {
			var kept []verify.Reading
			for _, row := range s.Readings.Rows {
				if l := row.Wavelength / quantity.Nanometre; l < 1542 || l > 1547 {
					kept = append(kept, row)
				}
			}
			s.Readings.Rows = kept
		}, false},
	} {
		r := attacked(t, c.change)
		if d := r.Decisions[0]; (d.Outcome == document.Pass) != c.passes {
			t.Errorf("%s: the isolation is found %v, %q", c.name, d.Outcome, d.Reserve)
		}
		if (r.Quality.Outcome == document.Pass) != c.passes {
			t.Errorf("%s: data quality is %v", c.name, r.Quality.Outcome)
		}
	}
}
