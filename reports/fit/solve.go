package fit

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Solve fits the problem. The error wraps ErrNotConverged when the iterations ran out, with the best
// solution so far; any other error comes with no solution.
func Solve(ctx context.Context, p Problem) (*Solution, error) {
	w, err := newWorker(p)
	if err != nil {
		return nil, err
	}
	iterations, err := w.descend(ctx)
	if err != nil && iterations < w.max {
		return nil, err
	}
	if p.Unjudged {
		return &Solution{Parameters: w.x, ChiSquared: w.chi, Residuals: w.r, Iterations: iterations}, err
	}
	s, serr := w.solution(ctx)
	if serr != nil {
		return nil, serr
	}
	s.Iterations = iterations
	return s, err
}

// worker carries the state of one fit. All parameters are scaled: the damping acts on the parameter
// divided by the norm of its column, as in More, "The Levenberg-Marquardt algorithm", Lecture Notes in
// Mathematics 630 (1978), so that metres and radians may stand side by side.
type worker struct {
	Problem
	max     int
	tol     float64
	x, r    []float64
	chi     float64
	jac     [][]float64 // columns
	current bool        // jac is that of x
	scale   []float64   // greatest column norm so far
	free    []int       // parameters not held at a bound in this step
	plus    []float64   // residuals beside the point
	minus   []float64
	further []float64
}

func newWorker(p Problem) (*worker, error) {
	n, m := len(p.Start), p.Count
	switch {
	case p.Residuals == nil:
		return nil, fmt.Errorf("a fit needs residuals")
	case n == 0:
		return nil, fmt.Errorf("a fit needs a parameter")
	case m < 1:
		return nil, fmt.Errorf("a fit needs a residual")
	}
	for _, s := range []struct {
		name string
		v    []float64
	}{{"steps", p.Step}, {"lower bounds", p.Lower}, {"upper bounds", p.Upper}} {
		if s.v != nil && len(s.v) != n {
			return nil, fmt.Errorf("%d %s for %d parameters", len(s.v), s.name, n)
		}
	}
	w := &worker{Problem: p, max: p.MaxIterations, tol: p.Tolerance}
	if w.max == 0 {
		w.max = 200 * n
	}
	if w.tol == 0 {
		w.tol = 1e-14
	}
	w.x = append([]float64(nil), p.Start...)
	for j := range w.x {
		lo, hi := w.bounds(j)
		if !(lo < hi) {
			return nil, fmt.Errorf("parameter %d: bounds %g and %g", j, lo, hi)
		}
		if math.IsNaN(w.x[j]) || math.IsInf(w.x[j], 0) {
			return nil, fmt.Errorf("parameter %d starts at %g", j, w.x[j])
		}
		w.x[j] = min(max(w.x[j], lo), hi)
	}
	w.r, w.plus, w.minus, w.further = make([]float64, m), make([]float64, m), make([]float64, m), make([]float64, m)
	w.scale = make([]float64, n)
	w.jac = make([][]float64, n)
	for j := range w.jac {
		w.jac[j] = make([]float64, m)
	}
	return w, nil
}

func (w *worker) bounds(j int) (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	if w.Lower != nil {
		lo = w.Lower[j]
	}
	if w.Upper != nil {
		hi = w.Upper[j]
	}
	return lo, hi
}

// evaluate returns chi-squared at x; a residual that is not finite makes it infinite.
func (w *worker) evaluate(ctx context.Context, x, r []float64) (float64, error) {
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	if err := w.Residuals(ctx, x, r); err != nil {
		return 0, err
	}
	sum := 0.0
	for _, v := range r {
		sum += v * v
	}
	if math.IsNaN(sum) {
		sum = math.Inf(1)
	}
	return sum, nil
}

// descend walks to the bottom of the well and returns the number of Jacobians taken. The damping falls
// and rises by the gain ratio as proposed by Nielsen, report IMM-REP-1999-05, Technical University of
// Denmark: smoothly, so that a curved valley is followed without a jerk.
func (w *worker) descend(ctx context.Context) (int, error) {
	var err error
	if w.chi, err = w.evaluate(ctx, w.x, w.r); err != nil {
		return 0, fmt.Errorf("at the start: %w", err)
	}
	if math.IsInf(w.chi, 1) {
		return 0, fmt.Errorf("at the start: the residuals are not finite")
	}
	// A choice: between 0.001 and 1 all NIST sets are solved from both starts.
	damping, growth := 0.1, 2.0
	trial, r := make([]float64, len(w.x)), make([]float64, w.Count)
	for it := 1; it <= w.max; it++ {
		if err := w.differentiate(ctx); err != nil {
			return it, err
		}
		w.release()
		w.current = true
		if len(w.free) == 0 || w.chi == 0 {
			return it, nil
		}
		for {
			step, predicted, bent, err := w.step(ctx, damping)
			if err != nil {
				return it, err
			}
			if w.small(step, trial) || predicted <= w.tol*w.tol*w.chi {
				return it, nil
			}
			chi := math.Inf(1)
			if !bent {
				if chi, err = w.try(ctx, trial, r); err != nil {
					return it, err
				}
			}
			if gain := (w.chi - chi) / predicted; gain > 0 {
				done := w.chi-chi <= w.tol*w.chi && predicted <= w.tol*w.chi
				copy(w.x, trial)
				w.current = false
				copy(w.r, r)
				w.chi = chi
				damping *= max(1.0/3, 1-math.Pow(2*gain-1, 3))
				growth = 2
				if done {
					return it, nil
				}
				break
			}
			damping *= growth
			growth *= 2
			if damping > 1e20 {
				return it, nil // no direction leads down within rounding: this is the bottom
			}
		}
	}
	return w.max, fmt.Errorf("%w in %d iterations", ErrNotConverged, w.max)
}

