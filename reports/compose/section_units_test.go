package compose

import (
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/require"
)

// A unit that is undecided takes half a page at most: two of them share one, with the demo's number of limits. One that
// fails has pages of its own.
func TestUndecidedUnitsTakeHalfAPage(t *testing.T) {
	tool := require.Tool(t, "pdftotext")
	s := sized(9, 3, 3, false)
	for i := range s.Record.Units[:8] {
		u := &s.Record.Units[i]
		u.Limits[0].Outcome = "undecided"
		u.Verdicts[1].Outcome = "undecided"
		u.Verdicts[1].Sentence = "undecided: isolation at least 30.00 dB (1500 nm to 1565 nm, -5 °C), measured 30.10 dB " +
			"(interval 29.90 to 30.30 dB)"
		u.Verdicts[2].Sentence = "all 17 checks made pass; not checked: drift between repeats (the file numbers no sweep " +
			"as a repeat), age of the reference (the file states no date of the reference)"
		u.Diagnosis.Sentence = "no fitted parameter is outside its tolerance; the rotator angle (rotator1.angle) is " +
			"45.134° ± 0.021°, 0.134° beyond the specified 45° and within the tolerance of ±0.3°"
	}
	d := document.Document{Title: s.title(), Sections: pages(s)}
	number(d.Sections)
	all := strings.Split(printed(t, tool, "undecided.pdf", d), "\f")
	last, failed := 0, 0
	for i, page := range all {
		if strings.Contains(page, "Unit 0008") {
			last = i + 1
		}
		if strings.Contains(page, "Unit 0009: details") {
			failed++
		}
	}
	if last == 0 || last > 5 {
		t.Errorf("8 undecided units end on page %d, want at most 5: half a page each, and the title", last)
	}
	if failed != 1 {
		t.Errorf("the details of the unit that fails begin on %d pages, want one", failed)
	}
}
