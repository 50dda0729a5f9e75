package lot

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Change is where the mean of a series steps from one level to another.
type Change struct {
	At            int     // index of the first value of the new level
	Before, After float64 // means of the stretches on both sides
	PValue        float64 // bound on the chance of such a step where there is none
}

// ChangeRisk is the chance up to which a step is taken for one. It is a choice: a history is looked at over and over.
const ChangeRisk = 0.01

// ShortestLevel is how many values a level has at least: a value or two that stand out are a signal of the chart.
const ShortestLevel = 5

// Changes finds the steps of a series. In a stretch, and in ever shorter ones within it that overlap by half (so that a
// step up does not hide one down: seeded binary segmentation, Kovács et al., Biometrika 110, 249, 2023), Student's t is
// worked out between the mean before and after every place. Where it says most, the series is parted if the two-sided
// p-value, times the number of places that were tried (Bonferroni), is at most ChangeRisk; both parts are then looked
// at in the same way, and at last each step is put where it fits best between its neighbours. It supposes independent,
// normal values of one variance; a slow drift shows as several steps.
func Changes(values []float64) []Change {
	s := newSums(values)
	var at []int
	p := map[int]float64{}
	var part func(from, to int)
	part = func(from, to int) {
		k, chance := s.search(from, to)
		if !(chance <= ChangeRisk) {
			return
		}
		at, p[k] = append(at, k), chance
		part(from, k)
		part(k, to)
	}
	part(0, len(values))
	slices.Sort(at)
	ends := append(append([]int{0}, at...), len(values))
	var all []Change
	for i, k := range at {
		if moved, t := s.step(ends[i], ends[i+2]); t > 0 {
			ends[i+1] = moved
		}
		all = append(all, Change{At: ends[i+1], PValue: p[k]})
	}
	for i := range all {
		all[i].Before, all[i].After = s.level(ends[i], ends[i+1]), s.level(ends[i+1], ends[i+2])
	}
	return all
}

// sums are running sums of values and of their squares, from their mean.
type sums struct {
	mean float64
	of   [][2]float64
}

func newSums(values []float64) sums {
	s := sums{of: make([][2]float64, len(values)+1)}
	for _, v := range values {
		s.mean += v / float64(len(values))
	}
	for i, v := range values {
		d := v - s.mean
		s.of[i+1] = [2]float64{s.of[i][0] + d, s.of[i][1] + d*d}
	}
	return s
}

// level is the mean of a stretch.
func (s sums) level(from, to int) float64 {
	return s.mean + (s.of[to][0]-s.of[from][0])/float64(to-from)
}

// search returns the step of a stretch that is least likely by chance, and the bound on that chance; NaN where the
// stretch is too short or its values are alike.
func (s sums) search(from, to int) (at int, chance float64) {
	least, tried := math.NaN(), 0
	for length := to - from; length >= 2*ShortestLevel; length = (length + 1) / 2 {
		for begin := from; ; begin += length / 2 {
			end := min(begin+length, to)
			tried += max(0, end-begin-2*ShortestLevel+1)
			if k, t := s.step(begin, end); t > 0 {
				p := 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(end - begin - 2)}.Survival(t)
				if !(p >= least) {
					at, least = k, p
				}
			}
			if end == to {
				break
			}
		}
	}
	return at, min(1, least*float64(tried))
}

// step returns the place in a stretch where the means on both sides differ most, and Student's t of their difference; 0
// where the stretch is too short or its values are alike.
func (s sums) step(from, to int) (at int, t float64) {
	n := float64(to - from)
	if n < 2*ShortestLevel {
		return 0, 0
	}
	total, squares := s.of[to][0]-s.of[from][0], s.of[to][1]-s.of[from][1]
	about := squares - total*total/n
	if !(about > 1e-18*s.of[len(s.of)-1][1]) {
		return 0, 0
	}
	most := 0.0
	for k := from + ShortestLevel; k <= to-ShortestLevel; k++ {
		m := float64(k - from)
		d := s.of[k][0] - s.of[from][0] - total*m/n
		if between := d * d * n / (m * (n - m)); between > most {
			at, most = k, between
		}
	}
	within := max(about-most, 1e-15*about) // a series of two levels and no scatter
	return at, math.Sqrt(most / within * (n - 2))
}
