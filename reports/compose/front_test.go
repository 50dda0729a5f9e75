package compose

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/pdf"
	"wedgework/reports/record"
	"wedgework/reports/require"
	"wedgework/reports/rerun"
	"wedgework/reports/verify"
)

// sized is what a report of so many units, limits and temperatures is made from. One limit of the last unit fails, and
// one is not decided; with all set, every limit of every unit fails.
func sized(units, bounds, temperatures int, all bool) Source {
	s := Source{Record: &record.Record{Number: "WR-12345-12345"}, Outcome: &rerun.Outcome{},
		Digest: strings.Repeat("a", 64)}
	s.Outcome.Header = record.Header{Title: "Isolator core", Part: "P-1", Revision: "B", Change: "CR-1"}
	lot := record.Lot{Lot: "26-11", Order: "in order of the time measured", Sentence: "limits: some pass"}
	for n := range units {
		u := record.Unit{Unit: fmt.Sprintf("%04d", n+1), Lot: "26-11", Input: fmt.Sprintf("%d.csv", n),
			Measured: "2026-11-18"}
		var unmet []string
		for k := range bounds {
			l := record.Limit{Quantity: string(limits.Isolation), Rule: "at least", Limit: "30.00", Unit: "dB",
				Over:     fmt.Sprintf("%d nm to 1565 nm, %d °C", 1500+k, -5+15*(k%temperatures)),
				Measured: record.InUnit(31+0.01*float64(k), "dB"), Margin: record.InUnit(1+0.01*float64(k), "dB"),
				Uncertainty: "0.20", GuardBand: "0.20", Conformance: "0.99", Outcome: "pass"}
			if all || n == units-1 && k == bounds-1 {
				l.Outcome, l.Margin, l.Measured = "fail", "-1.00", "29.00"
				unmet = append(unmet, "limit not met: isolation at least 30.00 dB ("+l.Over+"), measured (29.00 ± "+
					"0.20) dB")
			}
			u.Limits = append(u.Limits, l)
		}
		outcome, sentence := "pass", "every limit is met"
		if len(unmet) > 0 {
			outcome, sentence = "fail", strings.Join(unmet, "; ")
			lot.Sentence += "; outside tolerance: " + u.Unit
		}
		u.Diagnosis.Correction = &record.Correction{Part: "wedge2", Turn: "0.920", Uncertainty: "0.031", Unit: "deg",
			Cost: "0.025"}
		for k, l := range u.Limits { // the turn is good for some bands and bad for others
			u.Diagnosis.Correction.Gains = append(u.Diagnosis.Correction.Gains, record.Gain{At: l.Over, Before: "34.00",
				After: record.InUnit(35-0.2*float64(k), "dB")})
		}
		u.Verdicts = []record.Verdict{{Subject: "model agreement", Outcome: "pass", Sentence: "all figures agree"},
			{Subject: "limit conformity", Outcome: outcome, Sentence: sentence},
			{Subject: "data quality", Outcome: "pass", Sentence: "all checks made pass"}}
		s.Record.Units = append(s.Record.Units, u)
		lot.Units = append(lot.Units, record.LotUnit{Unit: u.Unit})
		s.Outcome.Verified = append(s.Outcome.Verified, rerun.Verification{Result: &verify.Result{Unit: u.Unit,
			Meta: [][2]string{{"operator", "A. Example"}, {"chamber", "CH-2"}, {"power meter", "PM-11"},
				{"power meter calibration due", "2027-05-12"}}}})
	}
	if units > 1 {
		s.Record.Lots = []record.Lot{lot}
	}
	return s
}

// frontOf is the report without what stands behind what is signed.
func frontOf(s Source) document.Document {
	d := document.Document{Title: s.title(), Subtitle: s.subtitle(), Covers: s.covers(), Identity: s.identity(),
		Verdicts: s.verdicts(), Report: s.Record.Number, Code: record.Code(s.Record.Number, s.Digest)}
	if len(s.units()) > 1 {
		d.Sections = []document.Section{summary(s)}
	} else {
		d.Sections = alone(s)[:1]
	}
	number(d.Sections)
	return d
}

