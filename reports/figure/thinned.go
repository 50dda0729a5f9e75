package figure

import (
	"math"

	"gonum.org/v1/plot/vg"
)

// A long run of points is drawn by fewer: of those that fall one after the other into a column of a quarter point, less
// than half the width of the finest line, the first, the lowest, the highest and the last. What is seen is the same,
// and a sweep of 200,000 points does not make a picture of a hundred megabytes.
const (
	column   = vg.Length(0.25)
	thinFrom = 5000 // points; shorter runs are drawn as they are
)

func thinned(run []vg.Point) []vg.Point {
	if len(run) <= thinFrom {
		return run
	}
	var out []vg.Point
	for i := 0; i < len(run); {
		at := math.Floor(float64(run[i].X / column))
		low, high, end := i, i, i
		for end+1 < len(run) && math.Floor(float64(run[end+1].X/column)) == at {
			end++
			if run[end].Y < run[low].Y {
				low = end
			}
			if run[end].Y > run[high].Y {
				high = end
			}
		}
		last := -1
		for _, j := range []int{i, min(low, high), max(low, high), end} {
			if j != last {
				out, last = append(out, run[j]), j
			}
		}
		i = end + 1
	}
	return out
}
