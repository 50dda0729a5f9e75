package fit_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"wedgework/reports/fit"
)

// line returns the residuals of y = p0 + p1 x at six points with standard uncertainty 0.5.
func line(_ context.Context, p, r []float64) error {
	for i, y := range []float64{1.1, 2.9, 5.2, 6.8, 9.1, 11.0} {
		r[i] = (p[0] + p[1]*float64(i) - y) / 0.5
	}
	return nil
}

// TestLine checks a straight line against the closed form of its normal equations.
func TestLine(t *testing.T) {
	s, err := fit.Solve(context.Background(), fit.Problem{Residuals: line, Count: 6, Start: []float64{0, 0}})
	if err != nil {
		t.Fatal(err)
	}
	// Chi-squared is at its least to 1e-14, so the parameters are where they belong to about 1e-7 sigma.
	const tolerance = 1e-7
	var sx, sxx, sy, sxy float64
	for i, y := range []float64{1.1, 2.9, 5.2, 6.8, 9.1, 11.0} {
		x := float64(i)
		sx, sxx, sy, sxy = sx+x, sxx+x*x, sy+y, sxy+x*y
	}
	d := 6*sxx - sx*sx
	near(t, "slope", s.Parameters[1], (6*sxy-sx*sy)/d, tolerance)
	near(t, "intercept", s.Parameters[0], (sxx*sy-sx*sxy)/d, tolerance)
	near(t, "sigma of the intercept", s.Sigma[0], 0.5*math.Sqrt(sxx/d), tolerance)
	near(t, "sigma of the slope", s.Sigma[1], 0.5*math.Sqrt(6/d), tolerance)
	near(t, "correlation", s.Correlation[0][1], -sx/math.Sqrt(6*sxx), tolerance)
	if s.DOF != 4 || s.Singular {
		t.Errorf("got %d degrees of freedom, singular %v, want 4, false", s.DOF, s.Singular)
	}
}

// TestGivenJacobian: the derivatives of a caller serve as well as the numerical ones.
func TestGivenJacobian(t *testing.T) {
	p := fit.Problem{Residuals: line, Count: 6, Start: []float64{0, 0}}
	want, err := fit.Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	p.Jacobian = func(_ context.Context, _, _ []float64, columns [][]float64) error {
		for i := range columns[0] {
			columns[0][i], columns[1][i] = 1/0.5, float64(i)/0.5
		}
		return nil
	}
	got, err := fit.Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	for j := range want.Sigma {
		near(t, "parameter", got.Parameters[j], want.Parameters[j], 1e-7)
		near(t, "sigma", got.Sigma[j], want.Sigma[j], 1e-7)
	}
}

// TestJacobianOfTheEnd: the solution's Jacobian is that at its parameters, whether the last step of the fit led there
// or was not taken any more, and at a bound too.
func TestJacobianOfTheEnd(t *testing.T) {
	// y = exp(p0 x) at six points: the slope by p0 depends on p0.
	at := func(p float64, i int) float64 { return float64(i) * math.Exp(p*float64(i)) }
	curve := func(_ context.Context, p, r []float64) error {
		for i := range r {
			r[i] = math.Exp(p[0]*float64(i)) - math.Exp(0.3*float64(i)) - 0.1*float64(i%2)
		}
		return nil
	}
	for _, c := range []struct {
		name      string
		upper     float64
		tolerance float64
	}{{"to the bottom", 9, 1e-14}, {"roughly", 9, 1e-3}, {"to a bound", 0.25, 1e-14}} {
		p := fit.Problem{Residuals: curve, Count: 6, Start: []float64{0.1}, Lower: []float64{0},
			Upper:     []float64{c.upper},
			Tolerance: c.tolerance}
		p.Jacobian = func(_ context.Context, p, _ []float64, columns [][]float64) error {
			for i := range columns[0] {
				columns[0][i] = at(p[0], i)
			}
			return nil
		}
		s, err := fit.Solve(context.Background(), p)
		if err != nil {
			t.Fatal(err)
		}
		for i, got := range s.Jacobian[0] {
			if want := at(s.Parameters[0], i); got != want {
				t.Errorf("%s: point %d: the slope is %g, want %g", c.name, i, got, want)
			}
		}
		p.Unjudged = true
		u, err := fit.Solve(context.Background(), p)
		if err != nil {
			t.Fatal(err)
		}
		if u.Parameters[0] != s.Parameters[0] || u.ChiSquared != s.ChiSquared || u.Iterations != s.Iterations ||
			u.Covariance != nil {
			t.Errorf("%s: not judged, it is %v with chi-squared %g after %d, judged %v with %g after %d", c.name,
				u.Parameters,
				u.ChiSquared, u.Iterations,
				s.Parameters, s.ChiSquared, s.Iterations)
		}
	}
}

func TestBound(t *testing.T) {
	s, err := fit.Solve(context.Background(), fit.Problem{
		Residuals: line, Count: 6, Start: []float64{2, 1},
		Lower: []float64{1.5, math.Inf(-1)}, Upper: []float64{3, math.Inf(1)},
	})
	if err != nil {
		t.Fatal(err)
	}
	if s.Parameters[0] != 1.5 || !s.AtBound[0] || s.AtBound[1] {
		t.Errorf("got %v, at bound %v, want the first at its bound 1.5", s.Parameters, s.AtBound)
	}
	// With the intercept held, the slope is sum x (y - 1.5) / sum x^2.
	near(t, "slope", s.Parameters[1], (125.1-1.5*15)/55, 1e-8)
}

