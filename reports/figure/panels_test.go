package figure

import (
	"strings"
	"testing"

	"wedgework/reports/readout"
)

// framed is a canvas that keeps the frames of the panels drawn on it.
type framed struct {
	sized
	panels []readout.Panel
}

func (f *framed) Panel(p readout.Panel) int { f.panels = append(f.panels, p); return len(f.panels) - 1 }
func (f *framed) Begin(readout.Part, int)   {}
func (f *framed) End()                      {}

// TestFramesOfLowPanels: a figure that gives up a third of its height to stand on a page keeps its frames, whatever
// their axes are called.
func TestFramesOfLowPanels(t *testing.T) {
	chart := func(label string) Chart {
		return Chart{Title: "moving range", X: Axis{Label: "unit, in order"}, Y: Axis{Label: label, Unit: "dB"},
			Series: []Series{{X: []float64{1, 2, 3}, Y: []float64{0.1, 0.3, 0.2}, Line: Solid}}}
	}
	for _, label := range []string{"value", "moving range", "moving range of the least isolation in the band",
		strings.Repeat("letters", 20)} {
		p := Panels{Columns: 2, ShareX: true}
		for range 3 {
			p.Charts = append(p.Charts, chart("value"), chart(label))
		}
		const width, height = 480, 230
		canvas := &framed{sized: sized{w: width, h: height}}
		if err := p.Draw(canvas); err != nil {
			t.Fatal(err)
		}
		if len(canvas.panels) != 6 {
			t.Fatalf("%q: %d panels are drawn, want 6", label, len(canvas.panels))
		}
		for i, a := range canvas.panels {
			if a.Height < height/3/3 || a.Height != canvas.panels[i/2*2].Height || a.Width < width/3 {
				t.Errorf("%q: the frame of panel %d is %g by %g points, of its neighbour %g high", label, i, a.Width, a.Height,
					canvas.panels[i/2*2].Height)
			}
			if a.Top > height || a.Top-a.Height < 0 {
				t.Errorf("%q: the frame of panel %d runs from %g to %g of %d points", label, i, a.Top-a.Height, a.Top,
					height)
			}
		}
	}
}
