package vocab

import (
	"fmt"
	"reflect"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// Assembly is what turning a part has done, as a cell holds it.
type Assembly struct {
	opaque
	stack *Stack
	did   stack.Assembly
	peak  string

	at          quantity.Length
	temperature quantity.Temperature
}

func (a *Assembly) String() string {
	return fmt.Sprintf("<%s turned by %s>", a.did.Part, a.turn().Text(3))
}

func (a *Assembly) turn() quantity.Quantity {
	return quantity.FromSI(float64(a.did.Turn), quantity.MustNamed("deg"))
}

// Attr returns .stack, the turn, the figure before and after, and what it costs forward.
func (a *Assembly) Attr(name string) (starlark.Value, error) {
	level := func(dB float64) (starlark.Value, error) { return Quantity{quantity.Of(dB, "dB")}, nil }
	switch name {
	case "stack":
		return a.stack, nil
	case "turn":
		return Quantity{a.turn()}, nil
	case "before":
		return level(a.did.Before)
	case "after":
		return level(a.did.After)
	case "cost":
		return level(a.did.LossAfter - a.did.LossBefore)
	}
	return nil, nil
}

// AttrNames lists the fields.
func (a *Assembly) AttrNames() []string { return []string{"after", "before", "cost", "stack", "turn"} }

func (a *Assembly) blocks() []document.Block {
	card := fields(capital(a.did.Part)+" turned until "+a.peak+" peaks",
		document.Field{Name: "turn, from +x towards +y", Value: a.turn().Text(3)},
		row("before", quantity.Of(a.did.Before, "dB")),
		row("after", quantity.Of(a.did.After, "dB")),
		row("cost in insertion loss", quantity.Of(a.did.LossAfter-a.did.LossBefore, "dB")),
	)
	var said []string
	if a.did.Rising {
		said = []string{fmt.Sprintf("%s still rises at the end of the 10 deg that a part is turned by: the peak lies beyond", a.peak)}
	}
	return append([]document.Block{card}, cautions(said)...)
}

// peaks are the figures that a part may be turned for.
var peaks = map[string]stack.Peak{"isolation": stack.PeakIsolation, "transmission": stack.PeakTransmission}

// assemble is the method of a stack.
func (s *Stack) assemble(t *starlark.Thread, a Args) (starlark.Value, error) {
	if err := s.turns(a.Text("turn")); err != nil {
		return nil, err
	}
	if err := s.about(t, []quantity.Length{a.Length("at")}, []quantity.Temperature{a.Temperature("temperature")}); err != nil {
		return nil, err
	}
	peak := a.Text("peak")
	ctx, work := working(t, "turning "+a.Text("turn"))
	defer work.End()
	turned, did, err := s.stack.Assemble(ctx, a.Text("turn"), peaks[peak], a.Length("at"), a.Temperature("temperature"))
	if err != nil {
		return nil, err
	}
	return &Assembly{opaque{"assembly"}, newStack(turned), did, peak, a.Length("at"), a.Temperature("temperature")}, nil
}

// turns refuses a part that looks alike from every side, and a name that no part has.
func (s *Stack) turns(name string) error {
	var names []string
	for _, e := range s.stack.Spec().Elements {
		if e.Label() == name {
			if reflect.DeepEqual(e.Rolled(1), e) {
				return fmt.Errorf("%s is a %s: it looks alike from every side, so turning it changes nothing", name, e.Kind())
			}
			return nil
		}
		names = append(names, e.Label())
	}
	return near(fmt.Errorf("the stack has no part %q to turn: it has %s", name, strings.Join(names, ", ")), name, names)
}
