package verify

import (
	"context"
	"math"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// ForStack returns the stack as a Model.
func ForStack(s *stack.Stack) Model { return stacked{s.WithGhosts(stack.GhostsIncoherent)} }

type stacked struct{ *stack.Stack }

// Over evaluates few wavelengths and interpolates: without ghost ripple a response is smooth.
func (m stacked) Over(ctx context.Context, d Direction, ls []quantity.Length, t quantity.Temperature) ([]Transmission, error) {
	direction := stack.Forward
	if d == Backward {
		direction = stack.Backward
	}
	return smooth(ls, func(ls []quantity.Length) ([]Transmission, error) {
		r, err := m.Stack.Over(ctx, direction, ls, []quantity.Temperature{t})
		if err != nil {
			return nil, err
		}
		out := make([]Transmission, len(ls))
		for i, p := range r.Points[0] {
			out[i] = Transmission{p.T1, p.T2}
		}
		return out, nil
	})
}

// Ripple takes the power that the ghosts add when they do not interfere: a ghost of power g beside a leak
// of amplitude y is seen between y - sqrt(g) and y + sqrt(g) as its phase runs.
func (m stacked) Ripple(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]float64, error) {
	with, err := m.Over(ctx, Backward, ls, t)
	if err != nil {
		return nil, err
	}
	without, err := stacked{m.WithGhosts(stack.GhostsNone)}.Over(ctx, Backward, ls, t)
	if err != nil {
		return nil, err
	}
	ripple := make([]float64, len(ls))
	for i := range ls {
		ripple[i] = math.Sqrt(max(with[i].T1-without[i].T1, 0))
	}
	return ripple, nil
}

func (m stacked) Adjusted(values map[string]quantity.Quantity) (Model, error) {
	s, err := m.Stack.Adjusted(values)
	if err != nil {
		return nil, err
	}
	return stacked{s}, nil
}

func (m stacked) Parameters() []Parameter {
	var all []Parameter
	for _, p := range m.Stack.Parameters() {
		all = append(all, Parameter{p.Path, p.Value})
	}
	return all
}
