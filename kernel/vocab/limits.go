package vocab

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
)

// Bound is what at_least and at_most give: a figure must not fall below a value, or not exceed it.
type Bound struct {
	opaque
	atLeast bool
	value   quantity.Quantity
	rule    limits.Rule
	prior   *Prior
}

func (b *Bound) String() string { return "<" + boundText(b.atLeast) + " " + b.value.String() + ">" }

func boundText(atLeast bool) string { return limits.Limit{AtLeast: atLeast}.Side() }

// Attr returns a field or a method.
func (b *Bound) Attr(name string) (starlark.Value, error) { return boundType.attr(b, name) }

// AttrNames lists them.
func (b *Bound) AttrNames() []string { return boundType.names(b) }

var boundType = newType("bound", methodSet[*Bound]{},
	textAttr("rule", "at least or at most", func(b *Bound) string { return boundText(b.atLeast) }),
	quantityAttr("value", "the limit", func(b *Bound) quantity.Quantity { return b.value }),
)

// boundKind accepts the one side that makes sense for a quantity, in its unit; of one with a lower limit an upper one
// as well, which may limit its change: limits() knows.
func boundKind(q limits.Quantity) Kind {
	want := map[bool]string{true: "a lower", false: "an upper"}[q.AtLeast()] + " limit such as " + q.Example()
	return Kind{want, "", func(v starlark.Value) (bool, string) {
		b, ok := v.(*Bound)
		switch {
		case !ok:
			return false, ""
		case b.atLeast && !q.AtLeast():
			return false, fmt.Sprintf("got %s limit, %s %s", map[bool]string{true: "a lower",
				false: "an upper"}[b.atLeast], boundText(b.atLeast), b.value)
		case b.value.Dimension() != limitUnit(q).Dimension():
			return false, fmt.Sprintf("got %s %s, a %s", boundText(b.atLeast), b.value, b.value.Dimension())
		}
		return true, ""
	}}
}

// limitUnit is the unit of limits on a quantity.
func limitUnit(q limits.Quantity) quantity.Unit { return quantity.MustNamed(q.Unit()) }

// bounded is a number of a limit's quantity.
func bounded(v float64, q limits.Quantity) quantity.Quantity { return quantity.Of(v, q.Unit()) }

// limitValueKind accepts what a limit can be on: a level or a delay.
var limitValueKind = Kind{"a limit such as 30*dB or 0.1*ps", "dB or ps", func(v starlark.Value) (bool, string) {
	q, ok := v.(Quantity)
	if !ok || q.Quantity.Dimension() != quantity.OfLevel && q.Quantity.Dimension() != quantity.OfTime {
		return false, ""
	}
	if q.Absolute() {
		return false, fmt.Sprintf("got %s, a point on a scale; %s", q, scaleHint(q.Quantity))
	}
	return finite(q.Value)
}}

// boundWord makes at_least and at_most.
func boundWord(name, summary, example string, atLeast bool) Word {
	return Word{
		Name:    name,
		Summary: summary,
		Params: []Param{
			{Name: "value", Kind: limitValueKind, Doc: "the limit"},
			{Name: "guard", Kind: numberKind.of("plain number", "1").notNegative(), Mode: Keyword,
				Default: starlark.MakeInt(1),
				Doc: "guard factor r: a figure passes if it meets the limit by at least r times its expanded " +
					"uncertainty; 0: simple acceptance"},
			{Name: "prior", Kind: priorKind, Mode: Keyword, Optional: true,
				Doc: "prior distribution of the figure over production, from prior(), for the risks of wrong " +
					"decisions; default: no prior"},
		},
		Returns: "a limit for a figure of limits()",
		Example: example,
		Source:  "JCGM 106:2012, ISO 14253-1",
		Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
			return &Bound{opaque{"bound"}, atLeast, a.Quantity("value"), limits.Rule{Guard: a.SI("guard")},
				arg[*Prior](a, "prior")}, nil
		},
	}
}

// Limits is a list of requirements as a cell holds it; two lists add.
type Limits struct {
	opaque
	list limits.Limits
}

