package model

import (
	"context"
	"math"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// fringer is a Model that knows how fine the ripple of its double reflections is.
type fringer interface {
	Fringe(ctx context.Context, l quantity.Length, t quantity.Temperature) (quantity.Length, error)
}

// Fringe returns the period in wavelength of the ripple that double reflections lay on the backward response near a
// wavelength: that of a sine with the same mean square slope, so that finer fringes of longer paths count with their
// strength. It is 0 where there is no ripple, or the model does not know.
func Fringe(ctx context.Context, m Model, l quantity.Length, t quantity.Temperature) (quantity.Length, error) {
	if f, ok := m.(fringer); ok {
		return f.Fringe(ctx, l, t)
	}
	return 0, nil
}

// The response is looked at over some fringes of a film of half a millimetre, at steps that show those of 10 mm.
const (
	fringePoints = 64
	fringeStep   = 0.05 * quantity.Nanometre
)

// Fringe is described with the function Fringe.
func (m stacked) Fringe(ctx context.Context, l quantity.Length, t quantity.Temperature) (quantity.Length, error) {
	ls := make([]quantity.Length, fringePoints)
	for i := range ls {
		ls[i] = l + fringeStep*quantity.Length(i-fringePoints/2)
	}
	coherent, err := evaluated(ctx, m.Stack.WithGhosts(stack.GhostsCoherent), Backward, ls, t)
	if err != nil {
		return 0, err
	}
	averaged, err := evaluated(ctx, m.Stack, Backward, ls, t)
	if err != nil {
		return 0, err
	}
	var squares, slopes, last float64
	for i, h := range coherent {
		with, _ := h.Extremes()
		without, _ := averaged[i].Extremes()
		d := (with - without) / math.Sqrt(without)
		squares += d * d
		if i > 0 {
			slopes += (d - last) * (d - last)
		}
		last = d
	}
	// For a sine of period p the mean square difference over a step h is 4 sin^2(pi h/p) times its mean square.
	ratio := slopes / squares * fringePoints / (fringePoints - 1) / 4
	if !(ratio > 0) {
		return 0, nil
	}
	return fringeStep * math.Pi / quantity.Length(math.Asin(math.Sqrt(min(ratio, 1)))), nil
}
