package tolerance

import (
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// A search tells how far it has come: a part that never falls, of a total that stays the same, and in the end all of
// it. It tells of every stack that it looks at, of every combination and every goal.
func TestWatched(t *testing.T) {
	s := core(t)
	angle := func(v float64) quantity.Quantity { return quantity.Quantity{Value: v, Unit: quantity.MustNamed("deg")} }
	range1 := Vary{Path: "wedge2.axis", Low: angle(60), High: angle(75)}
	some := Vary{Path: "rotator1.angle", Among: []quantity.Quantity{angle(44), angle(45), angle(46)}}
	value := func(s *stack.Stack) (float64, float64, error) {
		p, err := s.Parameter("wedge2.axis")
		x := p.SI() - angle(67.5).SI()
		return -x * x, 0, err
	}
	for _, tt := range []struct {
		name string
		vary []Vary
	}{{"a range", []Vary{range1}}, {"a range and values", []Vary{range1, some}}, {"values", []Vary{some}}} {
		var told, last, of int
		ctx := Watched(t.Context(), func(done, total int) {
			if done < last || done > total || of != 0 && total != of {
				t.Fatalf("%s: told %d of %d after %d of %d", tt.name, done, total, last, of)
			}
			told, last, of = told+1, done, total
		})
		f, err := Maximize(ctx, s, tt.vary, value)
		if err != nil {
			t.Fatal(err)
		}
		if told < f.Evaluations || last != of || of == 0 {
			t.Errorf("%s: told %d times for %d stacks, in the end %d of %d", tt.name, told, f.Evaluations, last, of)
		}
		told, last, of = 0, 0, 0
		if _, _, err := Front(ctx, s, tt.vary, 2, func(s *stack.Stack) ([]float64, float64, error) {
			v, _, err := value(s)
			return []float64{v, -v}, 0, err
		}); err != nil {
			t.Fatal(err)
		}
		if last != of || of == 0 {
			t.Errorf("%s: of two goals told in the end %d of %d", tt.name, last, of)
		}
	}
}
