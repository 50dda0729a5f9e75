package quality

import (
	"fmt"
	"math"
	"slices"

	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// A stretch of readings is frozen when so many neighbours differ by no more than their last digit while the model that
// fits best changes over them by so many digits, and by more than the noise hides; or when they differ by little of
// their noise while the model changes by more than noise ever does in sweeps of thousands of readings (choices). A
// meter may freeze for a part of a sweep, and its last digits may still toggle.
const (
	frozenLeast  = 8
	frozenDigits = 10
	frozenNoise  = 4

	toggleWithin = 2 // standard uncertainties of a reading, from the least to the greatest
	toggleNoise  = 10
)

// freeze is how still readings of a stretch lie, and what the model must change by over it.
type freeze struct{ digits, noise, leastDigits, leastNoise float64 }

var freezes = []freeze{{1.01, 0, frozenDigits, frozenNoise}, {1.01, toggleWithin, 0, toggleNoise}}

// frozen finds isolations that stay the same over a part of a sweep, where the model says that they should not. There
// is no such check in a report unless it finds something.
func (x *Subject) frozen() []Check {
	type sweep struct{ run, repeat int }
	by := map[sweep][]int{}
	var order []sweep
	for i, o := range x.Obs {
		if o.Quantity != limits.Isolation || o.Bound {
			continue
		}
		k := sweep{o.Run, x.Rows[o.Row].Repeat}
		if by[k] == nil {
			order = append(order, k)
		}
		by[k] = append(by[k], i)
	}
	for _, k := range order {
		at := by[k]
		slices.SortStableFunc(at, func(a, b int) int {
			switch d := x.Obs[a].Wavelength - x.Obs[b].Wavelength; {
			case d < 0:
				return -1
			case d > 0:
				return 1
			}
			return 0
		})
		for _, f := range freezes {
			if c := x.still(f, at, k.run); c != nil {
				return []Check{*c}
			}
		}
	}
	return nil
}

// still looks for a stretch of a sweep that is frozen in one way; nil where there is none.
func (x *Subject) still(f freeze, at []int, run int) *Check {
	for from := 0; from < len(at); from++ {
		to := x.same(f, at, from)
		if to-from < frozenLeast {
			continue
		}
		if change := x.expectedChange(f, at[from:to]); change > 0 {
			first, last := x.Obs[at[from]], x.Obs[at[to-1]]
			within := "their last digit"
			if w := x.width(f, at[from]); w > f.digits*x.digit(at[from]) {
				within = fmt.Sprintf("%.2g dB", w)
			}
			said := fmt.Sprintf("%d readings of isolation in a row (%s to %s at %s) are %g dB within %s, where the "+
				"fitted model changes by %.2f dB: the instrument seems to be stuck", to-from,
				text.Nanometres(first.Wavelength), text.Nanometres(last.Wavelength),
				text.Celsius(x.Runs[run].Temperature), first.Read, within, change)
			return &Check{Name: "readings that follow the unit", Outcome: document.Fail, Sentence: said,
				Astray: readings.Most, Caveat: said} // a meter that is stuck says nothing of any level
		}
		from = to - 1
	}
	return nil
}

// same returns the end of the stretch, from one of the readings on, that stays where it is.
func (x *Subject) same(f freeze, at []int, from int) int {
	low, high := math.Inf(1), math.Inf(-1)
	for k := from; k < len(at); k++ {
		v := x.Obs[at[k]].Read
		low, high = min(low, v), max(high, v)
		if high-low > x.width(f, at[k]) {
			return k
		}
	}
	return len(at)
}

// width is by how much readings of a stretch may differ that stay where they are.
func (x *Subject) width(f freeze, i int) float64 {
	return max(f.digits*x.digit(i), f.noise*x.Obs[i].PointNoise(x.Budget))
}

// digit is the unit of the last digit of a reading.
func (x *Subject) digit(i int) float64 {
	if d := x.Digit[x.Obs[i].Quantity]; d > 0 {
		return d
	}
	return readings.LastDigit(x.Obs[i].Read)
}

// expectedChange is by how much the readings of a stretch should differ, in dB; 0 where noise or the last digit may
// hide it.
func (x *Subject) expectedChange(f freeze, at []int) float64 {
	floor := 0.0
	if x.Floor != nil {
		floor = x.Floor.Power
	}
	low, high, hidden := math.Inf(1), math.Inf(-1), 0.0
	for _, i := range at {
		v := readings.Power.Figure(max(x.Expected[i], 0) + floor)
		low, high = min(low, v), max(high, v)
		hidden = max(hidden, f.leastDigits*x.digit(i), f.leastNoise*x.Obs[i].PointNoise(x.Budget))
	}
	if high-low > hidden {
		return high - low
	}
	return 0
}
