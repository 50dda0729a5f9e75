package vocab

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/kernel/widget"
	"wedgework/optics/quantity"
)

// choices is what an argument of explore() may be set to, and what it is set to now.
type choices interface {
	starlark.Value
	// starting returns the choices with another value; it must be one of them. The look bounds comparisons.
	starting(l *session.Look, v starlark.Value) (choices, error)
	// start returns the value at the beginning; set is false where nobody has said which.
	start() (v starlark.Value, set bool)
	// control is the control that the choices are made with, at their beginning.
	control(name string) *widget.Control
	// value is what a control stands at.
	value(c *widget.Control) starlark.Value
	// note words what there is to choose from.
	note() string
}

// Between is the values of a slider, as between() gives them.
type Between struct {
	opaque
	lo, hi, step quantity.Quantity // in one unit
	at           quantity.Quantity
	set          bool // at was said
	whole        bool // only whole numbers
}

var betweenType = newType("between", methodSet[*Between]{},
	quantityAttr("low", "lower end", func(b *Between) quantity.Quantity { return b.lo }),
	quantityAttr("high", "upper end", func(b *Between) quantity.Quantity { return b.hi }),
	quantityAttr("step", "distance of two values", func(b *Between) quantity.Quantity { return b.step }),
	quantityAttr("value", "value at the beginning", func(b *Between) quantity.Quantity { return b.at }),
)

func (b *Between) String() string { return "<between " + b.note() + ">" }

// Attr returns a field.
func (b *Between) Attr(name string) (starlark.Value, error) { return betweenType.attr(b, name) }

// AttrNames lists them.
func (b *Between) AttrNames() []string { return betweenType.names(b) }

func (b *Between) note() string { return written(b.lo) + " to " + written(b.hi) }

func (b *Between) start() (starlark.Value, bool) { return b.number(b.at.Value), b.set }

// number is a value of the slider as a cell has it.
func (b *Between) number(x float64) starlark.Value {
	if b.whole {
		return starlark.MakeInt64(int64(x))
	}
	return fromQuantity(quantity.Quantity{Value: x, Unit: b.lo.Unit})
}

func (b *Between) starting(_ *session.Look, v starlark.Value) (choices, error) {
	q, ok := toQuantity(v)
	if !ok || q.Dimension() != b.lo.Dimension() || q.Absolute() != b.lo.Absolute() {
		return nil, fmt.Errorf("the value must be %s like %s, got %s", article(noun(b.lo)),
			spelled(b.number(b.lo.Value)), describe(v))
	}
	at, err := q.In(b.lo.Unit)
	if err != nil {
		return nil, err
	}
	at.Value = significant(at.Value, 12)
	if at.Value < b.lo.Value || at.Value > b.hi.Value {
		return nil, fmt.Errorf("the value %s is outside %s", q, b.note())
	}
	if b.whole && at.Value != math.Trunc(at.Value) {
		return nil, fmt.Errorf("the value %s is not a whole number", q)
	}
	with := *b
	with.at, with.set = at, true
	return &with, nil
}

func (b *Between) control(name string) *widget.Control {
	label := name
	if b.lo.Unit != (quantity.Unit{}) {
		label += " [" + b.lo.Unit.Symbol() + "]"
	}
	c := &widget.Control{Label: label, Kind: widget.Slider, Min: b.lo.Value, Max: b.hi.Value, Step: b.step.Value,
		Value: b.at.Value, Decimals: max(decimalsOf(b.step.Value), decimalsOf(b.lo.Value))}
	if b.whole {
		c.Kind = widget.Whole
	}
	return c
}

func (b *Between) value(c *widget.Control) starlark.Value { return b.number(c.Value) }

// decimalsOf counts those that a number is written with, at most six.
func decimalsOf(x float64) int {
	_, after, _ := strings.Cut(strconv.FormatFloat(significant(x, 9), 'f', -1, 64), ".")
	return min(len(after), 6)
}

// niceStep is 1, 2 or 5 times a power of ten, and fits at least a hundred times into a width.
func niceStep(width float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(width/100)))
	for _, k := range []float64{5, 2, 1} {
		if step := significant(k*unit, 3); step <= width/100*(1+1e-9) {
			return step
		}
	}
	return significant(unit, 3)
}

// OneOf is the values of a list of choices, as one_of() gives them, or of a check box.
type OneOf struct {
	opaque
	options []starlark.Value
	at      int
	set     bool // at was said
	check   bool // the options are True and False, and the control is a check box
}

var oneOfType = newType("one_of", methodSet[*OneOf]{},
	valueAttr("options", "tuple", "what there is to choose from", func(o *OneOf) (starlark.Value, error) {
		return starlark.Tuple(o.options), nil
	}),
)

func (o *OneOf) String() string { return "<one of " + o.note() + ">" }

// Attr returns a field.
func (o *OneOf) Attr(name string) (starlark.Value, error) { return oneOfType.attr(o, name) }

// AttrNames lists them.
func (o *OneOf) AttrNames() []string { return oneOfType.names(o) }

func (o *OneOf) labels() []string {
	labels := make([]string, len(o.options))
	for i, v := range o.options {
		labels[i] = shortText(v)
	}
	return labels
}

// shortText names a value in a list of choices and in a note.
func shortText(v starlark.Value) string {
	if s, ok := starlark.AsString(v); ok {
		return shorten(s)
	}
	if q, ok := toQuantity(v); ok && v.Type() != "int" {
		return written(q)
	}
	return shorten(brief(v))
}

func (o *OneOf) note() string { return strings.Join(o.labels(), ", ") }

func (o *OneOf) start() (starlark.Value, bool) { return o.options[o.at], o.set }

func (o *OneOf) starting(l *session.Look, v starlark.Value) (choices, error) {
	for i, option := range o.options {
		if option.Type() != v.Type() {
			continue
		}
		same, err := l.Equal(option, v)
		if err != nil {
			return nil, err
		}
		if same {
			with := *o
			with.at, with.set = i, true
			return &with, nil
		}
	}
	return nil, fmt.Errorf("the value %s is none of %s", shortText(v), o.note())
}

func (o *OneOf) control(name string) *widget.Control {
	if o.check {
		return &widget.Control{Label: name, Kind: widget.Check, On: o.options[o.at] == starlark.True}
	}
	return &widget.Control{Label: name, Kind: widget.Choice, Options: o.labels(), Index: o.at}
}

func (o *OneOf) value(c *widget.Control) starlark.Value {
	if o.check {
		return starlark.Bool(c.On)
	}
	return o.options[c.Index]
}

// checkBox is the choice of True and False.
func checkBox(on starlark.Bool) *OneOf {
	o := &OneOf{opaque{"one_of"}, []starlark.Value{starlark.False, starlark.True}, 0, true, true}
	if on {
		o.at = 1
	}
	return o
}
