package document

import (
	"strings"
	"testing"
)

// One minus sign in each kind of text: that of the keyboard in plain text, which is pasted into cells and other
// programs, and the true one wherever text is set. Dates and names keep their hyphens.
func TestOneMinusSign(t *testing.T) {
	blocks := []Block{
		Table{Columns: []Column{{Head: "a"}, {Head: "code", Mono: true}}, Rows: [][]string{{"-3.5 nm", "-3"},
			{minus + "2 dB", "x"}, {"2026-11-25", "y"}, {"-40 °C to -20 °C", "z"}, {"unit 04-17", ""}, {"-.5", ""}}},
		Fields{Rows: []Field{{Name: "b", Value: "(-7.25 ± 0.1) deg"}}},
		Caution{Text: "found -1 dB"},
		Paragraph{Spans: []Span{{Text: "x " + minus + "1.5 nm"}}},
	}
	b := Bundle(blocks)
	plain, page := b["text/plain"].(string), b["text/html"].(string)
	for _, s := range []string{"-3.5 nm", "-2 dB", "2026-11-25", "-40 °C to -20 °C", "(-7.25", "found -1 dB", "x -1.5 nm"} {
		if !strings.Contains(plain, s) {
			t.Errorf("plain text lacks %q:\n%s", s, plain)
		}
	}
	if strings.Contains(plain, minus) {
		t.Errorf("plain text has the sign of print:\n%s", plain)
	}
	for _, s := range []string{"−3.5 nm", "−2 dB", "2026-11-25", "−40 °C to −20 °C", "(−7.25", "found −1 dB", "x −1.5 nm",
		">-3<", "unit 04-17", "−.5"} {
		if !strings.Contains(page, s) {
			t.Errorf("the page lacks %q:\n%s", s, page)
		}
	}
}
