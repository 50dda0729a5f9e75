package doe_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"wedgework/reports/doe"
)

// model is a response on an interval: its derivatives by the parameters at x.
type model struct {
	low, high float64
	row       func(x float64) []float64
}

func (m model) problem(xs []float64, c []float64) doe.Problem {
	p := doe.Problem{Combination: c, Parameters: len(m.row(xs[0]))}
	for _, x := range xs {
		p.Candidates = append(p.Candidates, doe.Candidate{Row: m.row(x)})
	}
	return p
}

// optimum closes in on the design over the whole interval: a grid, and then the points of support and one beside each
// on either side, ever nearer. It returns them with their weights, and the design on them alone.
func (m model) optimum(t *testing.T, c []float64) (xs, weights []float64, d *doe.Design) {
	t.Helper()
	design := func(xs []float64) *doe.Design {
		d, err := doe.Approximate(context.Background(), m.problem(xs, c), 1)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	step := (m.high - m.low) / 40
	var grid []float64
	for k := range 41 {
		grid = append(grid, m.low+float64(k)*step)
	}
	d = design(grid)
	last := -2
	for i, w := range d.Weights { // neighbours share the weight of a point between them
		switch {
		case w < 1e-3:
		case last == i-1:
			if last = i; w > d.Weights[i-1] {
				xs[len(xs)-1] = grid[i]
			}
		default:
			last, xs = i, append(xs, grid[i])
		}
	}
	for ; step > 1e-7; step *= 0.8 {
		var near []float64
		var of []int
		for i, x := range xs {
			for k := -1.0; k <= 1; k++ {
				if v := x + k*step; v >= m.low && v <= m.high {
					near, of = append(near, v), append(of, i)
				}
			}
		}
		next, most := make([]float64, len(xs)), make([]float64, len(xs))
		for k, w := range design(near).Weights {
			if i := of[k]; w > most[i] {
				next[i], most[i] = near[k], w
			}
		}
		xs = next
	}
	d = design(xs)
	return xs, d.Weights, d
}

func polynomial(degree int) func(float64) []float64 {
	return func(x float64) []float64 {
		row := make([]float64, degree+1)
		for k, v := 0, 1.0; k <= degree; k, v = k+1, v*x {
			row[k] = v
		}
		return row
	}
}

// decay is A exp(-t x) at A = 1 and t = 1.
func decay(x float64) []float64 { return []float64{math.Exp(-x), -x * math.Exp(-x)} }

// offset is that with a constant.
func offset(x float64) []float64 { return append(decay(x), 1) }

// saturating is V x/(K + x) at V = 1, the law of Michaelis and Menten.
func saturating(k float64) func(float64) []float64 {
	return func(x float64) []float64 { return []float64{x / (k + x), -x / (k + x) / (k + x)} }
}

// TestDOptimal holds designs against closed forms: those of polynomials (the roots of (1 - x^2) P'_n; P. G. Hoel,
// Annals of Mathematical Statistics 29, 1134, 1958), of an exponential decay (points a and a + 1/t) and with a constant
// (1/t - b e^(-tb)/(1 - e^(-tb))), and of Michaelis and Menten (b and K b/(2K + b)). At each the weights are equal, and
// the greatest value of the variance function is the number of parameters.
func TestDOptimal(t *testing.T) {
	for _, c := range []struct {
		name   string
		model  model
		points []float64
		det    float64 // 0: not printed
	}{
		{"line", model{-1, 1, polynomial(1)}, []float64{-1, 1}, 1},
		{"parabola", model{-1, 1, polynomial(2)}, []float64{-1, 0, 1}, 0.148148},
		{"cubic", model{-1, 1, polynomial(3)}, []float64{-1, -0.4472136, 0.4472136, 1}, 0.00512},
		{"decay", model{0, 5, decay}, []float64{0, 1}, 0.0338338},
		{"decay from 0.3", model{0.3, 5, decay}, []float64{0.3, 1.3}, 0},
		{"decay to a constant, 2", model{0, 2, offset}, []float64{0, 0.6869647, 2}, 0},
		{"decay to a constant, 5", model{0, 5, offset}, []float64{0, 0.9660817, 5}, 0},
		{"decay to a constant, 10", model{0, 10, offset}, []float64{0, 0.9995460, 10}, 0},
		{"saturating, K 1 to 5", model{0, 5, saturating(1)}, []float64{0.7142857, 5}, 0},
		{"saturating, K 0.5 to 1", model{0, 1, saturating(0.5)}, []float64{0.25, 1}, 0},
		{"saturating, K 2 to 1", model{0, 1, saturating(2)}, []float64{0.4, 1}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			xs, weights, d := c.model.optimum(t, nil)
			if len(xs) != len(c.points) || len(weights) != len(c.points) {
				t.Fatalf("points %v, want %v", xs, c.points)
			}
			k := float64(len(c.points))
			for i, x := range xs {
				if math.Abs(x-c.points[i]) > 2e-5 {
					t.Errorf("point %d is %.7f, want %.7f", i, x, c.points[i])
				}
				if math.Abs(weights[i]-1/k) > 1e-5 {
					t.Errorf("weight %d is %.7f, want 1/%g", i, weights[i], k)
				}
			}
			if c.det > 0 && math.Abs(math.Exp(d.Value)/c.det-1) > 5e-6 {
				t.Errorf("det M is %.7f, want %.7f", math.Exp(d.Value), c.det)
			}
			if math.Abs(d.Mean-k) > 1e-9 {
				t.Errorf("mean of the variance function %.9f, want %g", d.Mean, k)
			}
			// Everywhere on the interval, not only where readings could be taken.
			worst := 0.0
			for i := range 2001 {
				x := c.model.low + (c.model.high-c.model.low)*float64(i)/2000
				worst = max(worst, variance(c.model, xs, x))
			}
			if math.Abs(worst-k) > 1e-5*k {
				t.Errorf("the greatest variance is %.7f, want %g", worst, k)
			}
		})
	}
}

