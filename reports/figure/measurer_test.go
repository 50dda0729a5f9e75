package figure

import (
	"fmt"
	"testing"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
)

// TestMeasurer: a text measured before is as large as the library says, in each font, and so is one after many others.
func TestMeasurer(t *testing.T) {
	plain := text.Plain{Fonts: font.DefaultCache}
	m := plot.DefaultTextHandler.(*measurer)
	check := func(s string) {
		for _, style := range []text.Style{textStyle(labelSize, true), textStyle(labelSize, false),
			textStyle(tickSize, false)} {
			for range 2 {
				w, h, d := m.Box(s, style.Font)
				if pw, ph, pd := plain.Box(s, style.Font); w != pw || h != ph || d != pd {
					t.Errorf("%q in %v: %v, %v, %v, want %v, %v, %v", s, style.Font, w, h, d, pw, ph, pd)
				}
			}
		}
	}
	check("isolation (dB)")
	for i := range mostWidths {
		m.Box(fmt.Sprint(i), sans)
	}
	check("isolation (dB)")
	check("−40")
	if len(m.widths) > mostWidths {
		t.Errorf("%d widths are kept, want at most %d", len(m.widths), mostWidths)
	}
}
