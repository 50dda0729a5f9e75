package lot

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify"
)

// Study is what the units of one lot show together.
type Study struct {
	Lot      string
	Coverage Coverage
	Order    Order
	Units    []Unit // in that order
	// Retested is set where a unit stands with more than one test. There are then no tolerance intervals: tests of one
	// unit say nothing of others.
	Retested bool
	// Counts holds how many units pass, fail and are undecided, for each of the three verdicts.
	Counts          [3]Count
	Characteristics []Characteristic
}

// Unit is one unit with its three verdicts: model agreement, limit conformity, data quality.
type Unit struct {
	Name, File string
	Verdicts   [3]document.Outcome
	Causes     []string // parameters outside their tolerance
	Diagnosis  string
}

// Count is of verdicts.
type Count struct{ Pass, Fail, Undecided int }

// Kind says what a characteristic is.
type Kind string

// A figure held against a limit, a figure without one, a parameter that was fitted.
const (
	OfLimit     Kind = "limit"
	OfFigure    Kind = "figure"
	OfParameter Kind = "parameter"
)

// Characteristic is one number that each unit has, over the units that have it.
type Characteristic struct {
	Kind      Kind
	Name      string // "minimum isolation", "rotator1.angle"
	Condition string // "1535 nm to 1565 nm, 23 °C"; "" for a parameter
	Unit      string // "dB", "nm", "deg"
	Limit     *limits.Limit

	Units    []string // that have a value, in their order
	Values   []float64
	Standard []float64 // standard uncertainty of each
	At       []float64 // place of each among all units, from 1
	Bounded  []string  // units whose figure is a bound only
	Missing  []string  // units without one

	Mean, Deviation float64 // Deviation is 0 for a single value
	Least, Greatest float64
	// Measurement is the share of the variance between units that the uncertainty of their measurement accounts for;
	// what units share of it does not show in the variance, so it may exceed 1.
	Measurement float64
	Interval    Interval
	// Keeps is whether the interval keeps the limit, pass or undecided; 0 without a limit. An interval speaks for units
	// to come only when the process holds still: with a signal or a trend it shows nothing.
	Keeps document.Outcome
	Chart *Chart // nil for fewer than three values
	Trend *Trend // likewise

	measure     quantity.Unit
	temperature float64 // of the run a figure belongs to, in kelvin; 0 for none
}

// In returns a number of the characteristic as a quantity in its unit.
func (c Characteristic) In(v float64) quantity.Quantity {
	if c.Kind == OfParameter {
		return quantity.Attach(v, c.measure)
	}
	over, per, ok := strings.Cut(c.Unit, "/")
	if !ok {
		return quantity.Of(v, c.Unit)
	}
	if per == "K" {
		per = "kelvin"
	}
	q, err := quantity.Div(quantity.Of(v, over), quantity.Of(1, per))
	if err != nil { // verify's figures have units that divide
		panic("lot: " + err.Error())
	}
	return q
}

// How says how units are studied together. The zero value is not one: see Usual for the coverage.
type How struct {
	Coverage
	Retest Retest // "" is Latest
	Given  bool   // the results stand in the order of production; otherwise they are put in order
}

// Studies groups results by lot, in the order of their first units; lots of a single unit are left out. Of a unit
// measured more than once the rule for retests says what counts; of one verified more than once from one file the last
// result does.
func Studies(results []*verify.Result, how How) []Study {
	tests := Judge(results, how.Retest)
	var names []string
	lots := map[string][]*verify.Result{}
	for i, r := range results {
		if !tests.Counts(i) {
			continue
		}
		name := called(r)
		if _, seen := lots[name]; !seen {
			names = append(names, name)
		}
		all := lots[name]
		again := func(o *verify.Result) bool { return o.Unit == r.Unit && r.Unit != "" && !repeats(o, r) }
		if i := slices.IndexFunc(all, again); i >= 0 {
			all = slices.Delete(all, i, i+1)
		}
		lots[name] = append(all, r)
	}
	var studies []Study
	for _, name := range names {
		if all := lots[name]; len(all) > 1 {
			order := AsGiven
			if !how.Given {
				all, order = sorted(all)
			}
			s := newStudy(name, all, how.Coverage)
			s.Order = order
			studies = append(studies, s)
		}
	}
	return studies
}