// limitsKind accepts limits on figures. Limits on their changes need two measurements: changesKind.
var limitsKind = Kind{"limits such as limits(isolation=at_least(30*dB), over=sweep(1535*nm, 1565*nm, 1*nm))", "",
	func(v starlark.Value) (bool, string) {
		l, ok := v.(*Limits)
		if ok && slices.ContainsFunc(l.list, func(l limits.Limit) bool { return l.Change != nil }) {
			return false, "got a limit on a change, which only qualification_step() takes"
		}
		return ok, ""
	}}

var changesKind = instance[*Limits]("limits such as limits(isolation=at_most(1*dB), change=\"before damp heat\", " +
	"over=1550*nm)")

var _ = newType("limits", methodSet[*Limits]{}).of("limits")

func (l *Limits) String() string {
	var s []string
	for _, one := range l.list {
		s = append(s, limitText(one))
	}
	return "<limits: " + strings.Join(s, "; ") + ">"
}

// limitText words a limit: "isolation at least 30 dB, 1535 nm to 1565 nm, 23 °C".
func limitText(l limits.Limit) string {
	return fmt.Sprintf("%s %s %s, %s", limitedText(l), boundText(l.AtLeast), bounded(l.Value, l.Quantity),
		limitRange(l))
}

// limitedText names what a limit is on: "isolation", "change of isolation since before damp heat".
func limitedText(l limits.Limit) string {
	if l.Change != nil {
		return "change of " + l.Quantity.String() + " since " + l.Change.Since
	}
	return l.Quantity.String()
}

func limitRange(l limits.Limit) string {
	s := spanText(inNanometres(l.Low), inNanometres(l.High))
	return s + ", " + spanText(inCelsius(l.TemperatureLow), inCelsius(l.TemperatureHigh))
}

func spanText(lo, hi Quantity) string {
	if lo == hi {
		return lo.String()
	}
	return lo.String() + " to " + hi.String()
}

// figureLabel is how a figure is called in running text.
func figureLabel(name string) string {
	for _, f := range responseFigures {
		if f.name == name {
			return f.label
		}
	}
	return strings.ReplaceAll(name, "_", " ")
}

// Binary adds lists of limits.
func (l *Limits) Binary(op syntax.Token, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	other, ok := y.(*Limits)
	if op != syntax.PLUS || !ok {
		return nil, nil
	}
	first, second := l.list, other.list
	if side == starlark.Right {
		first, second = second, first
	}
	return &Limits{l.opaque, append(append(limits.Limits{}, first...), second...)}, nil
}

// Len, Index and Iterate give the limits one by one.
func (l *Limits) Len() int                   { return len(l.list) }
func (l *Limits) Index(i int) starlark.Value { return &Limits{l.opaque, l.list[i : i+1 : i+1]} }
func (l *Limits) Iterate() starlark.Iterator { return &iterator{l, 0} }

func (l *Limits) blocks() []document.Block {
	t := document.Table{Caption: "Limits", Columns: []document.Column{{Head: "figure"}, {Head: "limit"},
		{Head: "wavelength"}, {Head: "temperature"}, {Head: "acceptance"}}}
	for _, one := range l.list {
		t.Rows = append(t.Rows, []string{
			limitedText(one),
			boundText(one.AtLeast) + " " + bounded(one.Value, one.Quantity).String(),
			spanText(inNanometres(one.Low), inNanometres(one.High)),
			spanText(inCelsius(one.TemperatureLow), inCelsius(one.TemperatureHigh)),
			one.InForce().Brief(),
		})
	}
	return []document.Block{t}
}

func (l *Limits) json() any {
	var all []any
	for _, one := range l.list {
		m := map[string]any{
			"quantity":    string(one.Quantity),
			"rule":        boundText(one.AtLeast),
			"value":       JSON(fromQuantity(bounded(one.Value, one.Quantity))),
			"wavelength":  []any{JSON(inNanometres(one.Low)), JSON(inNanometres(one.High))},
			"temperature": []any{JSON(inCelsius(one.TemperatureLow)), JSON(inCelsius(one.TemperatureHigh))},
			"guard":       one.InForce().Guard,
		}
		if one.Change != nil {
			m["change"] = one.Change.Since
		}
		all = append(all, m)
	}
	return all
}
