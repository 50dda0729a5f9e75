package model

import (
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/verify/readings"
)

// Blunder is a gross error of building or of measuring, which no small departure of a parameter stands for.
type Blunder struct {
	Name   string // a sentence: "the magnet of rotator1 is reversed"
	Models []Model
	// Frees is a parameter that only these models have and that says how far it went; it stands in for Instead.
	Frees, Instead string
}

// blunderer is a Model that knows what may go wrong with the parts it is made of.
type blunderer interface{ Blunders() []Blunder }

// backwards exchanges the directions: a unit that stands in the fixture the wrong way round, or columns exchanged.
type backwards struct{ Model }

func (m backwards) Over(ctx context.Context, d Direction, ls []quantity.Length,
	t quantity.Temperature) ([]Transmission, error) {
	return m.Model.Over(ctx, Forward+Backward-d, ls, t)
}

// Ripple is none: what is read backward is the light that passes, beside which its ghosts are nothing.
func (m backwards) Ripple(_ context.Context, ls []quantity.Length, _ quantity.Temperature) ([]Ripple, error) {
	return make([]Ripple, len(ls)), nil
}

func (m backwards) Adjusted(values map[string]quantity.Quantity) (Model, error) {
	a, err := m.Model.Adjusted(values)
	return backwards{a}, err
}

func (m backwards) Rough() Model  { return backwards{Rough(m.Model)} }
func (m backwards) Coarse() Model { return backwards{Coarse(m.Model)} }
func (m backwards) Nearby() Model { return backwards{Nearby(m.Model)} }

func (m backwards) Anchored(ctx context.Context, sweeps []readings.Sweep) (Model, error) {
	a, err := Anchor(ctx, m.Model, sweeps)
	return backwards{a}, err
}

// Blunders lists the gross errors to be tried on a model.
func Blunders(m Model) []Blunder {
	list := []Blunder{{Name: "the unit was mounted backwards in the fixture, or the isolation and insertion-loss " +
		"columns are swapped", Models: []Model{backwards{m}}}}
	if b, ok := m.(blunderer); ok {
		list = append(list, b.Blunders()...)
	}
	return list
}

// botched is a stack in which something went wrong: its parameters are those of the drawing, its light takes the
// way through what was made of it.
type botched struct {
	stacked // as made
	drawn   *stack.Stack
	make    func(drawn *stack.Stack, degree float64) (*stack.Stack, error)
	path    string  // of the degree; "" when the error has none
	degree  float64 // 1: as drawn
}

func (m botched) Parameters() []Parameter {
	all := newStacked(m.drawn).Parameters()
	if m.path != "" {
		all = append(all, Parameter{Path: m.path, Value: quantity.Of(100*m.degree, "percent")})
	}
	return all
}

func (m botched) Adjusted(values map[string]quantity.Quantity) (Model, error) {
	drawn := map[string]quantity.Quantity{}
	for path, v := range values {
		if path == m.path {
			m.degree = v.SI()
		} else {
			drawn[path] = v
		}
	}
	var err error
	if m.drawn, err = m.drawn.Adjusted(drawn); err != nil {
		return nil, err
	}
	c, err := m.made()
	if err != nil {
		return nil, err
	}
	c.stacked = c.anchoredAs(m.stacked, bounces(drawn))
	return c, nil
}

// made makes the stack of the drawing, without an anchor.
func (m botched) made() (botched, error) {
	s, err := m.make(m.drawn, m.degree)
	if err == nil {
		m.stacked = newStacked(s)
	}
	return m, err
}

func (m botched) Anchored(ctx context.Context, sweeps []readings.Sweep) (Model, error) {
	a, err := m.stacked.Anchored(ctx, sweeps)
	if err != nil {
		return nil, err
	}
	return m.as(a), nil
}

func (m botched) Rough() Model  { return m.as(m.stacked.Rough()) }
func (m botched) Coarse() Model { return m.as(m.stacked.Coarse()) }
func (m botched) Nearby() Model { return m.as(m.stacked.Nearby()) }

// as returns the model with another way of evaluating what was made.
func (m botched) as(made Model) Model { m.stacked = made.(stacked); return m }

