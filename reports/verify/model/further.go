package model

import (
	"context"
	"math"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/verify/readings"
)

// picosecond in seconds: delays of readings, limits and figures are in ps.
const picosecond = 1e-12

// Delays is evaluated at few wavelengths where many are asked for: without double reflections the square of a delay
// changes with the dispersion of the crystals and the rotation of the film, and with nothing faster.
func (m stacked) Delays(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]float64, error) {
	return fewer(ls, func(ls []quantity.Length) ([]float64, error) {
		r, err := m.bare.Over(ctx, stack.Forward, ls, []quantity.Temperature{t})
		if err != nil {
			return nil, err
		}
		out := make([]float64, len(ls))
		for i, p := range r.Points[0] {
			out[i] = math.Pow(p.DGD()/picosecond, 2)
		}
		return out, nil
	})
}

// StepDelay compares two Jones matrices as the instrument does. It is NaN where one polarization does not get through.
func (m stacked) StepDelay(a, b quantity.Length, t quantity.Temperature) (float64, error) {
	s, err := m.bare.StepDGD(stack.Forward, a, b, t)
	return s / picosecond, err
}

// apart are the reflections that are not part of a stack's interference: their distance is no part of the model.
var apart = []string{"ferrule", "lens", "far lens", "far ferrule", "scatter"}

// Returned takes the port that more comes back to. Reflections of powers p interfere with phases that nobody knows: the
// power then scatters by the root of (sum p)^2 - sum p^2, twice the sum of all products of two of them, and about the
// sum.
func (m stacked) Returned(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]Returned, error) {
	var ripple []float64
	both := func(ls []quantity.Length) ([]float64, error) {
		out, scatter := make([]float64, len(ls)), make([]float64, len(ls))
		err := parallel.Each(len(ls), func(i int) error {
			for _, port := range []stack.Direction{stack.Forward, stack.Backward} {
				if err := ctx.Err(); err != nil {
					return err
				}
				r, err := m.Stack.ReturnLoss(port, ls[i], t, false)
				if err != nil {
					return err
				}
				if p := quantity.Ratio(-r.Loss); p > out[i] {
					out[i], scatter[i] = p, scatterOf(r)
				}
			}
			return nil
		})
		ripple = scatter
		return out, err
	}
	power, err := fewer(ls, both)
	if err != nil {
		return nil, err
	}
	most := slices.Max(ripple) // it changes as slowly as the power, and is a size only
	out := make([]Returned, len(ls))
	for i := range out {
		out[i] = Returned{power[i], most}
	}
	return out, nil
}

// scatterOf is the standard deviation of what comes back over the phases of the reflections that interfere.
func scatterOf(r stack.Return) float64 {
	sum, squares := 0.0, 0.0
	for _, p := range r.Parts {
		if !slices.Contains(apart, p.Name) {
			w := quantity.Ratio(-p.Loss)
			sum, squares = sum+w, squares+w*w
		}
	}
	return readings.Root(sum*sum - squares)
}

// Axes is evaluated wavelength by wavelength, for the axes of crystals and fibres may give it fringes, and without
// double reflections, which are a millionth of the light.
func (m stacked) Axes(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]Axes, error) {
	if !m.HasAxes() {
		return nil, nil
	}
	r, err := m.bare.Over(ctx, stack.Forward, ls, []quantity.Temperature{t})
	if err != nil {
		return nil, err
	}
	out := make([]Axes, len(ls))
	for i, p := range r.Points[0] {
		out[i] = Axes{Crossed: quantity.Ratio(-p.ExtinctionRatio()), Slow: quantity.Ratio(-p.InsertionLossSlow()),
			Fast: quantity.Ratio(-p.InsertionLossFast())}
	}
	return out, nil
}

// fewer evaluates something smooth at Chebyshev points where that is less work, and interpolates.
func fewer(ls []quantity.Length, evaluate func([]quantity.Length) ([]float64, error)) ([]float64, error) {
	lo, hi := slices.Min(ls), slices.Max(ls)
	if len(ls) <= ghostNodes+1 || lo == hi {
		return evaluate(ls)
	}
	values, err := evaluate(chebyshev(lo, hi, ghostNodes, 0, 1))
	if err != nil {
		return nil, err
	}
	out := make([]float64, len(ls))
	for i, l := range ls {
		out[i] = barycentric(values, Nodes(ghostNodes), Position(lo, hi, l))
	}
	return out, nil
}

// barycentric is interpolate of plain numbers.
func barycentric(values, at []float64, x float64) float64 {
	n := len(values) - 1
	var sum, v float64
	sign := 1.0
	for k := range values {
		if x == at[k] {
			return values[k]
		}
		w := sign / (x - at[k])
		sign = -sign
		if k == 0 || k == n {
			w /= 2
		}
		sum, v = sum+w, v+w*values[k]
	}
	return v / sum
}
