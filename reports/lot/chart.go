package lot

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Chart is a Shewhart chart for individuals with its chart of moving ranges, no values being given beforehand (ISO
// 7870-2). The limits stand three standard deviations from the mean, the standard deviation being the mean moving range
// of two over d2: mean ± E2 Rm for the values, D4 Rm for the ranges. They hold for a process that is stable and about
// normal.
type Chart struct {
	Values       []float64
	Ranges       []float64 // from each value to the next
	Centre       float64
	Lower, Upper float64
	MeanRange    float64
	UpperRange   float64
	Signals      []Signal
	// Trial is set below TrialBelow values: limits from so few are for trial, and a chart without signals shows little.
	Trial bool
}

// The factors of ranges of two values, in closed form: E2 = 3/d2 = 2.660 and D4 = 1 + 3 d3/d2 = 3.267, with d2 =
// 2/sqrt(pi) = 1.128 and d3 = sqrt(2 - 4/pi) = 0.853.
var (
	factorE2 = 1.5 * math.Sqrt(math.Pi)
	factorD4 = 1 + 3*math.Sqrt(math.Pi/2-1)
)

const (
	// TrialBelow is how many values control limits should rest on (ISO 7870-2 asks for 20 to 25 subgroups, from
	// memory).
	TrialBelow = 20
	// run is how many values in a row make a pattern.
	run = 7
)

// Rules are the pattern rules in force, in their order: those of ISO 7870-2:2013 (from memory). Its fourth, an obvious
// pattern of another kind, is left to the eye.
var Rules = []string{
	"1: a value beyond a control limit",
	"2: seven or more values in a row on one side of the centre line",
	"3: seven or more values in a row, each above, or each below, the one before",
}

// Signal is where a rule sees something.
type Signal struct {
	Rule   int   // 1 to 3; 1 on a range when Range is set
	Values []int // indices of the values concerned
	Range  bool
}

// NewChart draws up the chart of values in their order; nil for fewer than three, which have one range between them or
// none.
func NewChart(values []float64) *Chart {
	n := len(values)
	if n < 3 {
		return nil
	}
	c := &Chart{Values: values, Trial: n < TrialBelow}
	for i, v := range values {
		c.Centre += v / float64(n)
		if i > 0 {
			r := math.Abs(v - values[i-1])
			c.Ranges = append(c.Ranges, r)
			c.MeanRange += r / float64(n-1)
		}
	}
	if least, greatest := slices.Min(values), slices.Max(values); greatest-least <= 1e-12*math.Abs(c.Centre) {
		c.Centre = least // all are one value: what rounding makes of their mean is no side of a line
	}
	c.Lower, c.Upper = c.Centre-factorE2*c.MeanRange, c.Centre+factorE2*c.MeanRange
	c.UpperRange = factorD4 * c.MeanRange
	c.Signals = slices.Concat(c.beyond(), c.sides(), c.trends())
	return c
}

// beyond applies rule 1 to values and to ranges.
func (c *Chart) beyond() []Signal {
	var all []Signal
	for i, v := range c.Values {
		if v < c.Lower || v > c.Upper {
			all = append(all, Signal{Rule: 1, Values: []int{i}})
		}
	}
	for i, r := range c.Ranges {
		if r > c.UpperRange {
			all = append(all, Signal{Rule: 1, Values: []int{i, i + 1}, Range: true})
		}
	}
	return all
}

// sides applies rule 2; a value on the line ends a run.
func (c *Chart) sides() []Signal {
	return runs(2, len(c.Values), 1, func(i int) int { return sign(c.Values[i] - c.Centre) })
}

// trends applies rule 3: a run of steps one way, with the value that it starts from.
func (c *Chart) trends() []Signal {
	return runs(3, len(c.Ranges), 0, func(i int) int { return sign(c.Values[i+1] - c.Values[i]) })
}

// runs finds stretches over which of keeps one sign, as values in a row: of n values, or with own 0 of n steps between
// them.
func runs(rule, n, own int, of func(int) int) []Signal {
	var all []Signal
	for from := 0; from < n; {
		to := from + 1
		for to < n && of(to) == of(from) {
			to++
		}
		if last := to - own; of(from) != 0 && last-from+1 >= run {
			s := Signal{Rule: rule}
			for i := from; i <= last; i++ {
				s.Values = append(s.Values, i)
			}
			all = append(all, s)
		}
		from = to
	}
	return all
}

func sign(v float64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// Words says what the rules see, one line a rule and kind, with the names of the units; nothing without signals.
func (c *Chart) Words(units []string) []string {
	var beyond, steps, all []string
	span := func(s Signal) string { return units[s.Values[0]] + " to " + units[s.Values[len(s.Values)-1]] }
	for _, s := range c.Signals {
		switch {
		case s.Range:
			steps = append(steps, span(s))
		case s.Rule == 1:
			beyond = append(beyond, units[s.Values[0]])
		case s.Rule == 2:
			all = append(all, fmt.Sprintf("%d in a row on one side of the centre line: %s (rule 2)", len(s.Values),
				span(s)))
		default:
			all = append(all, fmt.Sprintf("%d in a row in one direction: %s (rule 3)", len(s.Values), span(s)))
		}
	}
	if len(steps) > 0 {
		all = append([]string{"moving range beyond its control limit: " + strings.Join(steps, ", ") + " (rule 1)"},
			all...)
	}
	if len(beyond) > 0 {
		all = append([]string{"beyond a control limit: " + strings.Join(beyond, ", ") + " (rule 1)"}, all...)
	}
	return all
}