// Blunders lists what may have gone wrong with each part, aligned with the error in it or, where a part may have
// changed afterwards, in the pose of the sound unit as well.
func (m stacked) Blunders() []Blunder {
	var list []Blunder
	add := func(name string, i int, change func(element.Element) element.Element, held bool) {
		make := func(hold bool) func(*stack.Stack, float64) (*stack.Stack, error) {
			return func(drawn *stack.Stack, _ float64) (*stack.Stack, error) {
				spec := drawn.Spec()
				spec.Elements[i] = change(spec.Elements[i])
				s, err := stack.New(spec)
				if err == nil && hold {
					s = s.Posed(drawn.Pose())
				}
				return s, err
			}
		}
		b := Blunder{Name: name}
		ways := []bool{false}
		if held {
			ways = append(ways, true)
		}
		for _, hold := range ways {
			if made, err := (botched{drawn: m.Stack, make: make(hold)}).made(); err == nil {
				b.Models = append(b.Models, made)
			}
		}
		list = append(list, b)
	}
	for i, e := range m.Spec().Elements {
		name := e.Label()
		switch e := e.(type) {
		case element.Rotator:
			add(fmt.Sprintf("the magnet of %s is reversed", name), i, reversed, true)
			list = append(list, m.unsaturated(i, e))
		case element.Rod:
			add(fmt.Sprintf("the magnet of %s is reversed", name), i, reversed, true)
		case element.Wedge:
			add(fmt.Sprintf("%s is flipped, its faces exchanged", name), i, flipped(false), false)
			// The other way of flipping moves the thick side across, as turning it does.
			add(fmt.Sprintf("%s is flipped and turned by 180°", name), i, flipped(true), false)
			add(fmt.Sprintf("%s is turned by 180°", name), i, rolled(math.Pi), false)
			add(fmt.Sprintf("the optic axis of %s is off by 90°", name), i, crossed, true)
		case element.Plate, element.Retarder:
			add(fmt.Sprintf("the optic axis of %s is off by 90°", name), i, rolled(math.Pi/2), true)
		}
	}
	return list
}

// reversed turns the field in a rotator round.
func reversed(e element.Element) element.Element {
	turned := func(rings magnet.Assembly) magnet.Assembly {
		rings = slices.Clone(rings)
		for i := range rings {
			rings[i].Remanence = -rings[i].Remanence
		}
		return rings
	}
	switch e := e.(type) {
	case element.Rotator:
		e.Angle, e.Magnets = -e.Angle, turned(e.Magnets)
		return e
	case element.Rod:
		e.Field, e.Magnets = -e.Field, turned(e.Magnets)
		return e
	}
	return e
}

// flipped turns a wedge by half a turn about a line across the beam: along the direction in which it grows thicker,
// so that the thick side stays where it is, or at right angles to it.
func flipped(across bool) func(element.Element) element.Element {
	return func(e element.Element) element.Element {
		w := e.(element.Wedge)
		if w.Slanted == element.Front {
			w.Slanted = element.Back
		} else {
			w.Slanted = element.Front
		}
		w.Axis, w.Rise = 2*w.Azimuth-w.Axis, -w.Rise
		if !across {
			w.Azimuth += math.Pi
		}
		return w
	}
}

func rolled(by quantity.Angle) func(element.Element) element.Element {
	return func(e element.Element) element.Element { return e.Rolled(by) }
}

// crossed is a wedge cut with its axis along the other edge.
func crossed(e element.Element) element.Element {
	w := e.(element.Wedge)
	w.Axis += math.Pi / 2
	return w
}

// unsaturated is a film that its magnet does not saturate: domains turn the light by +theta or -theta, and the
// beam that goes straight on is their mean, (cos theta, m sin theta) with m the magnetization over that at
// saturation: turned by atan(m tan theta), and weaker by what the pattern of domains diffracts out of the beam.
// (The zeroth order of a phase grating of two levels; from memory, in the textbooks on bubble domains.)
func (m stacked) unsaturated(i int, r element.Rotator) Blunder {
	const least = 1e-3
	made := func(drawn *stack.Stack, degree float64) (*stack.Stack, error) {
		spec := drawn.Spec()
		film := spec.Elements[i].(element.Rotator)
		sin, cos := math.Sincos(float64(film.Angle))
		sin *= max(degree, least)
		film.Angle = quantity.Angle(math.Atan2(sin, cos))
		spec.Elements[i] = film
		spec.Beam.Loss -= quantity.Decibels(cos*cos + sin*sin)
		return stack.New(spec)
	}
	b := Blunder{Name: fmt.Sprintf("the film of %s is not saturated", r.Name), Frees: r.Name + ".saturation",
		Instead: r.Name + ".angle"}
	if made, err := (botched{drawn: m.Stack, make: made, path: b.Frees, degree: 1}).made(); err == nil {
		b.Models = []Model{made}
	}
	return b
}
