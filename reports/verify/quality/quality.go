package quality

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// headroom is how far below a limit the fixture's floor must lie: at 10 dB it adds 10 % to the leakage.
const headroom = 10.0 // dB

// Subject is what the quality of the data is judged by.
type Subject struct {
	*readings.Measurement
	Limits   limits.Limits
	MaxGap   quantity.Length         // widest spacing of readings in a band that passes
	Gross    []string                // gross errors that the readings match, each as a sentence
	Require  []string                // metadata that the file must state
	Expected []float64               // what the selected model says of every observation
	Sweeps   []readings.SweepScatter // how the readings of each sweep scatter about their curve
}

// A check is one examination of the data: it returns nothing where there is nothing to examine.
type check func(*Subject) []Check

// checks are all of them, in the order in which they are reported.
var checks = []check{
	one((*Subject).polarization),
	(*Subject).perLimit,
	(*Subject).doubts,
	(*Subject).frozen,
	one((*Subject).scatter),
	(*Subject).grossErrors,
	one((*Subject).outlierCheck),
	one((*Subject).temperatures),
	one((*Subject).repeats),
	one((*Subject).driftWithin),
	one((*Subject).reference),
	one((*Subject).calibration),
	(*Subject).required,
}

// one is a check that always has one outcome.
func one(c func(*Subject) Check) check {
	return func(x *Subject) []Check { return []Check{c(x)} }
}

// Examine makes every check.
func Examine(x *Subject) []Check {
	var all []Check
	for _, c := range checks {
		all = append(all, c(x)...)
	}
	return all
}

// perLimit makes the checks that each limit asks for.
func (x *Subject) perLimit() []Check {
	var all []Check
	for k, l := range x.Limits {
		all = append(all, x.coverage(k, l), x.spacing(k, l))
		if l.Quantity == limits.Isolation && l.AtLeast {
			all = append(all, x.floorHeadroom(k, l))
		}
	}
	return all
}

func (x *Subject) grossErrors() []Check {
	if len(x.Gross) == 0 {
		return nil
	}
	return []Check{{Name: "gross error", Outcome: document.Undecided,
		Sentence: "the readings match a gross error, possibly one of measurement: " +
			strings.Join(x.Gross, "; or ")}}
}

func (x *Subject) polarization() Check {
	c := Check{Name: "source polarization"}
	over := slices.ContainsFunc(x.Limits, func(l limits.Limit) bool { return readings.Worst(l.Quantity) })
	switch p := x.Polarization; {
	case p == readings.Scrambled:
		c.Outcome, c.Sentence = document.Pass,
			"scrambled: readings are means over polarization and are compared with the model's means"
	case p == readings.MinMax:
		c.Outcome, c.Sentence = document.Pass,
			"min-max: readings are extremes over polarization and are compared with the model's extremes"
	case p == readings.FixedUnknown && over:
		c.Outcome, c.Sentence = document.Fail,
			"fixed and unknown: a single state says nothing about a limit that applies to all polarizations"
	case p == readings.FixedUnknown:
		c.Outcome, c.Sentence = document.Undecided,
			"fixed and unknown: readings are compared with the model's means because the launch polarization is unknown"
	default:
		c.Outcome, c.Sentence = document.Undecided,
			"not stated: readings are taken as means over polarization; expected a line \"# source polarization: "+
				"scrambled\" or \"min-max\""
	}
	return c
}

func (x *Subject) coverage(k int, l limits.Limit) Check {
	c := Check{Name: "coverage of limit " + fmt.Sprint(k+1), Outcome: document.Pass,
		Sentence: fmt.Sprintf("%s, %s: the readings cover the band at the temperatures of the limit",
			text.Spoken(l.Quantity),
			text.Condition(l))}
	if ok, missing := x.Covered(l, x.MaxGap); !ok {
		c.Outcome = document.Fail
		c.Sentence = fmt.Sprintf("%s, %s: the readings do not cover this limit: %s", text.Spoken(l.Quantity),
			text.Condition(l), missing)
	}
	return c
}

func (x *Subject) spacing(k int, l limits.Limit) Check {
	c := Check{Name: "spacing in limit " + fmt.Sprint(k+1)}
	widest := quantity.Length(0)
	for run, r := range x.Runs {
		if !l.Covers(l.Low, r.Temperature, readings.TemperatureMargin) {
			continue
		}
		ls := x.Wavelengths(run, l.Quantity.Reading())
		for i := 1; i < len(ls); i++ {
			if ls[i] >= l.Low && ls[i-1] <= l.High {
				widest = max(widest, ls[i]-ls[i-1])
			}
		}
	}
	switch {
	case widest == 0:
		c.Outcome, c.Sentence = document.Undecided, "fewer than two readings in the band at one temperature"
	case widest > x.MaxGap*(1+1e-9):
		c.Outcome, c.Sentence = document.Fail,
			fmt.Sprintf("the widest gap between readings in the band is %.3g nm; at most %s is allowed",
				float64(widest/quantity.Nanometre), text.Nanometres(x.MaxGap))
	default:
		c.Outcome, c.Sentence = document.Pass,
			fmt.Sprintf("the widest gap between readings in the band is %.3g nm; at most %s is allowed",
				float64(widest/quantity.Nanometre), text.Nanometres(x.MaxGap))
	}
	return c
}