// variance is f' M^-1 f of a design with equal weights, by a second route: least squares through gonum's QR.
func variance(m model, xs []float64, at float64) float64 {
	k := len(xs)
	a := mat.NewDense(k, k, nil)
	for i, x := range xs {
		for j, v := range m.row(x) {
			a.Set(i, j, v/math.Sqrt(float64(k)))
		}
	}
	var z mat.VecDense
	if err := z.SolveVec(a.T(), mat.NewVecDense(k, m.row(at))); err != nil {
		return math.Inf(1)
	}
	return mat.Dot(&z, &z)
}

// TestCOptimal: a polynomial on [-1, 1] is extrapolated to x best from the extremes of Chebyshev's polynomial T_k, in
// proportion to the Lagrange polynomials there, with the variance T_k(x)^2 (P. G. Hoel and A. Levine, Annals of
// Mathematical Statistics 35, 1553, 1964).
func TestCOptimal(t *testing.T) {
	for _, c := range []struct {
		degree          int
		at, variance    float64
		points, weights []float64
	}{
		{1, 2, 4, []float64{-1, 1}, []float64{0.25, 0.75}},
		{2, 2, 49, []float64{-1, 0, 1}, []float64{1.0 / 7, 3.0 / 7, 3.0 / 7}},
		{3, 1.5, 81, []float64{-1, -0.5, 0.5, 1}, nil},
	} {
		m := model{-1, 1, polynomial(c.degree)}
		xs, weights, d := m.optimum(t, m.row(c.at))
		if len(xs) != len(c.points) {
			t.Fatalf("degree %d: points %v, want %v", c.degree, xs, c.points)
		}
		for i := range xs {
			if math.Abs(xs[i]-c.points[i]) > 5e-4 { // where the variance is flat: 1e-6 of it
				t.Errorf("degree %d: point %.6f, want %.6f", c.degree, xs[i], c.points[i])
			}
			if c.weights != nil && math.Abs(weights[i]-c.weights[i]) > 1e-4 {
				t.Errorf("degree %d: weight %.6f, want %.6f", c.degree, weights[i], c.weights[i])
			}
		}
		if math.Abs(d.Value/c.variance-1) > 1e-6 {
			t.Errorf("degree %d: variance %.6f, want %g", c.degree, d.Value, c.variance)
		}
		if d.Excess() > 1e-6 || math.Abs(d.Mean-1) > 1e-9 {
			t.Errorf("degree %d: excess %g, mean %g, want 0 and 1", c.degree, d.Excess(), d.Mean)
		}
	}
}

// TestEfficiency is that of five equally spaced points for a parabola, 0.839017 in D.
func TestEfficiency(t *testing.T) {
	m := model{-1, 1, polynomial(2)}
	p := m.problem([]float64{-1, -0.5, 0, 0.5, 1}, nil)
	c, err := doe.Choose(context.Background(), []doe.Problem{p}, doe.Limits{Readings: 5, Repeats: 1})
	if err != nil {
		t.Fatal(err)
	}
	_, _, best := m.optimum(t, nil)
	got := math.Exp((c.Values[0] - 3*math.Log(5) - best.Value) / 3)
	if math.Abs(got-0.839017) > 1e-6 {
		t.Errorf("efficiency %.6f, want 0.839017", got)
	}
}

// exhausted is the best value of all choices, by trying each.
func exhausted(p doe.Problem, left, from int, counts []int, best *float64) {
	if left == 0 {
		n := p.Known.SymmetricDim()
		m := mat.NewDense(n, n, nil)
		m.Copy(p.Known)
		for i, c := range p.Candidates {
			if counts[i] == 0 {
				continue
			}
			r := float64(counts[i]) / (1 + float64(counts[i])*c.Common*c.Common)
			for a := range n {
				for b := range n {
					m.Set(a, b, m.At(a, b)+r*c.Row[a]*c.Row[b])
				}
			}
		}
		var inverse mat.Dense
		if inverse.Inverse(m) == nil {
			v := 0.0
			for a, x := range p.Combination {
				for b, y := range p.Combination {
					v += x * y * inverse.At(a, b)
				}
			}
			*best = min(*best, v)
		}
		return
	}
	for i := from; i < len(counts); i++ {
		counts[i]++
		exhausted(p, left-1, i, counts, best)
		counts[i]--
	}
}

