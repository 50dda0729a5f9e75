package model

import (
	"context"
	"slices"
	"strings"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/verify/readings"
)

// ForStack returns the stack as a Model.
func ForStack(s *stack.Stack) Model { return newStacked(s) }

// stacked is a stack as a Model. Most of the work in it would be its ghosts, so that they may be taken from an
// anchor: a stack like it, in which they are the same.
type stacked struct {
	*stack.Stack              // ghosts add in power
	bare         *stack.Stack // the same without
	ghosts       *ghosts      // of the anchor; nil without one
	apart        *ownGhosts   // where the anchor's ghosts are not this model's; nil where they are
	roughly      bool         // it does not ask whether they are
	coarsely     bool         // it does not ask whether the coarsest grid carries it when it carries the anchor
	close        bool         // copies are as near as a derivative needs: they do not ask about their ghosts either
}

func newStacked(s *stack.Stack) stacked {
	return stacked{Stack: s.WithGhosts(stack.GhostsIncoherent), bare: s.WithGhosts(stack.GhostsNone)}
}

// Over evaluates few wavelengths and interpolates: without ghost ripple a response is smooth.
func (m stacked) Over(ctx context.Context, d Direction, ls []quantity.Length,
	t quantity.Temperature) ([]Transmission, error) {
	of, added, unchecked := m.Stack, (*ghostsOver)(nil), false
	if m.ghosts != nil {
		if added = m.ghosts.along(d, ls, t); added != nil && m.apart != nil {
			var err error
			if added, err = m.apart.along(ctx, d, ls, added.ghostSweep); err != nil {
				return nil, err
			}
		}
		if added != nil {
			of = m.bare
		}
		unchecked = m.coarsely && m.ghosts.plain[place(d)] && (added != nil || m.ghosts.span(ls, t))
	}
	return smooth(ls, unchecked, func(ls []quantity.Length) ([]polar.Gram, error) {
		out, err := evaluated(ctx, of, d, ls, t)
		if added != nil && err == nil {
			for i, l := range ls {
				out[i] = sum(out[i], 1, added.at(l))
			}
		}
		return out, err
	}, func(h polar.Gram) (t Transmission) {
		t.T1, t.T2 = h.Extremes()
		return t
	})
}

// evaluated is what a stack itself says, wavelength by wavelength.
func evaluated(ctx context.Context, s *stack.Stack, d Direction, ls []quantity.Length,
	t quantity.Temperature) ([]polar.Gram, error) {
	r, err := s.Over(ctx, d, ls, []quantity.Temperature{t})
	if err != nil {
		return nil, err
	}
	out := make([]polar.Gram, len(ls))
	for i, p := range r.Points[0] {
		out[i] = p.H
	}
	return out, nil
}

// Ripple is evaluated at as many wavelengths as ghosts are: its variance follows the leakage and the ghosts, and
// neither anything faster. It comes from the stack as it is, for it depends on the amplitudes of its leakage.
func (m stacked) Ripple(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]Ripple, error) {
	lo, hi := slices.Min(ls), slices.Max(ls)
	at := ls
	if len(ls) > ghostNodes && lo < hi {
		at = chebyshev(lo, hi, ghostNodes, 0, 1)
	}
	r, err := m.Stack.WithGhosts(stack.GhostsRipple).Over(ctx, stack.Backward, at, []quantity.Temperature{t})
	if err != nil {
		return nil, err
	}
	variances := make([]polar.Gram, len(at)) // of the mean and of T1, to be interpolated as transmissions are
	for i, p := range r.Points[0] {
		variances[i] = polar.Gram{XX: p.Ripple.Mean, YY: p.Ripple.T1}
	}
	out := make([]Ripple, len(ls))
	for i, l := range ls {
		v := variances[min(i, len(variances)-1)]
		if len(at) < len(ls) {
			v = interpolate(variances, Nodes(ghostNodes), Position(lo, hi, l))
		}
		out[i] = Ripple{Mean: readings.Root(v.XX), T1: readings.Root(v.YY)}
	}
	return out, nil
}

// Ghosts is what the model has more than one without them.
func (m stacked) Ghosts(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]float64, error) {
	with, err := m.Over(ctx, Backward, ls, t)
	if err != nil {
		return nil, err
	}
	without, err := m.without().Over(ctx, Backward, ls, t)
	if err != nil {
		return nil, err
	}
	added := make([]float64, len(ls))
	for i := range added {
		added[i] = max(with[i].T1-without[i].T1, 0)
	}
	return added, nil
}

// without is the model whose ghosts are left out.
func (m stacked) without() stacked { m.Stack, m.ghosts = m.bare, nil; return m }

func (m stacked) Adjusted(values map[string]quantity.Quantity) (Model, error) {
	s, err := m.Stack.Adjusted(values)
	if err != nil {
		return nil, err
	}
	return newStacked(s).anchoredAs(m, bounces(values)), nil
}

// bounces reports whether one of the parameters makes ghosts: a coating, or the index of a film, whose whole effect
// they may be, however short a step.
func bounces(values map[string]quantity.Quantity) bool {
	for path := range values {
		if strings.HasSuffix(path, ".reflectance") || strings.HasSuffix(path, ".index") {
			return true
		}
	}
	return false
}

// anchoredAs gives a model the anchor of another; its own ghosts where they are not the anchor's, and always where it
// differs in what makes them.
func (m stacked) anchoredAs(other stacked, coated bool) stacked {
	m.ghosts, m.roughly, m.coarsely, m.close = other.ghosts, other.roughly, other.coarsely, other.close
	switch {
	case m.ghosts == nil:
	case coated:
		m.apart = &ownGhosts{Stack: m.Stack}
	case m.close:
		m.apart = other.apart
	case !m.roughly && !m.ghosts.hold(m):
		m.apart = &ownGhosts{Stack: m.Stack}
	}
	return m
}

// Coarse takes the coarsest grid where it carries the anchor, plainError off.
func (m stacked) Coarse() Model { m.coarsely = true; return m }

// Nearby is that, and its adjusted copies have its ghosts, its own or the anchor's.
func (m stacked) Nearby() Model { m.coarsely, m.close = true, true; return m }

// Rough takes the ghosts of the anchor for those of all adjusted copies.
func (m stacked) Rough() Model { m.coarsely, m.roughly, m.apart = true, true, nil; return m }

func (m stacked) Parameters() []Parameter {
	var all []Parameter
	for _, p := range m.Stack.Parameters() {
		all = append(all, Parameter{p.Path, p.Value, p.Omitted})
	}
	return all
}
