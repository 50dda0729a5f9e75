package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/compose"
	"wedgework/reports/document"
	"wedgework/reports/lot"
	"wedgework/reports/recording"
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
	textAttr("name", "name of the lot", func(l *Lot) string { return l.study.Lot }),
	textAttr("sentence", "summary in one sentence", func(l *Lot) string { return l.study.Sentence() }),
	textsAttr("units", "names of its units, in the order given", func(l *Lot) []string {
		var names []string
		for _, u := range l.study.Units {
			names = append(names, u.Name)
		}
		return names
	}),
	intAttr("passes", "number of units that meet all limits", func(l *Lot) int { return l.study.Counts[1].Pass }),
	intAttr("fails", "number of units that do not meet a limit", func(l *Lot) int { return l.study.Counts[1].Fail }),
	intAttr("undecided", "number of units for which neither is shown",
		func(l *Lot) int { return l.study.Counts[1].Undecided }),
	tupleAttr("characteristics", "statistics of each figure and fitted parameter over the units",
		func(l *Lot) []*Characteristic {
			all := make([]*Characteristic, len(l.study.Characteristics))
			for i := range all {
				all[i] = &Characteristic{opaque{"characteristic"}, &l.study.Characteristics[i]}
			}
			return all
		}),
)

func (l *Lot) blocks() []document.Block { return compose.Lot(recording.Lot(l.study), l.study) }

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
	textAttr("name", "the figure, or the path of the parameter", func(c *Characteristic) string { return c.c.Name }),
	textAttr("condition", "wavelength band and temperatures", func(c *Characteristic) string { return c.c.Condition }),
	textsAttr("units", "names of the units with a value", func(c *Characteristic) []string { return c.c.Units }),
	tupleAttr("values", "values of these units", func(c *Characteristic) []starlark.Value {
		var all []starlark.Value
		for _, x := range c.c.Values {
			all = append(all, fromQuantity(c.in(x)))
		}
		return all
	}),
	ofUnits("mean", "mean over the units", func(c *Characteristic) float64 { return c.c.Mean }),
	ofUnits("deviation", "standard deviation over the units",
		func(c *Characteristic) float64 { return c.c.Deviation }).when((*Characteristic).bounded),
	ofUnits("least", "minimum over the units", func(c *Characteristic) float64 { return c.c.Least }),
	ofUnits("greatest", "maximum over the units", func(c *Characteristic) float64 { return c.c.Greatest }),
	floatAttr("factor", "factor k of the tolerance interval",
		func(c *Characteristic) float64 { return c.c.Interval.K }).when((*Characteristic).bounded),
	ofUnits("low", "lower end of the tolerance interval", func(c *Characteristic) float64 { return c.c.Interval.Low }).
		when(func(c *Characteristic) bool { return c.bounded() && c.c.Interval.Sides != lot.Upper }),
	ofUnits("high", "upper end of the tolerance interval",
		func(c *Characteristic) float64 { return c.c.Interval.High }).
		when(func(c *Characteristic) bool { return c.bounded() && c.c.Interval.Sides != lot.Lower }),
	boolAttr("keeps_limit", "whether the tolerance interval meets the limit",
		func(c *Characteristic) bool { return c.c.Keeps == document.Pass }).
		when(func(c *Characteristic) bool { return c.c.Limit != nil }),
	charted("centre", "centre line of the control chart", func(c *Characteristic) float64 { return c.c.Chart.Centre }),
	charted("lower_limit", "lower control limit of the chart",
		func(c *Characteristic) float64 { return c.c.Chart.Lower }),
	charted("upper_limit", "upper control limit of the chart",
		func(c *Characteristic) float64 { return c.c.Chart.Upper }),
	textsAttr("signals", "rules of the control chart that are violated, a sentence each",
		func(c *Characteristic) []string { return c.c.Chart.Words(c.c.Units) }).when((*Characteristic).charted),
	charted("slope", "trend per unit", func(c *Characteristic) float64 { return c.c.Trend.Slope }),
	charted("slope_uncertainty", "expanded uncertainty of the trend",
		func(c *Characteristic) float64 { return c.c.Trend.U }),
	floatAttr("p_value", "probability of a slope at least this steep if there is no trend",
		func(c *Characteristic) float64 { return c.c.Trend.PValue }).
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
