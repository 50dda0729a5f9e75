package main

import (
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

func verified(outcomes ...document.Outcome) record.Unit {
	u := record.Unit{Unit: "0417"}
	for i, o := range outcomes {
		u.Verdicts = append(u.Verdicts, record.Verdict{Subject: []string{"model agreement", "limit conformity",
			"data quality"}[i], Outcome: o.String(), Sentence: "because"})
	}
	return u
}

// Every verdict of every unit must pass for status 0; undecided and not examined count as not.
func TestStatusOfAReport(t *testing.T) {
	const pass, fail, undecided = document.Pass, document.Fail, document.Undecided
	for _, c := range []struct {
		name string
		of   []record.Unit
		want int
	}{
		{"all pass", []record.Unit{verified(pass, pass, pass)}, 0},
		{"two units pass", []record.Unit{verified(pass, pass, pass), verified(pass, pass, pass)}, 0},
		{"agreement fails", []record.Unit{verified(fail, pass, pass)}, 1},
		{"conformity undecided", []record.Unit{verified(pass, undecided, pass)}, 1},
		{"quality not examined", []record.Unit{verified(pass, pass, 0)}, 1},
		{"the second unit fails", []record.Unit{verified(pass, pass, pass), verified(pass, fail, pass)}, 1},
	} {
		var out, err strings.Builder
		a := &app{out: &out, err: &err}
		a.announce(&record.Record{Units: c.of})
		if a.status != c.want {
			t.Errorf("%s: status %d, want %d", c.name, a.status, c.want)
		}
		if got, want := strings.Count(out.String(), "0417: "), 3*len(c.of); got != want || err.Len() > 0 {
			t.Errorf("%s: %d verdicts on standard output and %q on standard error, want %d and nothing", c.name, got,
				err.String(), want)
		}
	}
}