func (x *Subject) floorHeadroom(k int, l limits.Limit) Check {
	c := Check{Name: "floor below limit " + fmt.Sprint(k+1)}
	if x.Floor == nil {
		c.Sentence = "no fixture floor was stated, so none was subtracted: the readings may show less isolation than " +
			"the unit has"
		return c
	}
	room := x.Floor.Level - l.Value
	c.Outcome = document.Pass
	if room < headroom {
		c.Outcome = document.Fail
	}
	than := "exceeds the %.2f dB limit by"
	if room < 0 {
		than = "is below the %.2f dB limit by"
	}
	c.Sentence = fmt.Sprintf("the fixture floor, %.1f dB, "+than+" %.1f dB; at least %.0f dB above the limit is "+
		"required",
		x.Floor.Level, l.Value, math.Abs(room), headroom)
	return c
}

// doubts are the checks that readings can contradict.
func (x *Subject) doubts() []Check {
	found := map[string][]string{}
	for _, d := range x.Doubts {
		found[d.Name] = append(found[d.Name], d.Sentence)
	}
	var all []Check
	for _, c := range []Check{
		{Name: readings.BelowFloor, Sentence: "no reading shows less power than the floor"},
		{Name: readings.Gain, Sentence: "no reading shows gain"},
		{Name: readings.Stuck, Sentence: "in no sweep are all readings equal"},
	} {
		if c.Name == readings.BelowFloor && x.Floor == nil {
			continue
		}
		c.Outcome = document.Pass
		if said := found[c.Name]; len(said) > 0 {
			c.Outcome, c.Sentence = document.Fail, strings.Join(said, "; ")
		}
		all = append(all, c)
	}
	return all
}

func (x *Subject) temperatures() Check {
	var list []string
	for _, r := range x.Runs {
		list = append(list, text.Celsius(r.Temperature))
	}
	c := Check{Name: "temperatures", Outcome: document.Pass,
		Sentence: fmt.Sprintf("%d: %s", len(list), strings.Join(list, ", "))}
	for run, r := range x.Runs {
		for _, o := range x.Obs {
			if o.Run == run && !limits.Near(o.Temperature, r.Temperature, r.Temperature, readings.TemperatureMargin) {
				c.Outcome = document.Fail
				c.Sentence = fmt.Sprintf("some readings of the sweep at %s differ by more than %g K from its mean "+
					"temperature",
					text.Celsius(r.Temperature), readings.TemperatureMargin)
			}
		}
	}
	return c
}

// day is how dates are written in a file (ISO 8601).
const day = "2006-01-02"

// calibration compares every "... calibration due" line of the file with the day of the measurement.
func (x *Subject) calibration() Check {
	c := Check{Name: "calibration"}
	measured := ""
	var due [][2]string
	for _, kv := range x.Meta {
		key := strings.ToLower(strings.TrimSpace(kv[0]))
		switch {
		case key == "measured":
			measured = kv[1]
		case strings.HasSuffix(key, "calibration due"):
			due = append(due, kv)
		}
	}
	if len(due) == 0 {
		c.Sentence = "the file states no calibration due date"
		return c
	}
	when, err := time.Parse(day, strings.TrimSpace(measured))
	if err != nil {
		c.Outcome = document.Undecided
		c.Sentence = fmt.Sprintf("the date of the measurement is %q; expected a line such as \"# measured: "+
			"2026-11-18\"",
			measured)
		return c
	}
	c.Outcome = document.Pass
	var said []string
	for _, kv := range due {
		until, err := time.Parse(day, strings.TrimSpace(kv[1]))
		switch {
		case err != nil:
			c.Outcome = limits.Worst(c.Outcome, document.Undecided)
			said = append(said, fmt.Sprintf("%s is %q; expected a date such as 2026-11-18", kv[0], kv[1]))
		case until.Before(when):
			c.Outcome = document.Fail
			said = append(said, fmt.Sprintf("%s %s is before the measurement on %s", kv[0], kv[1], measured))
		default:
			said = append(said, fmt.Sprintf("%s %s", kv[0], kv[1]))
		}
	}
	c.Sentence = strings.Join(said, "; ")
	return c
}

// Check is one examination of the data.
type Check struct {
	Name     string
	Outcome  document.Outcome // 0: not checked, because the file does not state what it needs
	Sentence string
	// Astray is by how many dB the levels read may be off, beyond their uncertainty, where the check fails; 0 where
	// what fails has no such size. Caveat says so in a clause.
	Astray float64
	Caveat string
}

// required looks for the metadata that the report demands. Unit and lot count wherever the file has them.
func (x *Subject) required() []Check {
	if len(x.Require) == 0 {
		return nil
	}
	stated := map[string]bool{"unit": x.Unit != "", "lot": x.Lot != ""}
	for _, kv := range x.Meta {
		key := strings.ToLower(strings.TrimSpace(kv[0]))
		stated[key] = stated[key] || strings.TrimSpace(kv[1]) != ""
	}
	var absent []string
	for _, key := range x.Require {
		if !stated[strings.ToLower(strings.TrimSpace(key))] {
			absent = append(absent, key)
		}
	}
	c := Check{Name: "required metadata", Outcome: document.Pass,
		Sentence: "the file states " + strings.Join(x.Require, ", ")}
	if len(absent) > 0 {
		c.Outcome = document.Fail
		c.Sentence = fmt.Sprintf("the file does not state %s; expected a line such as \"# %s: ...\"",
			strings.Join(absent, ", "), absent[0])
	}
	return []Check{c}
}
