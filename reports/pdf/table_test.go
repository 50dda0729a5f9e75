package pdf

import (
	"strings"
	"testing"

	"wedgework/reports/document"
)

func TestGrid(t *testing.T) {
	w := testWriter()
	table := func(cells ...string) document.Table {
		t := document.Table{Rows: [][]string{cells}}
		for range cells {
			t.Columns = append(t.Columns, document.Column{Head: "h"})
		}
		return t
	}
	sentence := strings.Repeat("some words that break well ", 10)
	tests := []struct {
		name  string
		table document.Table
		size  float64
		check func(g grid) string
	}{
		{"narrow tables stay narrow", table("a", "b"), tableSize, func(g grid) string {
			if g.width > 80 {
				return "it is as wide as a page"
			}
			return ""
		}},
		{"a long text fills the rest", table("1.25", sentence), tableSize, func(g grid) string {
			if g.width < textWidth-1 {
				return "it leaves room unused"
			}
			if g.widths[0] < 15 {
				return "the number is squeezed"
			}
			return ""
		}},
		{"short columns are not broken for a long one", table("a short text", sentence, sentence), tableSize,
			func(g grid) string {
				if need := w.fonts.get(faceKey{}).width("a short text", tableSize); g.widths[0] < need {
					return "the short column is broken"
				}
				return ""
			}},
		{"too many words get smaller type", table(strings.Split(strings.Repeat("wavelength,", 12)+"x", ",")...), 6.5,
			nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			g := w.grid(tt.table, w.whole())
			if g.size != tt.size {
				t.Errorf("size %g, want %g", g.size, tt.size)
			}
			if g.width > textWidth+hair {
				t.Errorf("width %.1f, want at most %.1f", g.width, textWidth)
			}
			if tt.check != nil {
				if s := tt.check(g); s != "" {
					t.Errorf("%s: widths %.1f", s, g.widths)
				}
			}
		})
	}
}

func TestCaptionSpans(t *testing.T) {
	tests := []struct{ in, bold string }{
		{"Figure 12. Isolation", "Figure 12."},
		{"Table 3: Limits", "Table 3:"},
		{"Table 3 Limits", "Table 3"},
		{"Figures of merit", ""},
		{"Table of contents", ""},
		{"Figure", ""},
	}
	for _, tt := range tests {
		got := captionSpans(tt.in)
		if document.PlainText(got) != tt.in {
			t.Errorf("captionSpans(%q) says %q", tt.in, document.PlainText(got))
		}
		bold := ""
		if got[0].Style == document.Bold {
			bold = got[0].Text
		}
		if bold != tt.bold {
			t.Errorf("captionSpans(%q) is bold in %q, want %q", tt.in, bold, tt.bold)
		}
	}
}
