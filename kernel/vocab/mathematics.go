package vocab

import (
	"context"
	"errors"
	"fmt"
	"math"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
)

// valueKind is what mathematics works on.
var valueKind = Kind{"a number, a quantity, a sweep or a series", "", func(v starlark.Value) (bool, string) {
	_, ok := toField(v)
	return ok, ""
}}

// function makes the word for a function of one plain number; in says where it is defined and domain
// words that for the refusal.
func function(name, summary, example, domain string, in func(float64) bool, f func(float64) float64) Word {
	errs := "x has a unit"
	if domain != "" {
		errs += ", or is not " + domain
	}
	return Word{
		Name:    name,
		Summary: summary,
		Params:  []Param{{Name: "x", Kind: valueKind, Doc: "a plain number, or a series of them"}},
		Returns: "a plain number, or a series",
		Errors:  errs,
		Example: example,
		Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
			return each(a.Get("x"), func(q quantity.Quantity) (quantity.Quantity, error) {
				if q.Dimension() != quantity.Plain {
					return q, fmt.Errorf("x must be a plain number, got %s; divide by a unit first",
						describe(Quantity{q}))
				}
				x := q.SI()
				if !math.IsNaN(x) && !in(x) {
					return q, fmt.Errorf("x must be %s, got %v", domain, x)
				}
				return quantity.Quantity{Value: f(x)}, nil
			})
		},
	}
}

func everywhere(float64) bool     { return true }
func aboveZero(x float64) bool    { return x > 0 }
func withinOne(x float64) bool    { return x >= -1 && x <= 1 }
func degrees(rad float64) float64 { return quantity.FromSI(rad, degree).Value }

var degree = quantity.MustNamed("deg")

// trigonometric makes the word for a function of an angle.
func trigonometric(name, summary, example string, f func(float64) float64) Word {
	return Word{
		Name:    name,
		Summary: summary,
		Params:  []Param{{Name: "x", Kind: valueKind, Doc: "an angle such as 13*deg; a plain number is in radians"}},
		Returns: "a plain number, or a series",
		Errors:  "x is neither an angle nor a plain number",
		Example: example,
		Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
			return each(a.Get("x"), func(q quantity.Quantity) (quantity.Quantity, error) {
				if d := q.Dimension(); d != quantity.OfAngle && d != quantity.Plain {
					return q, fmt.Errorf("x must be an angle such as 13*deg, got %s", describe(Quantity{q}))
				}
				return quantity.Quantity{Value: f(exactDegrees(q))}, nil
			})
		},
	}
}

// exactDegrees returns an angle in radians, whole turns taken off in degrees where it is written in
// them: 360 deg has an exact remainder, 2 pi has not.
func exactDegrees(q quantity.Quantity) float64 {
	if q.Unit == degree {
		q.Value = math.Remainder(q.Value, 360)
	}
	return q.SI()
}

// inverse makes the word for an inverse trigonometric function.
func inverse(name, summary, example, domain string, in func(float64) bool, f func(float64) float64) Word {
	w := function(name, summary, example, domain, in, f)
	w.Returns = "an angle in deg, or a series"
	number := w.Call
	w.Call = func(t *starlark.Thread, a Args) (starlark.Value, error) {
		v, err := number(t, a)
		if err != nil {
			return nil, err
		}
		return each(v, func(q quantity.Quantity) (quantity.Quantity, error) {
			return quantity.Quantity{Value: degrees(q.Value), Unit: degree}, nil
		})
	}
	return w
}

// compare orders numbers and quantities, and whatever else Starlark orders.
func compare(t *starlark.Thread, x, y starlark.Value) (int, error) {
	p, okx := toQuantity(x)
	q, oky := toQuantity(y)
	if okx && oky {
		return quantity.Compare(p, q)
	}
	less, err := session.Compare(t, syntax.LT, x, y)
	if err != nil {
		return 0, err
	}
	if less {
		return -1, nil
	}
	more, err := session.Compare(t, syntax.LT, y, x)
	if more {
		return 1, err
	}
	return 0, err
}

// items returns what a word that takes values or one collection of them is to work on.
func items(ctx context.Context, many starlark.Tuple) ([]starlark.Value, error) {
	if len(many) != 1 {
		return many, nil
	}
	it, ok := many[0].(starlark.Iterable)
	if !ok {
		return nil, fmt.Errorf("needs two values or more, or one list, got %s", describe(many[0]))
	}
	const most = 1 << 22 // as many as a list takes in one go
	n := starlark.Len(it)
	if n > most {
		return nil, fmt.Errorf("%d values are too many (limit %d)", n, most)
	}
	out := make([]starlark.Value, 0, max(n, 0)) // growing would copy tens of megabytes at once
	for v := range starlark.Elements(it) {
		if len(out)&0xfff == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		out = append(out, v)
	}
	return out, nil
}

// extreme makes the words min and max; sign is +1 for max.
func extreme(name, summary, example string, sign int) Word {
	return Word{
		Name:    name,
		Summary: summary,
		Params: []Param{
			{Name: "values", Kind: anyKind, Mode: Many, Doc: "two values or more, or one list, sweep or series"},
			{Name: "key", Kind: functionKind, Mode: Keyword, Optional: true,
				Doc: "a function of one value; the values are compared by its results"},
		},
		Returns: "the value itself",
		Errors:  "there are no values, or their dimensions differ",
		Example: example,
		Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
			if s, ok := oneSeries(a.Many()); ok && !a.Has("key") {
				least, greatest := s.extremes()
				if sign > 0 {
					return s.value(greatest)
				}
				return s.value(least)
			}
			values, err := items(a.ctx, a.Many())
			if err != nil {
				return nil, err
			}
			return pick(t, values, a.Get("key"), sign)
		},
	}
}

func oneSeries(many starlark.Tuple) (*Series, bool) {
	if len(many) != 1 {
		return nil, false
	}
	s, ok := many[0].(*Series)
	return s, ok
}

func pick(t *starlark.Thread, values []starlark.Value, key starlark.Value, sign int) (starlark.Value, error) {
	if len(values) == 0 {
		return nil, errors.New("needs at least one value")
	}
	var best, bestKey starlark.Value
	ctx := session.ContextOf(t)
	for _, v := range values {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		k := v
		if key != starlark.None {
			var err error
			if k, err = starlark.Call(t, key, starlark.Tuple{v}, nil); err != nil {
				return nil, err
			}
		}
		if s, ok := k.(*Series); ok {
			return nil, fmt.Errorf("cannot compare whole series, got %s: compare their .min(), .max() or .at()",
				describe(s))
		}
		if best == nil {
			best, bestKey = v, k
			continue
		}
		c, err := compare(t, k, bestKey)
		if err != nil {
			return nil, err
		}
		if c*sign > 0 {
			best, bestKey = v, k
		}
	}
	return best, nil
}
