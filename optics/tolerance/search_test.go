package tolerance

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// TestMaximize: the isolation of a film 0.6 deg thin is greatest where the axes make up for it, at 67.5 + 0.6 deg
// (design of the part); and the least rotation that keeps 35 dB is where the closed form of the leak crosses it.
func TestMaximize(t *testing.T) {
	s := core(t)
	thin, err := s.Adjusted(map[string]quantity.Quantity{"rotator1.angle": deg(44.4)})
	if err != nil {
		t.Fatal(err)
	}
	isolation := func(c *stack.Stack) (float64, error) {
		p, err := c.WithGhosts(stack.GhostsIncoherent).At(stack.Backward, at, room)
		return p.Isolation(), err
	}
	found, err := Maximize(context.Background(), thin, []Vary{{"wedge2.axis", deg(60), deg(75)}},
		func(c *stack.Stack) (float64, float64, error) {
			v, err := isolation(c)
			return v, 0, err
		})
	if err != nil {
		t.Fatal(err)
	}
	if got := found.At[0].Value; math.Abs(got-68.1) > 0.01 || found.Bound[0] {
		t.Errorf("the axis is best at %.4f deg, want 68.1 inside of the range", got)
	}
	if want := leakOf(t, s).isolation(0); math.Abs(found.Value-want) > 0.05 {
		t.Errorf("there the isolation is %.2f dB, want %.2f", found.Value, want)
	}

	found, err = Maximize(context.Background(), s, []Vary{{"rotator1.angle", deg(40), deg(50)}},
		func(c *stack.Stack) (float64, float64, error) {
			angle, err := c.Parameter("rotator1.angle")
			if err != nil {
				return 0, 0, err
			}
			v, err := isolation(c)
			return -angle.Value, 35 - v, err
		})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := found.At[0].Value, 45-leakOf(t, s).angle(35); found.Violation > 0 || math.Abs(got-want) > 0.02 {
		t.Errorf("35 dB hold from %.3f deg on, want %.3f", got, want)
	}
}

// TestMaximizeSeveral: two angles that only their sum matters to, and a thickness that the delay fixes.
func TestMaximizeSeveral(t *testing.T) {
	found, err := Maximize(context.Background(), core(t), []Vary{{"rotator1.angle", deg(40), deg(50)},
		{"wedge2.axis", deg(60), deg(75)}},
		func(c *stack.Stack) (float64, float64, error) {
			p, err := c.WithGhosts(stack.GhostsNone).At(stack.Backward, at, room)
			return p.Isolation(), 0, err
		})
	if err != nil {
		t.Fatal(err)
	}
	if sum := found.At[0].Value + found.At[1].Value; math.Abs(sum-112.5) > 0.02 {
		t.Errorf("the angles sum to %.3f deg, want 112.5", sum)
	}
}

// TestMaximizeScale: whatever the values are counted in, and whatever they are worth where nothing can be valued, the
// top of a parabola is found; what violates a requirement never beats what does not.
func TestMaximizeScale(t *testing.T) {
	s, vary := core(t), []Vary{{"wedge2.axis", deg(60), deg(75)}}
	axis := func(c *stack.Stack) float64 {
		q, err := c.Parameter("wedge2.axis")
		if err != nil {
			t.Fatal(err)
		}
		return q.Value
	}
	for _, scale := range []float64{1e-300, 1e-12, 1, 1e15, 1e300} {
		for _, none := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
			found, err := Maximize(context.Background(), s, vary, func(c *stack.Stack) (float64, float64, error) {
				x := axis(c)
				if x > 70 {
					return none, 0, nil
				}
				return scale * (3 - (x-66.123)*(x-66.123)), x - 66, nil
			})
			if err != nil {
				t.Fatal(err)
			}
			if got := found.At[0].Value; math.Abs(got-66) > 0.02 || found.Violation > 0 || found.LeftOut == 0 {
				t.Errorf("on the scale %g the top is at %g (%+v), want next to the limit at 66", scale, got, found)
			}
			found, err = Maximize(context.Background(), s, vary, func(c *stack.Stack) (float64, float64, error) {
				x := axis(c)
				return scale * (3 - (x-66.123)*(x-66.123)), 0, nil
			})
			if err != nil {
				t.Fatal(err)
			}
			if got := found.At[0].Value; math.Abs(got-66.123) > 2e-3 || found.LeftOut > 0 {
				t.Errorf("on the scale %g the top is at %g (%+v), want 66.123", scale, got, found)
			}
		}
	}
}

func TestMaximizeRefuses(t *testing.T) {
	s := core(t)
	fine := func(*stack.Stack) (float64, float64, error) { return 0, 0, nil }
	for want, vary := range map[string][]Vary{
		"at least one parameter": nil,
		"wedge9":                 {{"wedge9.axis", deg(1), deg(2)}},
		"the dimension of":       {{"wedge2.axis", quantity.Of(1, "nm"), quantity.Of(2, "nm")}},
		"want two that rise":     {{"wedge2.axis", deg(2), deg(1)}},
		"can be built and has":   {{"wedge2.thickness", quantity.Of(-2, "mm"), quantity.Of(-1, "mm")}},
	} {
		if _, err := Maximize(context.Background(), s, vary, fine); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
	wrong := errors.New("the lambda is wrong")
	vary := []Vary{{"wedge2.axis", deg(60), deg(75)}}
	if _, err := Maximize(context.Background(), s, vary, func(*stack.Stack) (float64, float64, error) {
		return 0, 0,
			wrong
	}); !errors.Is(err, wrong) || !strings.Contains(err.Error(), "with wedge2.axis = ") {
		t.Errorf("got %v, want the error of the value and where it came up", err)
	}
	defer func() {
		if r := recover(); r != "mine" {
			t.Errorf("got the panic %v, want it carried to the caller", r)
		}
	}()
	n := 0
	_, _ = Maximize(context.Background(), s, vary, func(*stack.Stack) (float64, float64, error) {
		if n++; n > 20 {
			panic("mine")
		}
		return float64(n), 0, nil
	})
	t.Error("the panic was swallowed")
}
