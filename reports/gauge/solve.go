package gauge

import (
	"math"
	"math/bits"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// solve tests the sources and solves the expected mean squares for the variances; it pools one interaction after
// another into the residual until every one that is left counts.
func (s *Study) solve(t *table) {
	crossed := 1<<len(t.levels) - 1 // how many of Sources are crossed factors
	for s.components(t, crossed); s.pool(crossed); {
		s.components(t, crossed)
	}
}

// pool marks the interaction of the most factors that is not significant and that none above contains.
func (s *Study) pool(crossed int) bool {
	for i := crossed - 1; i >= 0; i-- {
		src := &s.Sources[i]
		contained := slices.ContainsFunc(s.Sources[i+1:crossed], func(o Source) bool {
			return !o.Pooled && o.factors&src.factors == src.factors
		})
		if bits.OnesCount(src.factors) > 1 && !src.Pooled && !contained && src.PValue > s.Pool {
			src.Pooled = true
			return true
		}
	}
	return false
}

// within is the mean square within cells, with what is pooled, as a combination of mean squares: the connections where
// there are any, else the repeats.
func (s *Study) within(crossed int) []float64 {
	c := make([]float64, len(s.Sources))
	base := &s.Sources[crossed]
	dof := base.DOF
	for _, src := range s.Sources[:crossed] {
		if src.Pooled {
			dof += src.DOF
		}
	}
	c[crossed] = base.DOF / dof
	for i, src := range s.Sources[:crossed] {
		if src.Pooled {
			c[i] = src.DOF / dof
		}
	}
	return c
}

func add(to, c []float64, times float64) {
	for i, v := range c {
		to[i] += times * v
	}
}

// test compares the mean square of a source with a combination that it is expected to equal without effect.
func (s *Study) test(i int, noise []float64) (f, p float64) {
	expected, dof := s.combined(noise)
	src := s.Sources[i]
	switch {
	case !(expected > 0) && src.Mean > 0:
		return math.Inf(1), 0
	case !(expected > 0):
		return math.NaN(), math.NaN()
	}
	f = src.Mean / expected
	return f, distuv.F{D1: src.DOF, D2: dof}.Survival(f)
}

// combined returns a combination of mean squares with its effective degrees of freedom (F. E. Satterthwaite, Biometrics
// Bulletin 2, 110, 1946). Mean squares that are pooled are one with the residual.
func (s *Study) combined(c []float64) (value, dof float64) {
	below, pooled, pooledDOF := 0.0, 0.0, 0.0
	base := -1
	for i := range s.Sources {
		if s.Sources[i].factors == 0 && base < 0 {
			base = i
		}
	}
	for i, src := range s.Sources {
		term := c[i] * src.Mean
		value += term
		if src.Pooled || i == base {
			pooled += term
			pooledDOF += src.DOF
			continue
		}
		below += term * term / src.DOF
	}
	if pooled != 0 {
		below += pooled * pooled / pooledDOF
	}
	if below == 0 {
		return value, 0
	}
	return value, value * value / below
}

// components works out the variances and the tests.
func (s *Study) components(t *table, crossed int) {
	residual := s.within(crossed)
	kept := map[uint][]float64{} // k_T V_T of every source that counts, as a combination of mean squares
	var found []Component
	for i := crossed - 1; i >= 0; i-- {
		src := &s.Sources[i]
		if src.Pooled {
			continue
		}
		noise := append([]float64{}, residual...)
		for _, above := range s.Sources[i+1 : crossed] {
			if c := kept[above.factors]; c != nil && above.factors&src.factors == src.factors {
				add(noise, c, 1)
			}
		}
		src.F, src.PValue = s.test(i, noise)
		own := make([]float64, len(s.Sources))
		own[i] = 1
		add(own, noise, -1)
		kept[src.factors] = own
		scaled := make([]float64, len(own))
		add(scaled, own, 1/t.readings(src.factors))
		found = append(found, s.component(src.Name, src.factors, scaled))
	}
	slices.Reverse(found)
	s.Components = found
	last := len(s.Sources) - 1
	reading := append([]float64{}, residual...)
	if s.Connections > 1 && s.Repeats > 1 {
		within := make([]float64, len(s.Sources))
		within[last] = 1
		connection := make([]float64, len(s.Sources))
		add(connection, residual, 1/float64(s.Repeats))
		add(connection, within, -1/float64(s.Repeats))
		s.Components = append(s.Components, s.component("reconnection", 0, connection))
		s.Sources[crossed].F, s.Sources[crossed].PValue = s.test(crossed, within)
		reading = within
	}
	s.Components = append(s.Components, s.component("repeatability", 0, reading))
}

// component is a variance from a combination of mean squares.
func (s *Study) component(name string, factors uint, c []float64) Component {
	v, dof := s.combined(c)
	one := Component{Name: name, Raw: v, Variance: max(v, 0), DOF: dof, factors: factors,
		combination: append([]float64{}, c...)}
	if one.Variance == 0 {
		one.DOF = 0
	}
	return one
}

// group adds the components up.
func (s *Study) group() {
	sum := func(name string, of func(Component) bool) Component {
		c, v := make([]float64, len(s.Sources)), 0.0
		for _, one := range s.Components {
			if of(one) && one.Variance > 0 {
				add(c, one.combination, 1)
				v += one.Variance
			}
		}
		all := s.component(name, 0, c)
		all.Variance, all.Raw = v, v // the same, rounded once
		return all
	}
	named := func(name string) func(Component) bool { return func(c Component) bool { return c.Name == name } }
	s.Repeatability = sum("repeatability", named("repeatability"))
	s.Reconnection = sum("reconnection", named("reconnection"))
	s.Reproducibility = sum("reproducibility", func(c Component) bool { return c.factors > 1 })
	s.Total = sum("bench", func(c Component) bool { return c.factors != 1 })
	s.Between = sum("parts", func(c Component) bool { return c.factors == 1 })
}
