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
	found, err := Maximize(context.Background(), thin, []Vary{{Path: "wedge2.axis", Low: deg(60), High: deg(75)}},
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

	found, err = Maximize(context.Background(), s, []Vary{{Path: "rotator1.angle", Low: deg(40), High: deg(50)}},
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
	found, err := Maximize(context.Background(), core(t), []Vary{{Path: "rotator1.angle", Low: deg(40), High: deg(50)},
		{Path: "wedge2.axis", Low: deg(60), High: deg(75)}},
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
	s, vary := core(t), []Vary{{Path: "wedge2.axis", Low: deg(60), High: deg(75)}}
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
		"wedge9":                 {{Path: "wedge9.axis", Low: deg(1), High: deg(2)}},
		"the dimension of":       {{Path: "wedge2.axis", Low: quantity.Of(1, "nm"), High: quantity.Of(2, "nm")}},
		"want two that rise":     {{Path: "wedge2.axis", Low: deg(2), High: deg(1)}},
		"can be built and has":   {{Path: "wedge2.thickness", Low: quantity.Of(-2, "mm"), High: quantity.Of(-1, "mm")}},
	} {
		if _, err := Maximize(context.Background(), s, vary, fine); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
	wrong := errors.New("the lambda is wrong")
	vary := []Vary{{Path: "wedge2.axis", Low: deg(60), High: deg(75)}}
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

// TestMaximizeTied: both apexes have one value, so that the rays leave parallel whatever it is, and of films of a few
// angles that one is found whose error the best axis makes up for; the closed form of the leak says how well.
func TestMaximizeTied(t *testing.T) {
	s := core(t)
	apart := func(c *stack.Stack) (float64, float64, error) {
		a, err := c.Parameter("wedge1.apex")
		if err != nil {
			return 0, 0, err
		}
		b, err := c.Parameter("wedge2.apex")
		if err != nil || a.SI() != b.SI() {
			t.Fatalf("apexes of %s and %s are not tied, %v", a, b, err)
		}
		film, err := c.Parameter("rotator1.angle")
		return -math.Abs(a.Value-4.2) - math.Abs(film.Value-44.6), 0, err
	}
	vary := []Vary{{Path: "wedge1.apex, wedge2.apex", Low: deg(3), High: deg(6)},
		{Path: "rotator1.angle", Among: []quantity.Quantity{deg(45), deg(44.5), deg(44)}}}
	found, err := Maximize(context.Background(), s, vary, apart)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(found.At[0].Value-4.2) > 0.01 || found.At[1] != deg(44.5) || math.Abs(found.Value+0.1) > 0.01 {
		t.Errorf("found %v with %g, want 4.2 deg and the film of 44.5 deg", found.At, found.Value)
	}
	found, err = Maximize(context.Background(), s, vary[1:], func(c *stack.Stack) (float64, float64, error) {
		film, err := c.Parameter("rotator1.angle")
		return -film.Value, 44.2 - film.Value, err // the least angle of 44.2 deg or more
	})
	if err != nil || found.At[0] != deg(44.5) || found.Evaluations != 3 || found.Violation != 0 {
		t.Errorf("found %+v, %v", found, err)
	}
	for what, bad := range map[string][]Vary{
		"unknown path":    {{Path: "wedge1.apex, wedge9.apex", Low: deg(3), High: deg(6)}},
		"another kind":    {{Path: "wedge1.apex, wedge1.thickness", Low: deg(3), High: deg(6)}},
		"no values":       {{Path: "rotator1.angle", Among: []quantity.Quantity{}}},
		"no such element": {{Path: "rotator9.angle", Among: []quantity.Quantity{deg(45)}}},
	} {
		if _, err := Maximize(context.Background(), s, bad, apart); err == nil {
			t.Errorf("%s: no error", what)
		}
	}
}
