package diagnose

import (
	"testing"

	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
)

// Of explanations whose AICc differ by less than 2 the support is about equal (K. P. Burnham and D. R. Anderson, Model
// Selection and Multimodel Inference, 2nd edition, Springer 2002, section 2.6: 0 to 2 "substantial"): the one with
// fewer parameters is selected, and from 2 on the one with the lowest AICc.
func TestSelection(t *testing.T) {
	free := func(n int) []*model.Variable { return make([]*model.Variable, n) }
	of := func(label string, aicc float64, n int) fitting.Hypothesis {
		return fitting.Hypothesis{Explanation: fitting.Explanation{Label: label, AICc: aicc}, Free: free(n)}
	}
	for _, c := range []struct {
		name string
		list []fitting.Hypothesis
		want string
	}{
		{"the lowest", []fitting.Hypothesis{of("none", 40, 0), of("one", 12, 1), of("both", 14, 2)}, "one"},
		{"a simpler one 1.9 above", []fitting.Hypothesis{of("none", 40, 0), of("one", 11.9, 1), of("both", 10, 2)},
			"one"},
		{"a simpler one 2.1 above", []fitting.Hypothesis{of("none", 40, 0), of("one", 12.1, 1), of("both", 10, 2)},
			"both"},
		{"nothing changed", []fitting.Hypothesis{of("none", 11.9, 0), of("one", 11, 1), of("both", 10, 2)}, "none"},
	} {
		r := &ranking{list: c.list, together: 2}
		r.rank()
		if got := r.best().Label; got != c.want {
			t.Errorf("%s: selected %q, want %q", c.name, got, c.want)
		}
		if r.list[0].Delta != 0 || r.list[r.together].Label != "both" {
			t.Errorf("%s: the ranking starts %g above its lowest, and has %q for all parameters", c.name,
				r.list[0].Delta,
				r.list[r.together].Label)
		}
	}
}
