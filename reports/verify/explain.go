package verify

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/reports/fit"
)

// hypothesis is an explanation with what it was fitted from.
type hypothesis struct {
	Explanation
	vs       []*vary
	solution *fit.Solution // nil for "as specified"
	model    Model
	f        *fitter // what it was fitted to
	deviance float64 // twice the negative log-likelihood, which the fit made least: chi-squared of the readings that are numbers and more
}

const (
	// same is the correlation above which two parameters are one to this data.
	same = 0.99
	// simpler is how much AICc an explanation with fewer parameters may give away and still be adopted
	// (Burnham and Anderson, Model Selection and Multimodel Inference, 2002: below 2 the support is
	// about equal).
	simpler = 2
	// unlikely is the p-value under which chi-squared is called more than the budget accounts for.
	unlikely = 0.01
)

// ranking holds every hypothesis tried, in order of AICc, and which was adopted.
type ranking struct {
	list     []hypothesis
	selected int
	together int        // the one in which all named parameters are free; -1 if there is none
	groups   [][]string // parameters the data cannot tell apart, more than one
}

// compete tries: nothing changed, each named parameter alone, and all together. Parameters that the data
// cannot tell apart enter the last one through the first of them only. What an earlier look found is where
// its explanations start; it may be nil.
func compete(ctx context.Context, thin, full *fitter, vs []*vary, tolerances map[string]Tolerance, earlier *ranking) (*ranking, error) {
	chi, err := full.chiSquared(ctx, full.model)
	if err != nil {
		return nil, err
	}
	n := full.count()
	e := &ranking{together: -1}
	asIs := hypothesis{model: full.model, f: full, Explanation: Explanation{Label: "as specified"}}
	if err := asIs.fill(ctx, chi, n, true); err != nil {
		return nil, err
	}
	e.list = append(e.list, asIs)
	for _, v := range vs {
		x, err := attempt(ctx, thin, full, []*vary{v}, earlier)
		if err != nil {
			return nil, err
		}
		e.list = append(e.list, *x)
	}
	if len(vs) == 1 {
		e.together = 1
	}
	if len(vs) > 1 {
		best := 0
		for i := range e.list {
			if e.list[i].deviance < e.list[best].deviance {
				best = i
			}
		}
		free, groups, err := apart(ctx, full, e.list[best].model, vs)
		if err != nil {
			return nil, err
		}
		e.groups = groups
		for len(free) > 1 {
			x, err := attempt(ctx, thin, full, free, earlier)
			if err != nil {
				return nil, err
			}
			j, k, sum := x.confused(tolerances)
			if j < 0 {
				e.together = len(e.list)
				e.list = append(e.list, *x)
				break
			}
			e.join(free[j].path, free[k].path, sum)
			free = slices.Delete(slices.Clone(free), k, k+1)
		}
	}
	e.rank()
	return e, nil
}

// confused finds two parameters of a fit that the data cannot tell apart, the earlier first: they are correlated as
// one, or they are strongly and the data say less about one of them than its tolerance does. sum is set when it is
// their sum that is fixed, and not their difference. -1 when there are none.
func (x *hypothesis) confused(tolerances map[string]Tolerance) (j, k int, sum bool) {
	const strongly = 0.9 // a choice: of a parameter that goes its own way little is known, and nothing is confused
	worst := strongly
	j, k = -1, -1
	for a := range x.vs {
		for b := a + 1; b < len(x.vs); b++ {
			c := x.solution.Correlation[a][b]
			if math.Abs(c) <= worst || math.Abs(c) <= same && !x.vague(a, tolerances) && !x.vague(b, tolerances) {
				continue
			}
			worst = math.Abs(c)
			j, k, sum = a, b, c < 0
		}
	}
	return j, k, sum
}

// vague reports whether the fit leaves a parameter more uncertain than its tolerance does.
func (x *hypothesis) vague(j int, tolerances map[string]Tolerance) bool {
	v := x.vs[j]
	t, ok := tolerances[v.path]
	if !ok {
		return false
	}
	sigma := t.Sigma()
	if v.leak { // a tolerance in dB is a fraction of the leak
		sigma *= perDecibel * max(x.solution.Parameters[j], v.at)
	}
	return x.solution.Sigma[j] > sigma
}

// join puts a parameter into the group of another.
func (e *ranking) join(path, other string, sum bool) {
	sign := "- "
	if sum {
		sign = "+ "
	}
	for i, g := range e.groups {
		if g[0] == path {
			e.groups[i] = append(g, sign+other)
			return
		}
	}
	e.groups = append(e.groups, []string{path, sign + other})
}

func attempt(ctx context.Context, thin, full *fitter, vs []*vary, earlier *ranking) (*hypothesis, error) {
	var s *fit.Solution
	var err error
	if start := earlier.named(label(vs)); start != nil {
		s, err = full.solve(ctx, vs, start.solution.Parameters, precisely)
	} else {
		s, err = search(ctx, thin, full, vs)
	}
	if err != nil {
		return nil, fmt.Errorf("fitting %s: %w", label(vs), err)
	}
	x := &hypothesis{vs: vs, solution: s, f: full}
	if x.model, err = adjusted(full.model, vs, s.Parameters); err != nil {
		return nil, err
	}
	x.Label, x.Correlation = label(vs), s.Correlation
	return x, x.fill(ctx, s.ChiSquared, s.DOF, s.Iterations < patience)
}