// shared is a line whose readings share an error by sweep, and repeats a ripple; x runs from -1 to 1 in every sweep.
func shared(sweeps int, common float64) doe.Problem {
	n := 2 + sweeps
	p := doe.Problem{Combination: []float64{1, 0.5}, Known: mat.NewSymDense(n, nil)}
	for s := range sweeps {
		p.Known.SetSym(2+s, 2+s, 1)
		for _, x := range []float64{-1, -0.3, 0.4, 1} {
			row := make([]float64, n)
			row[0], row[1], row[2+s] = 10, 10*x, 3
			p.Candidates = append(p.Candidates, doe.Candidate{Row: row, Common: common, Sweep: s})
		}
	}
	return p
}

// TestChoose finds what trying every choice finds, with errors shared by sweep and by repeats; and their variance is
// that of generalized least squares with the covariance written out.
func TestChoose(t *testing.T) {
	for _, common := range []float64{0, 0.8} {
		p := shared(3, common)
		for _, n := range []int{2, 3, 5} {
			c, err := doe.Choose(context.Background(), []doe.Problem{p}, doe.Limits{Readings: n})
			if err != nil {
				t.Fatal(err)
			}
			best := math.Inf(1)
			exhausted(p, n, 0, make([]int, len(p.Candidates)), &best)
			if c.Values[0] > best*(1+2e-3) { // an exchange of single readings may end beside it
				t.Errorf("%d readings, common %g: variance %g, the best of all is %g", n, common, c.Values[0], best)
			}
			if v := generalized(p, c.Counts); math.Abs(v/c.Values[0]-1) > 1e-9 {
				t.Errorf("%d readings, common %g: variance %g, by the covariance %g", n, common, c.Values[0], v)
			}
		}
	}
}

// generalized is the variance of the combination by least squares with the covariance of all readings written out:
// shared errors in the covariance and not among the parameters.
func generalized(p doe.Problem, counts []int) float64 {
	var rows []doe.Candidate
	var place []int
	for i, n := range counts {
		for range n {
			rows, place = append(rows, p.Candidates[i]), append(place, i)
		}
	}
	v, j := mat.NewSymDense(len(rows), nil), mat.NewDense(len(rows), 2, nil)
	for a := range rows {
		j.SetRow(a, rows[a].Row[:2])
		for b := a; b < len(rows); b++ {
			sum := 0.0
			for k := 2; k < len(rows[a].Row); k++ {
				sum += rows[a].Row[k] * rows[b].Row[k]
			}
			if place[a] == place[b] {
				sum += rows[a].Common * rows[a].Common
			}
			if a == b {
				sum++
			}
			v.SetSym(a, b, sum)
		}
	}
	var w, m, inverse mat.Dense
	if w.Solve(v, j) != nil {
		return math.NaN()
	}
	m.Mul(j.T(), &w)
	if inverse.Inverse(&m) != nil {
		return math.NaN()
	}
	c := p.Combination
	return c[0]*c[0]*inverse.At(0, 0) + 2*c[0]*c[1]*inverse.At(0, 1) + c[1]*c[1]*inverse.At(1, 1)
}

// TestLimits: no more sweeps and repeats than allowed, and more readings than fit are refused.
func TestLimits(t *testing.T) {
	p := shared(4, 0)
	c, err := doe.Choose(context.Background(), []doe.Problem{p}, doe.Limits{Readings: 6, Repeats: 2, Sweeps: 2})
	if err != nil {
		t.Fatal(err)
	}
	used, sum := map[int]bool{}, 0
	for i, n := range c.Counts {
		if n > 2 {
			t.Errorf("candidate %d is read %d times", i, n)
		}
		if sum += n; n > 0 {
			used[p.Candidates[i].Sweep] = true
		}
	}
	if sum != 6 || len(used) != 2 {
		t.Errorf("%d readings in %d sweeps: %v", sum, len(used), c.Counts)
	}
	if _, err := doe.Choose(context.Background(), []doe.Problem{p}, doe.Limits{Readings: 9, Repeats: 1,
		Sweeps: 2}); err == nil {
		t.Error("nine readings at eight places")
	}
	one := doe.Problem{Candidates: []doe.Candidate{{Row: []float64{1, 2}}}, Parameters: 2}
	if _, err := doe.Approximate(context.Background(), one, 1); !errors.Is(err, doe.ErrUndetermined) {
		t.Errorf("one place for two parameters: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := doe.Choose(ctx, []doe.Problem{p}, doe.Limits{Readings: 6}); !errors.Is(err, context.Canceled) {
		t.Errorf("after an interruption: %v", err)
	}
}
