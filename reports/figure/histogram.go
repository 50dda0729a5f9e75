package figure

import (
	"errors"
	"fmt"
	"math"
)

// Bins of a histogram when their number is left open: the root of the number of values, within these bounds.
const (
	leastBins = 8
	mostBins  = 30
)

// BinsFor is the number of bins that shows so many values without noise: the root of the number, 8 to 30.
func BinsFor(values int) int { return min(max(int(math.Sqrt(float64(values))), leastBins), mostBins) }

// Histogram is how values are spread: the share of them, in percent, in each of a number of bins of one width between
// low and high, as bars and their outline. A value at an edge belongs to the bin above, one at high to the last. NaN is
// left out; values beyond low and high are not drawn and count to the whole.
func Histogram(values []float64, low, high float64, bins int) (Band, Series, error) {
	if !(high > low) || bins < 1 {
		return Band{}, Series{}, fmt.Errorf("a histogram of %d bins from %g to %g, expected at least one bin and "+
			"rising ends",
			bins, low, high)
	}
	share := make([]float64, bins)
	n, width := 0, (high-low)/float64(bins)
	for _, v := range values {
		if math.IsNaN(v) {
			continue
		}
		n++
		if v < low || v > high {
			continue
		}
		share[min(int((v-low)/width), bins-1)]++
	}
	if n == 0 {
		return Band{}, Series{}, errors.New("a histogram of no values")
	}
	var bars Band
	outline := Series{Line: Solid}
	point := func(x, y float64) { outline.X, outline.Y = append(outline.X, x), append(outline.Y, y) }
	point(low, 0)
	for k, s := range share {
		s *= 100 / float64(n)
		for _, x := range []float64{low + float64(k)*width, low + float64(k+1)*width} {
			bars.X, bars.Low, bars.High = append(bars.X, x), append(bars.Low, 0), append(bars.High, s)
			point(x, s)
		}
	}
	point(high, 0)
	return bars, outline, nil
}