// called is what a lot is called: by its number, and by the condition in which its units were measured, for units
// before and after a test are not one population.
func called(r *verify.Result) string {
	if r.Condition == "" {
		return r.Lot
	}
	return strings.TrimPrefix(r.Lot+", "+r.Condition, ", ")
}

func newStudy(name string, results []*verify.Result, c Coverage) Study {
	s := Study{Lot: name, Coverage: c}
	for _, r := range results {
		u := Unit{Name: label(r), File: r.File, Causes: r.Diagnosis.Causes, Diagnosis: r.Diagnosis.Sentence,
			Verdicts: [3]document.Outcome{r.Agreement.Outcome, r.Conformity.Outcome, r.Quality.Outcome}}
		if n := test(results, r); n > 1 {
			u.Name += fmt.Sprintf(", test %d", n)
			s.Retested = true
		}
		for i, v := range u.Verdicts {
			s.Counts[i].add(v)
		}
		s.Units = append(s.Units, u)
	}
	for i, r := range results {
		for _, v := range values(r) {
			s.take(i, v)
		}
	}
	for i := range s.Characteristics {
		s.Characteristics[i].finish(s)
	}
	return s
}

// test counts the results of a unit up to one of them.
func test(results []*verify.Result, r *verify.Result) int {
	n := 1
	for _, o := range results {
		if o == r {
			break
		}
		if r.Unit != "" && o.Unit == r.Unit {
			n++
		}
	}
	return n
}

// label is how a unit is called: by its number, or by its file when it has none.
func label(r *verify.Result) string {
	if r.Unit != "" {
		return r.Unit
	}
	return r.File
}

func (c *Count) add(o document.Outcome) {
	switch o {
	case document.Pass:
		c.Pass++
	case document.Fail:
		c.Fail++
	default:
		c.Undecided++
	}
}

// value is a characteristic of one unit.
type value struct {
	Characteristic
	value, standard float64
	bounded         bool
}

// values lists the characteristics of a unit: figures held against limits, declared figures, fitted parameters.
func values(r *verify.Result) []value {
	var all []value
	for _, d := range r.Decisions {
		if d.Decided {
			all = append(all, value{Characteristic{Kind: OfLimit, Name: d.Figure(), Condition: d.Condition(),
				Unit: d.Limit.Quantity.Unit(), Limit: &d.Limit},
				d.Measured, d.Standard, d.AtLeast})
		}
	}
	for _, f := range r.Figures {
		if f.Determined && f.Limit < 0 {
			c := Characteristic{Kind: OfFigure, Name: f.Name, Condition: f.Condition, Unit: f.Unit}
			if f.Run >= 0 {
				c.temperature = float64(r.Runs[f.Run].Temperature)
			}
			all = append(all, value{c, f.Measured, (f.High - f.Low) / 4, false})
		}
	}
	for _, d := range r.Diagnosis.Departures {
		if !d.Indeterminate {
			sigma := d.Sigma
			if sigma == 0 && !d.AtLeast {
				sigma = (d.High - d.Low) / 4
			}
			all = append(all, value{Characteristic{Kind: OfParameter, Name: d.Path, Unit: d.Unit.Symbol(),
				measure: d.Unit}, d.Value, sigma, d.AtLeast})
		}
	}
	return all
}

// take puts a value of the i-th unit to those of the units before.
func (s *Study) take(i int, v value) {
	k := slices.IndexFunc(s.Characteristics, func(c Characteristic) bool {
		return c.Kind == v.Kind && c.Name == v.Name && c.Unit == v.Unit && c.sameCondition(v.Characteristic) &&
			c.sameLimit(v.Limit)
	})
	if k < 0 {
		k = len(s.Characteristics)
		s.Characteristics = append(s.Characteristics, v.Characteristic)
	}
	c := &s.Characteristics[k]
	name := s.Units[i].Name
	if v.bounded {
		c.Bounded = append(c.Bounded, name)
		return
	}
	c.Units, c.Values, c.Standard, c.At = append(c.Units, name), append(c.Values, v.value),
		append(c.Standard, v.standard), append(c.At, float64(i+1))
}

// chamber is how far apart, in kelvin, runs of one nominal temperature may be: no chamber repeats to better.
const chamber = 1.0

func (c Characteristic) sameCondition(o Characteristic) bool {
	if c.temperature > 0 && o.temperature > 0 {
		return math.Abs(c.temperature-o.temperature) < chamber
	}
	return c.Condition == o.Condition
}

