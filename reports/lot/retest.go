package lot

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

// Retest is the rule by which a unit counts that was measured more than once. There is no average: readings of a unit
// that was mended, or of a bench that was, are not readings of one thing.
type Retest string

// Latest lets the latest test of a unit count, All every one: a unit then passes when all its tests do.
const (
	Latest Retest = "latest"
	All    Retest = "all"
)

// Retests lists the rules.
var Retests = []string{string(Latest), string(All)}

// Tests says which results count.
type Tests struct {
	Rule Retest
	// By holds for each result the index of the later test of the same unit that counts instead; -1 for one that
	// counts.
	By []int
	// Undated names units of which more than one test counts under Latest, because their files do not tell which is
	// later.
	Undated []string
}

// Counts reports whether the i-th result counts.
func (t Tests) Counts(i int) bool { return t.By[i] < 0 }

// Judge finds the tests that count by a rule; "" is Latest. A later test stands for an earlier one when it is of the
// same unit and lot, from another file, repeats a sweep of it, and is held against every limit that the earlier one
// was: what it does not repeat, it does not replace.
func Judge(results []*verify.Result, rule Retest) Tests {
	if rule == "" {
		rule = Latest
	}
	t := Tests{Rule: rule, By: make([]int, len(results))}
	for i, r := range results {
		t.By[i] = -1
		if rule != Latest {
			continue
		}
		for j, other := range results {
			if j == i || !repeats(r, other) {
				continue
			}
			was, known := When(r)
			is, also := When(other)
			switch {
			case !known || !also || was.Equal(is):
				if !slices.Contains(t.Undated, r.Unit) {
					t.Undated = append(t.Undated, r.Unit)
				}
			case is.After(was) && replaces(other, r):
				if k := t.By[i]; k < 0 {
					t.By[i] = j
				} else if best, _ := When(results[k]); is.After(best) {
					t.By[i] = j
				}
			}
		}
	}
	return t
}

// repeats reports whether two results are tests of one unit in one condition: other readings at one wavelength range
// and temperature. What was measured after damp heat does not replace what was measured before.
func repeats(a, b *verify.Result) bool {
	if a.Unit == "" || a.Unit != b.Unit || a.Lot != b.Lot || a.SHA256 == b.SHA256 ||
		a.Condition != b.Condition {
		return false
	}
	for _, x := range a.Runs {
		for _, y := range b.Runs {
			near := math.Abs(float64(x.Temperature-y.Temperature)) < chamber
			both := slices.ContainsFunc(limits.Quantities, func(q limits.Quantity) bool {
				return x.Count[q] > 0 && y.Count[q] > 0
			})
			if near && both && x.Low <= y.High && y.Low <= x.High {
				return true
			}
		}
	}
	return false
}

// replaces reports whether a later test is held against every limit of an earlier one.
func replaces(later, earlier *verify.Result) bool {
	return !slices.ContainsFunc(earlier.Decisions, func(e verify.Decision) bool {
		return !slices.ContainsFunc(later.Decisions, func(l verify.Decision) bool {
			return sameRequirement(l.Limit,
				e.Limit)
		})
	})
}

func sameRequirement(a, b limits.Limit) bool {
	return a.Quantity == b.Quantity && a.AtLeast == b.AtLeast && a.Value == b.Value && a.Low == b.Low &&
		a.High == b.High &&
		a.TemperatureLow == b.TemperatureLow && a.TemperatureHigh == b.TemperatureHigh
}

// Words says on a page by which rule retests count, and which units it concerns; "" where no unit was measured more
// than once.
func (t Tests) Words(results []*verify.Result) string {
	var again []string
	for i, r := range results {
		if slices.ContainsFunc(results[:i], func(o *verify.Result) bool { return repeats(o, r) }) &&
			!slices.Contains(again, r.Unit) {
			again = append(again, r.Unit)
		}
	}
	if len(again) == 0 {
		return ""
	}
	slices.SortFunc(again, Natural)
	s := fmt.Sprintf("measured more than once: %s; rule for retests: ", strings.Join(again, ", "))
	if t.Rule == All {
		return s + "all, every test counts"
	}
	s += "latest, only the latest test of a unit counts"
	if len(t.Undated) > 0 {
		s += fmt.Sprintf("; every test counts of %s, because the files do not state times that differ",
			strings.Join(t.Undated, ", "))
	}
	return s
}
