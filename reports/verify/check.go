package verify

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

// prepared checks a specification and fills in what it leaves to choice.
func prepared(s Spec) (Spec, error) {
	if s.Model == nil {
		return s, fmt.Errorf("verify needs a model")
	}
	if len(s.Readings.Rows) == 0 {
		return s, fmt.Errorf("no readings")
	}
	switch s.Readings.Polarization {
	case readings.Scrambled, readings.MinMax, readings.FixedUnknown, readings.Unstated:
	default:
		return s, fmt.Errorf("source polarization %q: expected scrambled, min-max or fixed-unknown",
			s.Readings.Polarization)
	}
	for i, l := range s.Limits {
		if err := l.Check(); err != nil {
			return s, fmt.Errorf("limit %d: %w", i+1, err)
		}
		if l.Change != nil {
			return s, fmt.Errorf("limit %d: a change of %s since %s needs both measurements, and one is verified here",
				i+1, l.Quantity, l.Change.Since)
		}
	}
	if err := s.Budget.Check(); err != nil {
		return s, fmt.Errorf("uncertainty budget: %w", err)
	}
	for _, path := range slices.Sorted(maps.Keys(s.Tolerances)) {
		if err := s.checkTolerance(path); err != nil {
			return s, err
		}
	}
	seen := map[string]bool{}
	for _, path := range s.Fit {
		if seen[path] {
			return s, fmt.Errorf("fit names %q twice", path)
		}
		seen[path] = true
		if _, err := model.VariableOf(s.Model, path); err != nil {
			return s, fmt.Errorf("fit: %w", err)
		}
	}
	if s.LossAt == 0 {
		s.LossAt = 1550 * quantity.Nanometre
	}
	if !(s.Smooth >= 0) || math.IsInf(float64(s.Smooth), 1) {
		return s, fmt.Errorf("smooth is %g m, expected a length of zero or more", float64(s.Smooth))
	}
	if !(s.MaxGap >= 0) || math.IsInf(float64(s.MaxGap), 1) {
		return s, fmt.Errorf("the widest gap is %g m, expected a length of zero or more", float64(s.MaxGap))
	}
	if s.MaxGap == 0 {
		s.MaxGap = 2 * quantity.Nanometre
	}
	return s, nil
}

func (s Spec) checkTolerance(path string) error {
	t := s.Tolerances[path]
	v, err := model.VariableOf(s.Model, path)
	if err != nil {
		return fmt.Errorf("tolerances: %w", err)
	}
	switch {
	case t.Shape != Normal && t.Shape != Uniform:
		return fmt.Errorf("tolerance of %s: shape %q: expected normal or uniform", path, t.Shape)
	case t.Value.Dimension() != v.Nominal.Dimension():
		return fmt.Errorf("tolerance of %s is %s, %s; expected %s", path, t.Value, an(t.Value.Dimension()),
			an(v.Nominal.Dimension()))
	case t.Value.Absolute() || !(t.Value.SI() >= 0):
		return fmt.Errorf("tolerance of %s is %s: expected a difference of zero or more", path, t.Value)
	}
	return nil
}

// an puts the article before a dimension.
func an(d quantity.Dimension) string {
	if strings.ContainsAny(d.String()[:1], "aeiou") {
		return "an " + d.String()
	}
	return "a " + d.String()
}