// What is signed stands on the first page, whatever is verified: three verdicts, the limit that fails, operator, place,
// instruments and the day until which they are calibrated, the boxes to tick and the lines to sign, and no contents
// before them. All limits stand in a table behind.
func TestFirstPageHoldsWhatIsSigned(t *testing.T) {
	tool := require.Tool(t, "pdftotext")
	type size struct{ units, limits, temperatures int }
	var sizes []size
	numbers, lots := []int{1, 13, 40}, []int{3, 100}
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		numbers, lots = []int{1, 2, 3, 5, 8, 13, 20, 30, 40}, []int{2, 3, 12, 13, 30, 100}
	}
	for _, n := range numbers {
		sizes = append(sizes, size{1, n, 1 + n%6})
	}
	for _, n := range lots {
		sizes = append(sizes, size{n, 1, 1}, size{n, 6, 6}, size{n, 40, 6})
	}
	for _, z := range sizes {
		for _, all := range []bool{false, true} {
			out := printed(t, tool, fmt.Sprintf("front-%d-%d-%t.pdf", z.units, z.limits, all),
				frontOf(sized(z.units, z.limits, z.temperatures, all)))
			pages := strings.Split(out, "\f")
			front := strings.Join(strings.Fields(pages[0]), " ")
			for _, want := range []string{"Model agreement", "Limit conformity", "FAIL", "Data quality", "fail",
				"A. Example", "chamber CH-2", "power meter PM-11 (calibration due 2027-05-12)",
				"accept reject rework concession no.", "Signature", "Prepared", "Reviewed", "Approved"} {
				if !strings.Contains(front, want) {
					t.Errorf("%+v, all %t: the first page lacks %q:\n%s", z, all, want, pages[0])
				}
			}
			if strings.Contains(front, "Contents") {
				t.Errorf("%+v: contents stand before what is signed", z)
			}
			text := strings.Join(strings.Fields(out), " ")
			for k := range z.limits {
				if band := fmt.Sprintf("%d to 1565 nm", 1500+k); !strings.Contains(text, band) {
					t.Errorf("%+v: no table has the limit over %s", z, band)
				}
			}
			if t.Failed() {
				return
			}
		}
	}
}

// A rework that bears on many bands names three on the first page, and between what lie the others.
func TestReworkOfManyBands(t *testing.T) {
	c := record.Correction{Part: "wedge2", Turn: "0.920", Uncertainty: "0.031", Unit: "deg", Cost: "0.025"}
	for k := range 40 {
		c.Gains = append(c.Gains, record.Gain{At: fmt.Sprintf("%d nm to 1565 nm, 23 °C", 1500+k), Before: "34.00",
			After: record.InUnit(35-0.2*float64(k), "dB")})
	}
	text := rework(c)
	for _, want := range []string{"turn wedge2 by +0.920", "34.00 to 35.00 dB (1500", "34.00 to 34.60 dB (1502",
		"and over 37 further bands by −6.80 to +0.40 dB", "insertion loss +0.025 dB"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q lacks %q", text, want)
		}
	}
	if strings.Contains(text, "1503") || len(text) > 330 {
		t.Errorf("%d bytes: %s", len(text), text)
	}
}

// printed is the text of a document's pages. WEDGEWORK_KEEP_PAGES=DIR keeps them there under a name.
func printed(t *testing.T, tool, name string, d document.Document) string {
	t.Helper()
	file, _, err := pdf.Render(d, pdf.Options{})
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "report.pdf")
	if keep := os.Getenv("WEDGEWORK_KEEP_PAGES"); keep != "" {
		path = filepath.Join(keep, name)
	}
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-layout", "-enc", "UTF-8", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// The signatures stay on the first page when every unit was measured three times, as in a qualification, and of the
// tests that do not count the page names the one that fails.
func TestFirstPageAfterRetests(t *testing.T) {
	tool := require.Tool(t, "pdftotext")
	s := sized(12, 2, 1, false)
	for n := range 12 {
		for _, day := range []string{"2026-10-05", "2026-10-12"} {
			u := s.Record.Units[n]
			u.Measured, u.Input, u.Later = day, "qualification-damp-heat-"+day+".csv", "later.csv"
			u.Diagnosis.Correction = &record.Correction{Part: "wedge2", Turn: "0.920", Uncertainty: "0.031", Unit: "deg",
				Cost: "0.025"}
			for k, l := range u.Limits { // the turn is good for some bands and bad for others
				u.Diagnosis.Correction.Gains = append(u.Diagnosis.Correction.Gains, record.Gain{At: l.Over, Before: "34.00",
					After: record.InUnit(35-0.2*float64(k), "dB")})
			}
			u.Verdicts = []record.Verdict{{Subject: "model agreement", Outcome: "pass"},
				{Subject: "limit conformity", Outcome: "pass"}, {Subject: "data quality", Outcome: "pass"}}
			if n == 7 && day == "2026-10-12" {
				u.Verdicts[1].Outcome = "fail"
			}
			s.Record.Units = append(s.Record.Units, u)
			s.Outcome.Verified = append(s.Outcome.Verified, s.Outcome.Verified[n])
		}
	}
	s.Record.Retests = &record.Retests{Rule: "latest", Sentence: "measured more than once: 0001 to 0012; rule for " +
		"retests: latest, only the latest test of a unit counts"}
	pages := strings.Split(printed(t, tool, "front-retests.pdf", frontOf(s)), "\f")
	front := strings.Join(strings.Fields(pages[0]), " ")
	for _, want := range []string{"Not counted: 24 earlier tests, each in a section of its own; 23 of 24 tests pass.",
		"Not counted: unit 0008, test of 2026-10-12 (qualification-damp-heat-2026-10-12.csv): model agreement pass, " +
			"limit conformity fail, data quality pass.", "Signature", "Prepared", "Reviewed", "Approved"} {
		if !strings.Contains(front, want) {
			t.Errorf("the first page lacks %q:\n%s", want, pages[0])
		}
	}
}