// fill states how well an explanation fits, from its deviance and how many more residuals than parameters there are.
// An "at least" reading is not a degree of freedom, and adds to chi-squared the square of what the model leaks above
// it, if anything: its share of the deviance, -2 ln Phi(z), is 1.4 for a model that sits on the bound and would cry
// misfit. Over bounds on either side of the curve this has the mean that it should, to a quarter of one reading.
func (x *hypothesis) fill(ctx context.Context, deviance float64, dof int, converged bool) error {
	x.deviance = deviance
	x.AICc, x.Converged = aicc(deviance, x.f.count(), len(x.vs)), converged
	chi := deviance
	if x.f.free < x.f.count() {
		p, err := x.f.plan.predict(ctx, x.model)
		if err != nil {
			return err
		}
		for k, b := range x.f.bounds {
			inside := b.inside(p[x.f.free+k])
			chi += 2*logPhi(inside) + math.Pow(min(inside, 0), 2)
		}
		chi, dof = max(chi, 0), max(dof-len(x.f.bounds), 0)
	}
	x.ChiSquared, x.DOF, x.PValue = chi, dof, fit.PValue(chi, dof)
	return nil
}

func label(vs []*vary) string {
	var names []string
	for _, v := range vs {
		names = append(names, v.path)
	}
	return strings.Join(names, ", ")
}

// aicc is the corrected information criterion of Hurvich and Tsai, Biometrika 76, 297 (1989), with the
// errors known: chi-squared + 2k + 2k(k+1)/(n-k-1). Without readings to spare the correction is dropped
// and the parameters count double.
func aicc(chi float64, n, k int) float64 {
	if n-k-1 < 1 {
		return chi + 4*float64(k)
	}
	return chi + 2*float64(k) + 2*float64(k*(k+1))/float64(n-k-1)
}

// rank sorts by AICc and adopts the best, or a simpler one that is about as good.
func (e *ranking) rank() {
	order := make([]int, len(e.list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch d := e.list[a].AICc - e.list[b].AICc; {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	together := e.together
	list := make([]hypothesis, len(order))
	for k, i := range order {
		list[k] = e.list[i]
		list[k].Delta = e.list[i].AICc - e.list[order[0]].AICc
		if i == together {
			e.together = k
		}
	}
	e.list = list
	e.selected = 0
	for k := range list {
		if list[k].Delta < simpler && len(list[k].vs) < len(list[e.selected].vs) {
			e.selected = k
		}
	}
}

// named returns the explanation with a label, nil if there is none.
func (e *ranking) named(label string) *hypothesis {
	if e == nil {
		return nil
	}
	for i := range e.list {
		if e.list[i].Label == label {
			return &e.list[i]
		}
	}
	return nil
}

func (e *ranking) best() *hypothesis { return &e.list[e.selected] }

// freest returns the explanation in which all named parameters are free, or the best if there is none.
func (e *ranking) freest() *hypothesis {
	if e.together >= 0 {
		return &e.list[e.together]
	}
	return e.best()
}

// scaled is by how much standard uncertainties are widened when chi-squared is more than the budget
// accounts for: the Birge ratio.
func (x *hypothesis) scaled() float64 {
	if x.PValue >= unlikely || x.DOF == 0 {
		return 1
	}
	return max(1, math.Sqrt(x.ChiSquared/float64(x.DOF)))
}

// sigma of parameter j, widened.
func (x *hypothesis) sigma(j int) float64 { return x.solution.Sigma[j] * x.scaled() }

// apart sorts the parameters into groups whose derivatives at model m are parallel, and returns the first
// of each group.
func apart(ctx context.Context, f *fitter, m Model, vs []*vary) (free []*vary, groups [][]string, err error) {
	columns := make([][]float64, len(vs))
	for j, v := range vs {
		here, err := varied(m, v.path)
		if err != nil {
			return nil, nil, err
		}
		if columns[j], err = f.column(ctx, m, here); err != nil {
			return nil, nil, err
		}
	}
	taken := make([]bool, len(vs))
	for j, v := range vs {
		if taken[j] {
			continue
		}
		free = append(free, v)
		group := []string{v.path}
		for k := j + 1; k < len(vs); k++ {
			if c := fit.Cosine(columns[j], columns[k]); !taken[k] && math.Abs(c) > same {
				taken[k] = true
				sign := "+ "
				if c < 0 {
					sign = "- "
				}
				group = append(group, sign+vs[k].path)
			}
		}
		if len(group) > 1 {
			groups = append(groups, group)
		}
	}
	return free, groups, nil
}

// varied returns the named parameter of a model, at the value it has there.
func varied(m Model, path string) (*vary, error) {
	for _, p := range m.Parameters() {
		if p.Path == path {
			return newVary(p)
		}
	}
	var all []string
	for _, p := range m.Parameters() {
		all = append(all, p.Path)
	}
	return nil, fmt.Errorf("the model has no parameter %q: it has %s", path, strings.Join(all, ", "))
}
