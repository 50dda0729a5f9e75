package index

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"wedgework/reports/lot"
	"wedgework/reports/record"
)

// Confidence is that of the bounds of a capability.
const Confidence = 0.95

// Series is one limit or one fitted parameter over the units that have it, one value a unit, in the order in which they
// were measured. Units held against another limit or tolerance are another series, and so are those in another
// condition: before and after a test they are not one population.
type Series struct {
	Kind      string
	Name      string
	At        string
	Condition string // before, during or after a test; "" where nothing states it
	Unit      string
	Rule      string
	Limit     record.Number
	Tolerance record.Number
	Decimals  int

	Rows   []int // the row of each value
	Values []float64
	Bounds int // units whose value is a bound only; they are left out
	All    Statistics
	Lots   []LotStatistics // in the order of the first unit of each; none where there is one lot
}

// Statistics is what a stretch of a series shows.
type Statistics struct {
	N         int
	Mean      float64
	Deviation float64         // NaN for a single value
	Chart     *lot.Chart      // nil for fewer than three values
	Able      *lot.Capability // nil where there is no scatter or no limit
	Steps     []lot.Change
}

// LotStatistics is what the units of one lot show.
type LotStatistics struct {
	Lot string
	Of  []int // places in the series
	Statistics
}

// key is what two values must share to be of one series.
type key struct {
	kind, name, at, condition, unit, rule string
	limit, tolerance                      record.Number
}

// Histories returns the series of rows that are in order. A unit that stands in several reports counts once in each
// condition, with its latest measurement; superseded, stale and orphaned reports do not count.
func Histories(rows []Row) []Series {
	var all []*Series
	by := map[key]*Series{}
	for _, i := range counting(rows) {
		for _, v := range rows[i].Values {
			k := key{v.Kind, v.Name, v.At, rows[i].Condition, v.Unit, v.Rule, v.Limit, v.Tolerance}
			s := by[k]
			if s == nil {
				s = &Series{Kind: v.Kind, Name: v.Name, At: v.At, Condition: rows[i].Condition, Unit: v.Unit,
					Rule: v.Rule, Limit: v.Limit, Tolerance: v.Tolerance}
				by[k] = s
				all = append(all, s)
			}
			x := v.Value.Float()
			switch {
			case v.Bound:
				s.Bounds++
			case !math.IsNaN(x) && !math.IsInf(x, 0):
				s.Rows, s.Values = append(s.Rows, i), append(s.Values, x)
				s.Decimals = max(s.Decimals, decimals(v.Value))
			}
		}
	}
	var some []Series
	for _, s := range all {
		if len(s.Values) > 0 {
			s.study(rows)
			some = append(some, *s)
		}
	}
	slices.SortStableFunc(some, func(a, b Series) int { // limits first
		if a.Kind != b.Kind {
			if a.Kind == OfLimit {
				return -1
			}
			return 1
		}
		return 0
	})
	return some
}

// counting lists the rows that count: of each unit the last in each condition, in the order of rows.
func counting(rows []Row) []int {
	last := map[[4]string]int{}
	who := func(i int) [4]string {
		r := &rows[i]
		if r.Unit == "" {
			return [4]string{r.Lot, "", r.Condition, r.Input}
		}
		return [4]string{r.Lot, r.Unit, r.Condition}
	}
	for i := range rows {
		if r := &rows[i]; r.State == Current && !r.Retested && r.Design == "" && len(r.Values) > 0 {
			last[who(i)] = i
		}
	}
	var all []int
	for i := range rows {
		if n, ok := last[who(i)]; ok && n == i {
			all = append(all, i)
		}
	}
	return all
}

// study works out what a series shows, as a whole and lot by lot.
func (s *Series) study(rows []Row) {
	s.All = s.statistics(s.Values)
	by := map[string]int{}
	for place, i := range s.Rows {
		at, ok := by[rows[i].Lot]
		if !ok {
			at = len(s.Lots)
			by[rows[i].Lot] = at
			s.Lots = append(s.Lots, LotStatistics{Lot: rows[i].Lot})
		}
		s.Lots[at].Of = append(s.Lots[at].Of, place)
	}
	if len(s.Lots) < 2 {
		s.Lots = nil
	}
	for i := range s.Lots {
		l := &s.Lots[i]
		values := make([]float64, len(l.Of))
		for k, place := range l.Of {
			values[k] = s.Values[place]
		}
		l.Statistics = s.statistics(values)
	}
}

func (s *Series) statistics(values []float64) Statistics {
	lower, upper := s.limits()
	mean, deviation := stat.MeanStdDev(values, nil)
	return Statistics{N: len(values), Mean: mean, Deviation: deviation, Chart: lot.NewChart(values),
		Able: lot.NewCapability(values, lower, upper, Confidence), Steps: lot.Changes(values)}
}

// limits are those of a series; NaN for one that it does not have.
func (s *Series) limits() (lower, upper float64) {
	lower, upper = math.NaN(), math.NaN()
	limit := s.Limit.Float()
	switch {
	case s.Kind == OfParameter:
		tolerance := s.Tolerance.Float()
		return limit - tolerance, limit + tolerance
	case s.Rule == "at least":
		lower = limit
	default:
		upper = limit
	}
	return lower, upper
}

// Stable reports that neither the chart nor the steps of the mean see the process move.
func (t *Statistics) Stable() bool {
	return t.Chart != nil && len(t.Chart.Signals) == 0 && len(t.Steps) == 0
}
