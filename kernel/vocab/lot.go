package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/compose"
	"wedgework/reports/document"
	"wedgework/reports/lot"
	"wedgework/reports/rerun"
)

// Lot is what several units show together, as a cell holds it.
type Lot struct {
	opaque
	study lot.Study
}

func (l *Lot) String() string {
	name := "lot"
	if l.study.Lot != "" {
		name += " " + l.study.Lot
	}
	return "<" + name + ": " + l.study.Sentence() + ">"
}

// Attr returns a field or a method.
func (l *Lot) Attr(name string) (starlark.Value, error) { return lotType.attr(l, name) }

// AttrNames lists them.
func (l *Lot) AttrNames() []string { return lotType.names(l) }

var lotType = newType("lot", methodSet[*Lot]{},
	textAttr("name", "what the lot is called", func(l *Lot) string { return l.study.Lot }),
	textAttr("sentence", "how it stands", func(l *Lot) string { return l.study.Sentence() }),
	textsAttr("units", "its units, in the order given", func(l *Lot) []string {
		var names []string
		for _, u := range l.study.Units {
			names = append(names, u.Name)
		}
		return names
	}),
	intAttr("passes", "how many units meet their limits", func(l *Lot) int { return l.study.Counts[1].Pass }),
	intAttr("fails", "how many do not", func(l *Lot) int { return l.study.Counts[1].Fail }),
	intAttr("undecided", "how many are undecided", func(l *Lot) int { return l.study.Counts[1].Undecided }),
	tupleAttr("characteristics", "figures and fitted parameters over the units", func(l *Lot) []*Characteristic {
		all := make([]*Characteristic, len(l.study.Characteristics))
		for i := range all {
			all[i] = &Characteristic{opaque{"characteristic"}, &l.study.Characteristics[i]}
		}
		return all
	}),
)

func (l *Lot) blocks() []document.Block { return compose.Lot(rerun.LotRecord(l.study), l.study) }

// Characteristic is one number that each unit of a lot has.
type Characteristic struct {
	opaque
	c *lot.Characteristic
}

func (c *Characteristic) in(v float64) quantity.Quantity {
	q := c.c.In(v)
	q.Value = significant(q.Value, 12)
	return q
}

func (c *Characteristic) String() string {
	return fmt.Sprintf("<%s over %s>", c.c.Name, count(len(c.c.Values), "unit"))
}

// Attr returns a field or a method.
func (c *Characteristic) Attr(name string) (starlark.Value, error) {
	return characteristicType.attr(c, name)
}

// AttrNames lists them.
func (c *Characteristic) AttrNames() []string { return characteristicType.names(c) }

// What too few units say nothing of is None.
var characteristicType = newType("characteristic", methodSet[*Characteristic]{},
	textAttr("name", "the figure or the parameter's path", func(c *Characteristic) string { return c.c.Name }),
	textAttr("condition", "where it holds", func(c *Characteristic) string { return c.c.Condition }),
	textsAttr("units", "the units that have a value", func(c *Characteristic) []string { return c.c.Units }),
	tupleAttr("values", "their values", func(c *Characteristic) []starlark.Value {
		var all []starlark.Value
		for _, x := range c.c.Values {
			all = append(all, fromQuantity(c.in(x)))
		}
		return all
	}),
	ofUnits("mean", "the mean over the units", func(c *Characteristic) float64 { return c.c.Mean }),
	ofUnits("deviation", "the standard deviation over the units", func(c *Characteristic) float64 { return c.c.Deviation }).when((*Characteristic).bounded),
	ofUnits("least", "the least value", func(c *Characteristic) float64 { return c.c.Least }),
	ofUnits("greatest", "the greatest value", func(c *Characteristic) float64 { return c.c.Greatest }),
	floatAttr("factor", "k of the tolerance interval", func(c *Characteristic) float64 { return c.c.Interval.K }).when((*Characteristic).bounded),
	ofUnits("low", "the lower end of the tolerance interval", func(c *Characteristic) float64 { return c.c.Interval.Low }).
		when(func(c *Characteristic) bool { return c.bounded() && c.c.Interval.Sides != lot.Upper }),
	ofUnits("high", "the upper end of the tolerance interval", func(c *Characteristic) float64 { return c.c.Interval.High }).
		when(func(c *Characteristic) bool { return c.bounded() && c.c.Interval.Sides != lot.Lower }),
	boolAttr("keeps_limit", "whether the tolerance interval keeps the limit", func(c *Characteristic) bool { return c.c.Keeps == document.Pass }).
		when(func(c *Characteristic) bool { return c.c.Limit != nil }),
	charted("centre", "the centre line of the control chart", func(c *Characteristic) float64 { return c.c.Chart.Centre }),
	charted("lower_limit", "its lower control limit", func(c *Characteristic) float64 { return c.c.Chart.Lower }),
	charted("upper_limit", "its upper control limit", func(c *Characteristic) float64 { return c.c.Chart.Upper }),
	textsAttr("signals", "what its rules see", func(c *Characteristic) []string { return c.c.Chart.Words(c.c.Units) }).when((*Characteristic).charted),
	charted("slope", "the trend per unit", func(c *Characteristic) float64 { return c.c.Trend.Slope }),
	charted("slope_uncertainty", "its expanded uncertainty", func(c *Characteristic) float64 { return c.c.Trend.U }),
	floatAttr("p_value", "the chance of a slope as steep without a trend", func(c *Characteristic) float64 { return c.c.Trend.PValue }).
		when((*Characteristic).charted),
)

// bounded reports whether there are units enough for a tolerance interval, charted whether for a control chart.
func (c *Characteristic) bounded() bool { return c.c.Interval.K != 0 }
func (c *Characteristic) charted() bool { return c.c.Chart != nil }

// ofUnits is a statistic of the units, None of none.
func ofUnits(name, summary string, get func(*Characteristic) float64) attr[*Characteristic] {
	return quantityAttr(name, summary, func(c *Characteristic) quantity.Quantity { return c.in(get(c)) }).
		when(func(c *Characteristic) bool { return len(c.c.Values) > 0 })
}

func charted(name, summary string, get func(*Characteristic) float64) attr[*Characteristic] {
	return ofUnits(name, summary, get).when((*Characteristic).charted)
}
