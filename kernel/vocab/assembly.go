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

// Attr returns a field or a method.
func (a *Assembly) Attr(name string) (starlark.Value, error) { return assemblyType.attr(a, name) }

// AttrNames lists them.
func (a *Assembly) AttrNames() []string { return assemblyType.names(a) }

var assemblyType = newType("assembly", methodSet[*Assembly]{},
	valueAttr("stack", "stack", "the stack after the turn",
		func(a *Assembly) (starlark.Value, error) { return a.stack, nil }).notJSON(),
	quantityAttr("turn", "angle by which the element was turned, from +x towards +y", (*Assembly).turn).
		captioned("turn, from +x towards +y").printedAs(func(a *Assembly) string { return a.turn().Text(3) }),
	levelAttr("before", "the figure before the turn, dB", func(a *Assembly) float64 { return a.did.Before }),
	levelAttr("after", "the figure at its peak, dB", func(a *Assembly) float64 { return a.did.After }),
	levelAttr("cost", "the insertion loss that the turn adds, dB",
		func(a *Assembly) float64 { return a.did.LossAfter - a.did.LossBefore }).
		captioned("added insertion loss"),
)

func (a *Assembly) blocks() []document.Block {
	card := assemblyType.card(document.Capital(a.did.Part)+" turned until "+a.peak+" peaks", a)
	var said []string
	if a.did.Rising {
		said = []string{fmt.Sprintf("%s still rises at 10°, the largest turn tried: the peak lies beyond", a.peak)}
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
	if err := s.about(t, []quantity.Length{a.Length("at")},
		[]quantity.Temperature{a.Temperature("temperature")}); err != nil {
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
				return fmt.Errorf("%s is a %s, which is symmetric about the axis: turning it changes nothing", name,
					e.Kind())
			}
			return nil
		}
		names = append(names, e.Label())
	}
	return near(fmt.Errorf("the stack has no element %q; its elements are %s",
		name, strings.Join(names, ", ")), name, names)
}
