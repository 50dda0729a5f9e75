package widget

import (
	"fmt"
	"math"
	"slices"
)

// Kind is what a control looks like.
type Kind uint8

// The kinds of controls.
const (
	Slider Kind = iota // a number from Min to Max
	Whole              // a whole number from Min to Max
	Choice             // one of Options
	Check              // on or off
)

// Control is one thing that a person can move.
type Control struct {
	Label    string // what stands beside it: "apex [deg]"
	Kind     Kind
	Min, Max float64 // of Slider and Whole
	Step     float64 // of Slider and Whole, above zero
	Decimals int     // of the number beside a Slider
	Value    float64 // of Slider and Whole
	Options  []string
	Index    int // of Options
	On       bool
}

// set takes a state of the front end. It reports whether the control has moved; what is no value of it is an error,
// and leaves it where it is.
func (c *Control) set(state map[string]any) (moved bool, err error) {
	before := *c
	switch c.Kind {
	case Slider, Whole:
		v, there := state["value"]
		if !there {
			return false, nil
		}
		x, ok := number(v)
		if !ok || math.IsNaN(x) {
			return false, fmt.Errorf("%s: the value is %v, expected a number", c.Label, v)
		}
		c.Value = c.snapped(x)
	case Check:
		v, there := state["value"]
		if !there {
			return false, nil
		}
		on, ok := v.(bool)
		if !ok {
			return false, fmt.Errorf("%s: the value is %v, expected true or false", c.Label, v)
		}
		c.On = on
	case Choice:
		i, there, err := c.chosen(state)
		if err != nil || !there {
			return false, err
		}
		c.Index = i
	}
	return c.Value != before.Value || c.On != before.On || c.Index != before.Index, nil
}

// chosen reads which option is meant: protocol 2 sends its place, protocol 1 its label.
func (c *Control) chosen(state map[string]any) (i int, there bool, err error) {
	if v, ok := state["index"]; ok {
		x, ok := number(v)
		if !ok || x != math.Trunc(x) || x < 0 || x >= float64(len(c.Options)) {
			return 0, false, fmt.Errorf("%s: the index is %v, expected 0 to %d", c.Label, v, len(c.Options)-1)
		}
		return int(x), true, nil
	}
	v, ok := state["value"]
	if !ok {
		return 0, false, nil
	}
	label, _ := v.(string)
	if i = slices.Index(c.Options, label); i < 0 {
		return 0, false, fmt.Errorf("%s: the value is %v, expected one of %q", c.Label, v, c.Options)
	}
	return i, true, nil
}

// snapped is the nearest value of the slider: a whole number of steps from its end, within its ends. Twelve digits
// take off the rounding of the products.
func (c *Control) snapped(x float64) float64 {
	x = c.Min + math.Round((x-c.Min)/c.Step)*c.Step
	x = min(max(x, c.Min), c.Max)
	if x == 0 {
		return 0
	}
	unit := math.Pow(10, 11-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*unit) / unit
}

// model writes the control's model for a front end.
func (d *dialect) control(id string, c *Control, layout, style string) model {
	state := map[string]any{"description": c.Label, "layout": reference(layout)}
	if style != "" {
		state["style"] = reference(style)
	}
	for key, v := range d.position(c) {
		state[key] = v
	}
	switch c.Kind {
	case Slider:
		state["readout_format"] = fmt.Sprintf(".%df", c.Decimals)
		fallthrough
	case Whole:
		state["min"], state["max"], state["step"] = d.numbers(c, c.Min), d.numbers(c, c.Max), d.numbers(c, c.Step)
	case Choice:
		state["_options_labels"] = c.Options
	}
	return d.model(id, names[c.Kind], state)
}

// numbers is a number of the control, whole where the model wants it so.
func (d *dialect) numbers(c *Control, x float64) any {
	if c.Kind == Whole {
		return int(x)
	}
	return x
}

// position is the part of a control's state that a person changes.
func (d *dialect) position(c *Control) map[string]any {
	switch c.Kind {
	case Check:
		return map[string]any{"value": c.On}
	case Choice:
		if d.protocol == 1 {
			return map[string]any{"value": c.Options[c.Index]}
		}
		return map[string]any{"index": c.Index}
	}
	return map[string]any{"value": d.numbers(c, c.Value)}
}

// names are those of the models.
var names = map[Kind]string{Slider: "FloatSlider", Whole: "IntSlider", Choice: "Dropdown", Check: "Checkbox"}
