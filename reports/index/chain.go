package index

import (
	"fmt"
	"math"

	"wedgework/reports/record"
)

// ReworkKey is the name of the metadata line by which a file of readings says that a unit was reworked before it was
// measured, and what was done: "# rework: wedge 2 turned by 0.6 deg".
const ReworkKey = "rework"

// isolation is the quantity that corrections are predicted for, as records name it.
const isolation = "isolation"

// Chain is the place of a test among the measurements of its unit in all reports of the folder.
type Chain struct {
	Test, Of int    // from 1
	Stage    string // "first", "after rework 2", "repeat"
	Rework   string // what was done before this test

	// Of the isolation that the diagnosis of the test before predicted for after its correction: where it was lowest,
	// what was predicted there, and what this test measured. Numbers are in dB; none where nothing was predicted.
	At               string
	Predicted, Given record.Number
}

// Chains finds for each row of a unit its place among the measurements of the unit; rows are in order of time. Reports
// that another took the place of do not count, and the same readings in several reports are one test.
func Chains(rows []Row) {
	type test struct{ input, measured string }
	last := map[[2]string]int{}          // row of the last test of a unit
	number := map[[2]string]int{}        // of its tests so far
	reworks := map[[2]string]int{}       // of its reworks so far
	same := map[[2]string]map[test]int{} // row of each test of it
	var chained []int
	for i := range rows {
		r := &rows[i]
		if r.Chain = nil; r.Unit == "" || r.State == Superseded || r.State == Failed {
			continue
		}
		unit, is := who(r), test{r.Input, r.Measured}
		if same[unit] == nil {
			same[unit] = map[test]int{}
		}
		chained = append(chained, i)
		if k, known := same[unit][is]; known {
			c := *rows[k].Chain
			r.Chain = &c
			continue
		}
		same[unit][is] = i
		number[unit]++
		c := &Chain{Test: number[unit], Stage: "first", Rework: r.Rework}
		switch {
		case r.Rework != "":
			reworks[unit]++
			c.Stage = fmt.Sprintf("after rework %d", reworks[unit])
		case c.Test > 1:
			c.Stage = "repeat"
		}
		if k, again := last[unit]; again && r.Rework != "" {
			c.predicted(rows[k].Gains, r.Values)
		}
		r.Chain = c
		last[unit] = i
	}
	for _, i := range chained {
		rows[i].Chain.Of = number[who(&rows[i])]
	}
}

// who is a unit in the condition in which it was measured: after damp heat it begins a chain of its own.
func who(r *Row) [2]string { return [2]string{r.Lot, r.called()} }

// predicted takes the lowest isolation that was predicted, and what was measured under the same condition.
func (c *Chain) predicted(gains []record.Gain, values []Value) {
	least := math.Inf(1)
	for _, g := range gains {
		for _, v := range values {
			if v.Kind == OfLimit && v.Name == isolation && v.At == g.At && g.After.Float() < least {
				least = g.After.Float()
				c.At, c.Predicted, c.Given = g.At, g.After, v.Value
			}
		}
	}
}

// said is what a page says of a chain; "" for a unit that was measured once and not reworked.
func (c *Chain) said() string {
	if c == nil || c.Of < 2 && c.Rework == "" {
		return ""
	}
	s := fmt.Sprintf("test %d of %d, %s", c.Test, c.Of, c.Stage)
	if c.Rework != "" {
		s += " (" + c.Rework + ")"
	}
	if c.Predicted != "" {
		s += fmt.Sprintf(": isolation %s dB, %s dB predicted, %s", c.Given.Text(), c.Predicted.Text(), c.At)
	}
	return s
}