func (c Characteristic) sameLimit(l *limits.Limit) bool {
	if c.Limit == nil || l == nil {
		return c.Limit == l
	}
	return c.Limit.AtLeast == l.AtLeast && c.Limit.Value == l.Value
}

// finish works out the statistics.
func (c *Characteristic) finish(s Study) {
	for _, u := range s.Units {
		if !slices.Contains(c.Units, u.Name) && !slices.Contains(c.Bounded, u.Name) {
			c.Missing = append(c.Missing, u.Name)
		}
	}
	sides := Both
	if c.Limit != nil {
		if sides = Upper; c.Limit.AtLeast {
			sides = Lower
		}
		c.Keeps = document.Undecided
	}
	n := len(c.Values)
	if n == 0 {
		c.Interval = s.Coverage.interval(0, 0, 0, sides)
		return
	}
	c.Least, c.Greatest = slices.Min(c.Values), slices.Max(c.Values)
	c.Mean = stat.Mean(c.Values, nil)
	if n > 1 {
		c.Deviation = stat.StdDev(c.Values, nil)
	}
	if c.Deviation > 0 {
		sum := 0.0
		for _, u := range c.Standard {
			sum += u * u / float64(n)
		}
		c.Measurement = sum / (c.Deviation * c.Deviation)
	}
	c.Interval = s.Coverage.interval(n, c.Mean, c.Deviation, sides)
	if s.Retested {
		c.Interval = s.Coverage.interval(0, 0, 0, sides)
	}
	c.Chart, c.Trend = NewChart(c.Values), NewTrend(c.At, c.Values)
	if c.keeps() && c.Stable() {
		c.Keeps = document.Pass
	}
}

// Stable reports that neither a rule nor the trend sees the process move.
func (c *Characteristic) Stable() bool {
	return (c.Chart == nil || len(c.Chart.Signals) == 0) && (c.Trend == nil || !c.Trend.Significant())
}

// keeps reports whether the tolerance interval keeps the limit. A unit that is only bounded says nothing against it.
func (c *Characteristic) keeps() bool {
	if c.Limit == nil || c.Interval.K == 0 {
		return false
	}
	if c.Limit.AtLeast {
		return c.Interval.Low >= c.Limit.Value
	}
	return c.Interval.High <= c.Limit.Value
}

// Sentence says how the lot stands: verdicts, what is not stable, and which units have a parameter outside its
// tolerance.
func (s Study) Sentence() string {
	n, all := len(s.Units), 0
	var outside []string
	for _, u := range s.Units {
		if u.Verdicts == [3]document.Outcome{document.Pass, document.Pass, document.Pass} {
			all++
		}
		if len(u.Causes) > 0 {
			outside = append(outside, fmt.Sprintf("%s (%s)", u.Name, strings.Join(u.Causes, ", ")))
		}
	}
	text := document.Passing(all, n, "unit") + " all three verdicts"
	if c := s.Counts[1]; c.Fail+c.Undecided > 0 {
		text += fmt.Sprintf("; limits: %d pass, %d fail, %d undecided", c.Pass, c.Fail, c.Undecided)
	}
	if moving, charted := s.unstable(); moving > 0 {
		text += fmt.Sprintf("; not stable from unit to unit: %d of %d figures, for which no tolerance interval is "+
			"given", moving, charted)
	}
	if len(outside) > 0 {
		text += "; outside tolerance in the fitted model: " + strings.Join(outside, ", ")
	}
	return text
}

// unstable counts the characteristics that a rule or the trend sees move, and those that are judged.
func (s Study) unstable() (moving, charted int) {
	for i := range s.Characteristics {
		if c := &s.Characteristics[i]; c.Chart != nil {
			charted++
			if !c.Stable() {
				moving++
			}
		}
	}
	return moving, charted
}

// Called names the characteristic with its condition: "least isolation, 1535 nm to 1565 nm, 23 °C".
func (c Characteristic) Called() string {
	if c.Condition == "" {
		return c.Name
	}
	return c.Name + ", " + c.Condition
}

// Decimals is how many a characteristic is printed with: those of its figure, and of a parameter that is no
// level two digits of the scatter between units.
func (c Characteristic) Decimals() int {
	if c.Kind != OfParameter || c.Unit == "dB" {
		return verify.FigureDecimals(c.Unit)
	}
	if c.Deviation == 0 {
		return 3
	}
	return min(max(1-int(math.Floor(math.Log10(c.Deviation))), 0), 6)
}
