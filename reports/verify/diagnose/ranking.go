package diagnose

import (
	"context"
	"math"
	"slices"

	"wedgework/optics/tolerance"
	"wedgework/reports/fit"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

const (
	// simpler is how much AICc an explanation with fewer parameters may give away and still be selected
	// (Burnham and Anderson, Model Selection and Multimodel Inference, 2002: below 2 the support is
	// about equal).
	simpler = 2
)

// ranking holds every hypothesis tried, in order of AICc, and which was selected.
type ranking struct {
	list     []fitting.Hypothesis
	selected int
	together int        // the one in which all named parameters are free; -1 if there is none
	groups   [][]string // parameters the data cannot distinguish, more than one
}

// compete tries: nothing changed, each named parameter alone, and all together. Parameters that the data
// cannot distinguish enter the last one through the first of them only. What an earlier look found is where
// its explanations start; it may be nil.
func compete(ctx context.Context, thin, full *fitting.Fitter, vs []*model.Variable,
	tolerances map[string]tolerance.Tolerance, earlier *ranking) (*ranking, error) {
	chi, err := full.ChiSquared(ctx, full.Model)
	if err != nil {
		return nil, err
	}
	n := full.Count()
	e := &ranking{together: -1}
	asIs := fitting.Hypothesis{Model: full.Model, Fitter: full, Explanation: fitting.Explanation{Label: "as specified"}}
	if err := asIs.Fill(ctx, chi, n, true); err != nil {
		return nil, err
	}
	e.list = append(e.list, asIs)
	for _, v := range vs {
		x, err := fitting.Try(ctx, thin, full, []*model.Variable{v}, earlier.named(fitting.Label([]*model.Variable{v})))
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
			if e.list[i].Deviance < e.list[best].Deviance {
				best = i
			}
		}
		free, groups, err := apart(ctx, full, e.list[best].Model, vs)
		if err != nil {
			return nil, err
		}
		e.groups = groups
		for len(free) > 1 {
			x, err := fitting.Try(ctx, thin, full, free, earlier.named(fitting.Label(free)))
			if err != nil {
				return nil, err
			}
			j, k, sum := confused(x, tolerances)
			if j < 0 {
				e.together = len(e.list)
				e.list = append(e.list, *x)
				break
			}
			e.join(free[j].Path, free[k].Path, sum)
			free = slices.Delete(slices.Clone(free), k, k+1)
		}
	}
	e.rank()
	return e, nil
}

// confused finds two parameters of a fit that the data cannot distinguish, the earlier first: they are correlated as
// one, or they are strongly and the data say less about one of them than its tolerance does. sum is set when it is
// their sum that is fixed, and not their difference. -1 when there are none.
func confused(x *fitting.Hypothesis, tolerances map[string]tolerance.Tolerance) (j, k int, sum bool) {
	const strongly = 0.9 // a choice: of a parameter that goes its own way little is known, and nothing is confused
	worst := strongly
	j, k = -1, -1
	for a := range x.Free {
		for b := a + 1; b < len(x.Free); b++ {
			c := x.Solution.Correlation[a][b]
			if math.Abs(c) <= worst || math.Abs(c) <= fitting.Inseparable && !vague(x, a, tolerances) &&
				!vague(x, b, tolerances) {
				continue
			}
			worst = math.Abs(c)
			j, k, sum = a, b, c < 0
		}
	}
	return j, k, sum
}

// vague reports whether the fit leaves a parameter more uncertain than its tolerance does.
func vague(x *fitting.Hypothesis, j int, tolerances map[string]tolerance.Tolerance) bool {
	v := x.Free[j]
	t, ok := tolerances[v.Path]
	if !ok {
		return false
	}
	sigma := t.Sigma()
	if v.Leak { // a tolerance in dB is a fraction of the leakage
		sigma *= readings.PerDecibel * max(x.Solution.Parameters[j], v.At)
	}
	return x.Solution.Sigma[j] > sigma
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
	list := make([]fitting.Hypothesis, len(order))
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
		if list[k].Delta < simpler && len(list[k].Free) < len(list[e.selected].Free) {
			e.selected = k
		}
	}
}

// named returns the explanation with a label, nil if there is none.
func (e *ranking) named(label string) *fitting.Hypothesis {
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

func (e *ranking) best() *fitting.Hypothesis { return &e.list[e.selected] }

// freest returns the explanation in which all named parameters are free, or the best if there is none.
func (e *ranking) freest() *fitting.Hypothesis {
	if e.together >= 0 {
		return &e.list[e.together]
	}
	return e.best()
}

// apart sorts the parameters into groups whose derivatives at model m are parallel, and returns the first
// of each group.
func apart(ctx context.Context, f *fitting.Fitter, m model.Model,
	vs []*model.Variable) (free []*model.Variable, groups [][]string, err error) {
	columns := make([][]float64, len(vs))
	for j, v := range vs {
		here, err := model.VariableOf(m, v.Path)
		if err != nil {
			return nil, nil, err
		}
		if columns[j], err = f.Column(ctx, m, here); err != nil {
			return nil, nil, err
		}
	}
	taken := make([]bool, len(vs))
	for j, v := range vs {
		if taken[j] {
			continue
		}
		free = append(free, v)
		group := []string{v.Path}
		for k := j + 1; k < len(vs); k++ {
			if c := fit.Cosine(columns[j], columns[k]); !taken[k] && math.Abs(c) > fitting.Inseparable {
				taken[k] = true
				sign := "+ "
				if c < 0 {
					sign = "- "
				}
				group = append(group, sign+vs[k].Path)
			}
		}
		if len(group) > 1 {
			groups = append(groups, group)
		}
	}
	return free, groups, nil
}
