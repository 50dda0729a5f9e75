package tolerance

import (
	"context"
	"math"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// TestFront: of two parabolas of one angle, with peaks at 62 and 70 deg, the compromises are the angles between the
// peaks, and no others; of another parameter that both want at 5 deg they all have that.
func TestFront(t *testing.T) {
	s := core(t)
	goals := func(c *stack.Stack) ([]float64, float64, error) {
		a, err := c.Parameter("wedge2.axis")
		if err != nil {
			return nil, 0, err
		}
		b, err := c.Parameter("wedge1.apex")
		off := (b.Value - 5) * (b.Value - 5)
		return []float64{-(a.Value-62)*(a.Value-62) - off, -(a.Value-70)*(a.Value-70) - off}, 0, err
	}
	vary := []Vary{{Path: "wedge2.axis", Low: deg(55), High: deg(80)},
		{Path: "wedge1.apex, wedge2.apex", Low: deg(4), High: deg(6)}}
	front, evaluations, err := Front(context.Background(), s, vary, 2, goals)
	if err != nil {
		t.Fatal(err)
	}
	if len(front) < 8 || evaluations < 200 {
		t.Fatalf("%d compromises of %d stacks", len(front), evaluations)
	}
	widest := 0.0
	for i, c := range front {
		// How near climbs come to a ridge: the square of it is lost in a goal.
		if x := c.At[0].Value; x < 61.9 || x > 70.1 || math.Abs(c.At[1].Value-5) > 0.1 {
			t.Errorf("%v is no compromise", c.At)
		}
		if i > 0 {
			widest = max(widest, c.At[0].Value-front[i-1].At[0].Value)
		}
		for _, o := range front {
			if Dominates(o.Values, c.Values) {
				t.Errorf("%v is dominated by %v", c.Values, o.Values)
			}
		}
	}
	if front[0].At[0].Value > 62.1 || front[len(front)-1].At[0].Value < 69.9 || widest > 1.5 {
		t.Errorf("from %v to %v, with a gap of %.2f deg", front[0].At, front[len(front)-1].At, widest)
	}
	if _, _, err := Front(context.Background(), s, vary, 1, goals); err == nil {
		t.Error("one goal: no error")
	}
	if _, _, err := Front(context.Background(), s, []Vary{{Path: "wedge9.axis", Low: quantity.Of(1, "deg"),
		High: quantity.Of(2, "deg")}}, 2, goals); err == nil {
		t.Error("unknown parameter: no error")
	}
}