func TestWhatTheDataDoNotFix(t *testing.T) {
	sum := func(_ context.Context, p, r []float64) error {
		for i := range r {
			r[i] = (p[0]+p[1])*float64(i+1) - 2*float64(i+1)
		}
		return nil
	}
	s, err := fit.Solve(context.Background(), fit.Problem{Residuals: sum, Count: 5, Start: []float64{5, 7, 3}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the sum", s.Parameters[0]+s.Parameters[1], 2, 1e-9)
	if !s.Singular || s.DOF != 4 {
		t.Errorf("got singular %v with %d degrees of freedom, want true with 4", s.Singular, s.DOF)
	}
	if !s.Undetermined[2] || s.Undetermined[0] || s.Parameters[2] != 3 {
		t.Errorf("got undetermined %v, third parameter %g, want only the third, left at 3", s.Undetermined,
			s.Parameters[2])
	}
	if got := fit.Cosine(s.Jacobian[0], s.Jacobian[1]); math.Abs(got-1) > 1e-9 {
		t.Errorf("cosine of the two columns: got %g, want 1", got)
	}
}

// TestOutOfRange lets the model refuse part of its range: the fit takes shorter steps.
func TestOutOfRange(t *testing.T) {
	r := func(_ context.Context, p, r []float64) error {
		if p[0] > 4 {
			return fmt.Errorf("out of range")
		}
		for i := range r {
			x := float64(i) / 10
			r[i] = 100 * (math.Exp(p[0]*x) - math.Exp(3*x))
		}
		return nil
	}
	s, err := fit.Solve(context.Background(), fit.Problem{Residuals: r, Count: 20, Start: []float64{-2}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "exponent", s.Parameters[0], 3, 1e-9)
	if _, err := fit.Solve(context.Background(), fit.Problem{Residuals: r, Count: 20,
		Start: []float64{5}}); err == nil ||
		!strings.Contains(err.Error(), "at the start: out of range") {
		t.Errorf("start out of range: got %v", err)
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	_, err := fit.Solve(ctx, fit.Problem{Count: 6, Start: []float64{0, 0},
		Residuals: func(ctx context.Context, p, r []float64) error {
			if calls++; calls == 3 {
				cancel()
			}
			return line(ctx, p, r)
		}})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want context.Canceled", err)
	}
	if calls > 4 {
		t.Errorf("%d evaluations after cancelling at the third", calls)
	}
}

func TestNotConverged(t *testing.T) {
	// Rosenbrock's valley (1960) as two residuals needs more than two steps from its usual start.
	rosenbrock := func(_ context.Context, p, r []float64) error {
		r[0], r[1] = 10*(p[1]-p[0]*p[0]), 1-p[0]
		return nil
	}
	s, err := fit.Solve(context.Background(), fit.Problem{Residuals: rosenbrock, Count: 2, Start: []float64{-1.2, 1},
		MaxIterations: 2})
	if !errors.Is(err, fit.ErrNotConverged) || s == nil {
		t.Fatalf("got %v and %v, want the best so far and ErrNotConverged", s, err)
	}
	s, err = fit.Solve(context.Background(), fit.Problem{Residuals: rosenbrock, Count: 2, Start: []float64{-1.2, 1}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "x", s.Parameters[0], 1, 1e-7)
	near(t, "y", s.Parameters[1], 1, 1e-7)
	if s.PValue != 1 {
		t.Errorf("no degrees of freedom: got p %g, want 1", s.PValue)
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		name string
		p    fit.Problem
		want string
	}{
		{"no residuals", fit.Problem{Count: 1, Start: []float64{0}}, "needs residuals"},
		{"no parameter", fit.Problem{Residuals: line, Count: 6}, "needs a parameter"},
		{"no count", fit.Problem{Residuals: line, Start: []float64{0}}, "needs a residual"},
		{"steps", fit.Problem{Residuals: line, Count: 6, Start: []float64{0, 0}, Step: []float64{1}},
			"1 steps for 2 parameters"},
		{"bounds", fit.Problem{Residuals: line, Count: 6, Start: []float64{0, 0}, Lower: []float64{1, 1},
			Upper: []float64{0, 2}}, "bounds 1 and 0"},
		{"start", fit.Problem{Residuals: line, Count: 6, Start: []float64{0, math.NaN()}}, "starts at NaN"},
	} {
		if _, err := fit.Solve(context.Background(), c.p); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
	}
}

// TestPValue compares with tabulated 5 % points of chi-squared (any statistics table).
func TestPValue(t *testing.T) {
	for _, c := range []struct {
		chi float64
		dof int
	}{{3.841, 1}, {18.307, 10}, {124.342, 100}} {
		if got := fit.PValue(c.chi, c.dof); math.Abs(got-0.05) > 1e-4 {
			t.Errorf("p of %g with %d: got %g, want 0.05", c.chi, c.dof, got)
		}
	}
}
