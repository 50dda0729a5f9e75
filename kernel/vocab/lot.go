package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

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

// Attr returns what the lot is called, its units, the counts of the verdicts on limits, or the characteristics.
func (l *Lot) Attr(name string) (starlark.Value, error) {
	switch s := l.study; name {
	case "name":
		return starlark.String(s.Lot), nil
	case "sentence":
		return starlark.String(s.Sentence()), nil
	case "units":
		var names []string
		for _, u := range s.Units {
			names = append(names, u.Name)
		}
		return texts(names), nil
	case "characteristics":
		var all starlark.Tuple
		for i := range s.Characteristics {
			all = append(all, &Characteristic{opaque{"characteristic"}, &s.Characteristics[i]})
		}
		return all, nil
	case "passes":
		return starlark.MakeInt(s.Counts[1].Pass), nil
	case "fails":
		return starlark.MakeInt(s.Counts[1].Fail), nil
	case "undecided":
		return starlark.MakeInt(s.Counts[1].Undecided), nil
	}
	return nil, nil
}

// AttrNames lists the fields.
func (l *Lot) AttrNames() []string {
	return []string{"characteristics", "fails", "name", "passes", "sentence", "undecided", "units"}
}

func (l *Lot) blocks() []document.Block { return compose.Lot(rerun.LotRecord(l.study), l.study) }

func (l *Lot) json() any {
	var all []any
	for i := range l.study.Characteristics {
		all = append(all, (&Characteristic{opaque{"characteristic"}, &l.study.Characteristics[i]}).json())
	}
	return map[string]any{"name": l.study.Lot, "sentence": l.study.Sentence(), "characteristics": all}
}

// Characteristic is one number that each unit of a lot has.
type Characteristic struct {
	opaque
	c *lot.Characteristic
}

func (c *Characteristic) in(v float64) starlark.Value {
	if len(c.c.Values) == 0 {
		return starlark.None
	}
	q := c.c.In(v)
	q.Value = significant(q.Value, 12)
	return fromQuantity(q)
}

func (c *Characteristic) String() string {
	return fmt.Sprintf("<%s over %s>", c.c.Name, count(len(c.c.Values), "unit"))
}

// Attr returns a statistic; None where there are too few units for it.
func (c *Characteristic) Attr(name string) (starlark.Value, error) {
	v := c.c
	switch name {
	case "name":
		return starlark.String(v.Name), nil
	case "condition":
		return starlark.String(v.Condition), nil
	case "units":
		return texts(v.Units), nil
	case "values":
		var all starlark.Tuple
		for _, x := range v.Values {
			all = append(all, c.in(x))
		}
		return all, nil
	case "mean":
		return c.in(v.Mean), nil
	case "least":
		return c.in(v.Least), nil
	case "greatest":
		return c.in(v.Greatest), nil
	}
	switch t := v.Interval; {
	case name == "keeps_limit" && v.Limit != nil:
		return starlark.Bool(v.Keeps == document.Pass), nil
	case t.K == 0:
	case name == "deviation":
		return c.in(v.Deviation), nil
	case name == "factor":
		return starlark.Float(t.K), nil
	case name == "low" && t.Sides != lot.Upper:
		return c.in(t.Low), nil
	case name == "high" && t.Sides != lot.Lower:
		return c.in(t.High), nil
	}
	if h, t := v.Chart, v.Trend; h != nil {
		switch name {
		case "centre":
			return c.in(h.Centre), nil
		case "lower_limit":
			return c.in(h.Lower), nil
		case "upper_limit":
			return c.in(h.Upper), nil
		case "signals":
			return texts(h.Words(v.Units)), nil
		case "slope":
			return c.in(t.Slope), nil
		case "slope_uncertainty":
			return c.in(t.U), nil
		case "p_value":
			return starlark.Float(t.PValue), nil
		}
	}
	return orNone(c.AttrNames(), name), nil
}

// AttrNames lists the fields.
func (c *Characteristic) AttrNames() []string {
	return []string{"centre", "condition", "deviation", "factor", "greatest", "high", "keeps_limit", "least", "low", "lower_limit", "mean", "name",
		"p_value", "signals", "slope", "slope_uncertainty", "units", "upper_limit", "values"}
}

func (c *Characteristic) json() any { return attributes(c) }
