package tolerance

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Score is gonum's quantile to the bit, in the middle, at the seams and far out.
func TestScoreIsQuantile(t *testing.T) {
	seam := 0.075
	all := []float64{0, 1e-300, 1e-20, seam, math.Nextafter(seam, 0), math.Nextafter(seam, 1), 0.5, 1 - seam, 0.925,
		math.Nextafter(0.925, 0), math.Nextafter(0.925, 1), 1 - 0x1p-53, 1}
	for k := range 20000 {
		all = append(all, (float64(k)+0.5)/20000)
	}
	for _, p := range all {
		got, want := Score(p), distuv.UnitNormal.Quantile(p)
		if got != want {
			t.Errorf("of %.17g: %.17g, want %.17g", p, got, want)
		}
	}
}

// Numbers of units in a row are those of each unit.
func TestStreamFillIsAt(t *testing.T) {
	s := NewStream(7, 3)
	all := make([]float64, 100)
	s.Fill(12345, 2, all)
	for i, v := range all {
		if want := s.At(12345+i, 2); v != want {
			t.Errorf("unit %d: %.17g, want %.17g", i, v, want)
		}
	}
}
