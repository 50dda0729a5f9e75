package drawing

import (
	"image/color"
	"math"
	"testing"
)

// TestFillsInGrey converts the fills of a drawing to grey, by the luma of ITU-R BT.709 (0.2126 R + 0.7152 G + 0.0722
// B), as a copier without colours shows them: whatever stands beside or on another differs from it by greyStep.
func TestFillsInGrey(t *testing.T) {
	grey := func(c color.Color) float64 {
		n := color.NRGBAModel.Convert(c).(color.NRGBA)
		return 0.2126*float64(n.R) + 0.7152*float64(n.G) + 0.0722*float64(n.B)
	}
	fills := map[string]color.Color{"glass": glassTint, "crystal": crystalTint, "beam": beamTint, "film": filmTint,
		"magnet": magnetTint}
	for a, x := range fills {
		for b, y := range fills {
			if step := math.Abs(grey(x) - grey(y)); a < b && step < greyStep {
				t.Errorf("%s and %s differ by %.1f of 255 in grey, want %d", a, b, step, greyStep)
			}
		}
		// Text and lines on them are nearly black; 4.5 to 1 is what WCAG 2.1 asks of text.
		linear := func(v float64) float64 { return math.Pow(v/255, 2.2) }
		if ratio := (linear(grey(x)) + 0.05) / (linear(grey(ink)) + 0.05); ratio < 4.5 {
			t.Errorf("text on %s has a contrast of %.1f, want 4.5", a, ratio)
		}
	}
}
