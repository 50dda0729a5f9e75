package fit

import (
	"context"
	"fmt"
	"math"
)

// cubeRoot of the float64 precision: where the truncation of a central difference, h^2, and its
// rounding, eps/h, are of one size.
var cubeRoot = math.Cbrt(0x1p-52)

// differentiate fills the columns of the Jacobian at x: central differences, or three points to one side
// where a bound is near.
func (w *worker) differentiate(ctx context.Context) error {
	if w.Problem.Jacobian != nil {
		if err := ctx.Err(); err != nil {
			return err
		}
		return w.Problem.Jacobian(ctx, append([]float64(nil), w.x...), w.r, w.jac)
	}
	at := append([]float64(nil), w.x...)
	move := func(j int, v float64, r []float64) error {
		at[j] = v
		chi, err := w.evaluate(ctx, at, r)
		at[j] = w.x[j]
		if err == nil && math.IsInf(chi, 1) {
			err = fmt.Errorf("the residuals are not finite")
		}
		if err != nil {
			return fmt.Errorf("parameter %d at %g: %w", j, v, err)
		}
		return nil
	}
	for j := range w.x {
		h := w.stepOf(j)
		lo, hi := w.bounds(j)
		column := w.jac[j]
		up, down := w.x[j]+h, w.x[j]-h
		if up <= hi && down >= lo {
			if err := move(j, up, w.plus); err != nil {
				return err
			}
			if err := move(j, down, w.minus); err != nil {
				return err
			}
			for i := range column {
				column[i] = (w.plus[i] - w.minus[i]) / (up - down)
			}
			continue
		}
		if down < lo { // look upwards; else downwards
			h = min(h, (hi-w.x[j])/2)
		} else {
			h = -min(h, (w.x[j]-lo)/2)
		}
		if err := move(j, w.x[j]+h, w.plus); err != nil {
			return err
		}
		if err := move(j, w.x[j]+2*h, w.further); err != nil {
			return err
		}
		for i := range column {
			column[i] = (4*w.plus[i] - w.further[i] - 3*w.r[i]) / (2 * h)
		}
	}
	return nil
}

// stepOf goes by the parameter, and by a thousandth of its start where it passes through zero.
func (w *worker) stepOf(j int) float64 {
	if w.Step != nil && w.Step[j] > 0 {
		return w.Step[j]
	}
	size := max(math.Abs(w.x[j]), 1e-3*math.Abs(w.Start[j]))
	if size == 0 {
		size = 1
	}
	return cubeRoot * size
}
