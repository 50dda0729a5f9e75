package model

import (
	"context"
	"math"

	"gonum.org/v1/gonum/stat"

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
	return periodOf(slopes/squares*fringePoints/(fringePoints-1), fringeStep), nil
}

// Wave is the ripple that double reflections lay on a vector of which a figure is the length, a PDL or a DGD.
type Wave struct {
	Component float64 // standard deviation of each of its three components, in dB or ps
	Period    quantity.Length
}

// Waves are those of the forward PDL and DGD.
type Waves struct{ PDL, DGD Wave }

// waver is a Model that knows them.
type waver interface {
	Waves(ctx context.Context, low, high quantity.Length, t quantity.Temperature) (Waves, error)
}

// WavesOf returns the ripple of PDL and DGD at a temperature, looked at over the middle of a band; nothing where the
// model does not know.
func WavesOf(ctx context.Context, m Model, low, high quantity.Length, t quantity.Temperature) (Waves, error) {
	if w, ok := m.(waver); ok {
		return w.Waves(ctx, low, high, t)
	}
	return Waves{}, nil
}

// wavePoints at fringeStep are 30 nm: fringes of a film of half a millimetre repeat often enough in them.
const wavePoints = 601

// Waves is described with the function WavesOf. Where the phases of the reflections lie is no part of the model. How
// strong they are is the mean over all phases, and how fast they change what the model does with its own.
func (m stacked) Waves(ctx context.Context, low, high quantity.Length, t quantity.Temperature) (w Waves, err error) {
	step := min(fringeStep, (high-low)/(wavePoints-1)) // beyond a sweep a material need not be known
	if !(step > 0) {
		return w, nil
	}
	ts := []quantity.Temperature{t}
	few := chebyshev(low, high, ownNodes, 0, 1)
	r, err := m.Stack.WithGhosts(stack.GhostsRipple).Over(ctx, stack.Forward, few, ts)
	if err != nil {
		return w, err
	}
	var pdl, delay float64
	for _, p := range r.Points[0] {
		const perRatio = 10 / math.Ln10
		perPower := 4 * perRatio / (p.T1 + p.T2) // of (t1-t2)/2
		pdl += perPower * perPower * p.Ripple.Split() / 3
		delay += p.Ripple.DGD / (picosecond * picosecond)
	}
	w.PDL.Component, w.DGD.Component = math.Sqrt(pdl/float64(len(few))), math.Sqrt(delay/float64(len(few)))
	ls := make([]quantity.Length, wavePoints)
	for i := range ls {
		ls[i] = (low+high)/2 + step*quantity.Length(i-wavePoints/2)
	}
	r, err = m.Stack.WithGhosts(stack.GhostsCoherent).Over(ctx, stack.Forward, ls, ts)
	if err != nil {
		return w, err
	}
	var squares [2][]float64
	for _, p := range r.Points[0] {
		squares[0], squares[1] = append(squares[0], p.PDL()*p.PDL()), append(squares[1], p.DGD()*p.DGD())
	}
	w.PDL.Period, w.DGD.Period = periodIn(squares[0], step), periodIn(squares[1], step)
	return w, nil
}

// periodIn is that of the ripple on values a step apart, a straight line taken off.
func periodIn(values []float64, step quantity.Length) quantity.Length {
	n := len(values)
	at := make([]float64, n)
	for i := range at {
		at[i] = float64(i)
	}
	offset, slope := stat.LinearRegression(at, values, nil, false)
	squares, slopes, last := 0.0, 0.0, 0.0
	for i, v := range values {
		d := v - offset - slope*at[i]
		squares += d * d
		if i > 0 {
			slopes += (d - last) * (d - last)
		}
		last = d
	}
	return periodOf(slopes/squares*float64(n)/float64(n-1), step)
}

// periodOf is that of a sine whose mean square difference over a step h is such a share of its mean square: 4
// sin^2(pi h/p) of it.
func periodOf(share float64, step quantity.Length) quantity.Length {
	if !(share > 0) {
		return 0
	}
	return step * math.Pi / quantity.Length(math.Asin(math.Sqrt(min(share/4, 1))))
}
