package main

import (
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/rerun"
	"wedgework/reports/verify"
)

func verified(agreement, conformity, quality document.Outcome) rerun.Verification {
	return rerun.Verification{Result: &verify.Result{
		Unit:       "0417",
		Agreement:  verify.Verdict{Outcome: agreement, Sentence: "because"},
		Conformity: verify.Verdict{Outcome: conformity, Sentence: "because"},
		Quality:    verify.Verdict{Outcome: quality, Sentence: "because"},
	}}
}

// Every verdict of every unit must pass for status 0; undecided and not examined count as not.
func TestStatusOfAReport(t *testing.T) {
	const pass, fail, undecided = document.Pass, document.Fail, document.Undecided
	for _, c := range []struct {
		name string
		of   []rerun.Verification
		want int
	}{
		{"all pass", []rerun.Verification{verified(pass, pass, pass)}, 0},
		{"two units pass", []rerun.Verification{verified(pass, pass, pass), verified(pass, pass, pass)}, 0},
		{"agreement fails", []rerun.Verification{verified(fail, pass, pass)}, 1},
		{"conformity undecided", []rerun.Verification{verified(pass, undecided, pass)}, 1},
		{"quality not examined", []rerun.Verification{verified(pass, pass, 0)}, 1},
		{"the second unit fails", []rerun.Verification{verified(pass, pass, pass), verified(pass, fail, pass)}, 1},
	} {
		var out, err strings.Builder
		a := &app{out: &out, err: &err}
		a.announce(c.of)
		if a.status != c.want {
			t.Errorf("%s: status %d, want %d", c.name, a.status, c.want)
		}
		if got, want := strings.Count(out.String(), "0417: "), 3*len(c.of); got != want || err.Len() > 0 {
			t.Errorf("%s: %d verdicts on standard output and %q on standard error, want %d and nothing", c.name, got,
				err.String(), want)
		}
	}
}