// try is evaluate for a trial step: where the model cannot be evaluated chi-squared is infinite, so that
// a shorter step is taken. Only a cancelled context is an error.
func (w *worker) try(ctx context.Context, x, r []float64) (float64, error) {
	chi, err := w.evaluate(ctx, x, r)
	if cerr := ctx.Err(); cerr != nil {
		return 0, cerr
	}
	if err != nil {
		return math.Inf(1), nil
	}
	return chi, nil
}

// small puts the step, kept inside the bounds, into trial and reports whether it is below the tolerance.
func (w *worker) small(step, trial []float64) bool {
	small := true
	for j := range trial {
		lo, hi := w.bounds(j)
		trial[j] = min(max(w.x[j]+step[j], lo), hi)
		moved := math.Abs(trial[j]-w.x[j]) * w.scale[j]
		small = small && moved <= w.tol*(math.Abs(w.x[j])*w.scale[j]+w.tol*math.Sqrt(w.chi))
	}
	return small
}

// release chooses the free parameters: all but those that lie on a bound with the slope against it, and
// those that change nothing.
func (w *worker) release() {
	w.free = w.free[:0]
	for j, column := range w.jac {
		norm, slope := 0.0, 0.0
		for i, v := range column {
			norm += v * v
			slope += v * w.r[i]
		}
		w.scale[j] = max(w.scale[j], math.Sqrt(norm))
		lo, hi := w.bounds(j)
		if norm == 0 || w.x[j] <= lo && slope > 0 || w.x[j] >= hi && slope < 0 {
			continue
		}
		w.free = append(w.free, j)
	}
}

// curvature is over how much of a step the second derivative along it is taken, and bend how large the
// correction for it may be against the step; both as recommended by Transtrum and Sethna.
const (
	curvature = 0.1
	bend      = 0.75
)

// step solves (J D^-1; sqrt(damping) I) s = (-r; 0) by QR and returns D^-1 s, with the fall of
// chi-squared that the linear model predicts. QR, not the normal equations: those square the condition
// number, and half of the NIST sets with it.
//
// The step is corrected by half its geodesic acceleration (Transtrum and Sethna, arXiv:1201.5885), which
// follows a bent valley; bent is set when that correction is so large that the linear model is not to be
// trusted over the length of the step, though chi-squared may fall: such steps lead out onto plateaus.
func (w *worker) step(ctx context.Context, damping float64) (step []float64, predicted float64, bent bool, err error) {
	n, m := len(w.free), w.Count
	a := mat.NewDense(m+n, n, nil)
	for k, j := range w.free {
		for i, v := range w.jac[j] {
			a.Set(i, k, v/w.scale[j])
		}
		a.Set(m+k, k, math.Sqrt(damping))
	}
	var qr mat.QR
	qr.Factorize(a)
	velocity := w.solve(&qr, w.r)
	step = w.expand(velocity)
	along := make([]float64, m) // J step
	then := 0.0
	for i := range along {
		for _, j := range w.free {
			along[i] += w.jac[j][i] * step[j]
		}
		then += (w.r[i] + along[i]) * (w.r[i] + along[i])
	}
	predicted = w.chi - then

	at := make([]float64, len(w.x))
	for j := range at {
		lo, hi := w.bounds(j)
		at[j] = w.x[j] + curvature*step[j]
		if at[j] < lo || at[j] > hi {
			return step, predicted, false, nil // the bound decides about this step
		}
	}
	chi, err := w.try(ctx, at, w.plus)
	if err != nil {
		return nil, 0, false, err
	}
	if math.IsInf(chi, 1) {
		return step, predicted, true, nil
	}
	for i := range along {
		w.plus[i] = 2 / curvature * ((w.plus[i]-w.r[i])/curvature - along[i])
	}
	acceleration := w.solve(&qr, w.plus)
	if 2*norm(acceleration) > bend*norm(velocity) {
		return step, predicted, true, nil
	}
	for j, v := range w.expand(acceleration) {
		step[j] += v / 2
	}
	return step, predicted, false, nil
}

// solve returns the damped least-squares solution of J D^-1 s = -r over the free parameters.
func (w *worker) solve(qr *mat.QR, r []float64) []float64 {
	b := mat.NewVecDense(len(r)+len(w.free), nil)
	for i, v := range r {
		b.SetVec(i, -v)
	}
	var s mat.VecDense
	// A poor condition is only a warning of gonum's: the damping keeps the system solvable, and a step
	// that leads nowhere is shortened.
	if err := qr.SolveVecTo(&s, false, b); err != nil {
		if _, poor := err.(mat.Condition); !poor {
			return make([]float64, len(w.free))
		}
	}
	return s.RawVector().Data
}

// expand turns scaled free components into a step of all parameters.
func (w *worker) expand(s []float64) []float64 {
	step := make([]float64, len(w.x))
	for k, j := range w.free {
		step[j] = s[k] / w.scale[j]
	}
	return step
}
