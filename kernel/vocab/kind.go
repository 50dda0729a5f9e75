package vocab

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/nearest"
)

// Kind says what an argument must be. The zero Kind accepts nothing.
type Kind struct {
	Want string // with article and example: "an angle such as 13*deg"
	Unit string // the unit help shows, or what else the value is measured in

	// accept reports whether the value will do; why, when not empty, replaces the plain account of what
	// came.
	accept func(starlark.Value) (ok bool, why string)
}

// problem returns "" when v will do and otherwise what is wrong: "must be ..., got ...".
func (k Kind) problem(v starlark.Value) string {
	ok, why := k.accept(v)
	if ok {
		return ""
	}
	if why == "" {
		why = "got " + describe(v)
	}
	return "must be " + k.Want + ", " + why
}

// amount is a kind for quantities of one dimension, measured from zero; example is its value as a cell
// writes it, "13*deg".
func amount(what, unit, example string, d quantity.Dimension) Kind {
	k := Kind{Want: article(what) + " such as " + example, Unit: unit}
	k.accept = func(v starlark.Value) (bool, string) {
		q, ok := v.(Quantity)
		if !ok || q.Quantity.Dimension() != d {
			return false, ""
		}
		if q.Absolute() {
			return false, fmt.Sprintf("got %s, a point on a scale; %s", q, scaleHint(q.Quantity))
		}
		return finite(q.Value)
	}
	return k
}

func scaleHint(q quantity.Quantity) string {
	if q.Dimension() == quantity.OfTemperature {
		return "a temperature difference is written in kelvin"
	}
	return "a power ratio is written in dB"
}

func finite(x float64) (bool, string) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return false, "got a value that is not a finite number"
	}
	return true, ""
}

// The kinds that the vocabulary asks for. The examples are typical of the trade, so that what an error
// shows can be typed in.
var (
	angleKind       = amount("angle", "deg", "13*deg", quantity.OfAngle)
	lengthKind      = amount("length", "mm", "0.5*mm", quantity.OfLength)
	wavelengthKind  = amount("wavelength", "nm", "1550*nm", quantity.OfLength).positive()
	levelKind       = amount("level", "dB", "30*dB", quantity.OfLevel)
	differenceKind  = amount("temperature difference", "kelvin", "0.5*kelvin", quantity.OfTemperature)
	perKelvinKind   = amount("temperature coefficient", "1/kelvin", "8.5e-6/kelvin", quantity.OfPerTemperature)
	perLengthKind   = amount("absorption", "1/cm", "0.2/cm", quantity.OfPerLength)
	anglePerLength  = amount("rotation per length", "deg/cm", "1000*deg/cm", quantity.OfAnglePerLength)
	anglePerKelvin  = amount("rotation per temperature", "deg/kelvin", "-0.06*deg/kelvin", quantity.OfAnglePerKelvin)
	temperatureKind = absolute("temperature", "degC", "23*degC", quantity.OfTemperature)
	unitKind        = Kind{"a unit such as nm", "", is[Unit]}
	textKind        = Kind{`a text such as "lot 7"`, "text", func(v starlark.Value) (bool, string) {
		s, ok := v.(starlark.String)
		if len(s) > mostText {
			return false, fmt.Sprintf("got %d bytes, more than the limit of %d", len(s), mostText)
		}
		return ok, ""
	}}
	boolKind     = Kind{"True or False", "", is[starlark.Bool]}
	anyKind      = Kind{"a value", "", func(starlark.Value) (bool, string) { return true, "" }}
	functionKind = Kind{"a function", "", is[starlark.Callable]}
	dictKind     = Kind{`a dict such as {"wedge2.axis": 67.9*deg}`, "", is[*starlark.Dict]}
	numberKind   = Kind{"a plain number such as 1.5", "", func(v starlark.Value) (bool, string) {
		x, ok := plain(v)
		if !ok {
			return false, ""
		}
		return finite(x)
	}}
)

// wholeKind is a whole number; Args.whole gives its bounds.
var wholeKind = Kind{"a whole number such as 2", "", is[starlark.Int]}

// absolute is a kind for points on a scale: a temperature in degC.
func absolute(what, unit, example string, d quantity.Dimension) Kind {
	k := Kind{Want: article(what) + " such as " + example, Unit: unit}
	k.accept = func(v starlark.Value) (bool, string) {
		q, ok := v.(Quantity)
		switch {
		case !ok || q.Quantity.Dimension() != d:
			return false, ""
		case !q.Absolute():
			return false, fmt.Sprintf("got the difference %s; a temperature is written in degC", q)
		case q.SI() < 0:
			return false, fmt.Sprintf("got %s, which is below absolute zero", q)
		}
		return finite(q.Value)
	}
	return k
}

// of renames a kind for a parameter where its dimension means something else, or is of another size; the unit that
// help shows is then that of the example.
func (k Kind) of(what, example string) Kind {
	k.Want = article(what) + " such as " + example
	if m := exampleUnit.FindStringSubmatch(example); m != nil {
		k.Unit = m[2]
		if m[1] == "/" {
			k.Unit = "1/" + m[2]
		}
	}
	return k
}

// exampleUnit finds the unit behind the number of an example: "0.02*nm", "-0.02/um".
var exampleUnit = regexp.MustCompile(`^-?[0-9][0-9.e-]*([*/])([a-zA-Z/*]+)$`)

// is accepts values of one Go type.
func is[T starlark.Value](v starlark.Value) (bool, string) {
	_, ok := v.(T)
	return ok, ""
}

// instance is the kind of the values of one Go type: instance[*Stack]("a stack such as ...").
func instance[T starlark.Value](want string) Kind { return Kind{Want: want, accept: is[T]} }

// positive narrows a kind to quantities and numbers above zero.
func (k Kind) positive() Kind {
	return k.restricted("positive ", func(x float64) bool { return x > 0 })
}

// notNegative narrows a kind to quantities and numbers from zero up.
func (k Kind) notNegative() Kind {
	return k.restricted("non-negative ", func(x float64) bool { return x >= 0 })
}

func (k Kind) restricted(word string, in func(float64) bool) Kind {
	r := k
	_, rest, _ := strings.Cut(k.Want, " ")
	r.Want = "a " + word + rest
	r.accept = func(v starlark.Value) (bool, string) {
		if ok, why := k.accept(v); !ok {
			return false, why
		}
		x, _ := toQuantity(v)
		return in(x.Value), ""
	}
	return r
}

// orSweep accepts a sweep of the same quantity as well.
func (k Kind) orSweep() Kind {
	r := k
	r.Want = k.Want + ", or a sweep of such values"
	r.accept = func(v starlark.Value) (bool, string) {
		s, ok := v.(*Sweep)
		if !ok {
			return k.accept(v)
		}
		for i := range s.values {
			if ok, _ := k.accept(s.Index(i)); !ok {
				return false, "got " + describe(s)
			}
		}
		return true, ""
	}
	return r
}

// choice accepts one of a few words.
func choice(words ...string) Kind {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = fmt.Sprintf("%q", w)
	}
	want := quoted[0]
	if n := len(quoted) - 1; n > 0 {
		want = strings.Join(quoted[:n], ", ") + " or " + quoted[n]
	}
	return Kind{want, "", func(v starlark.Value) (bool, string) {
		s, ok := v.(starlark.String)
		if !ok {
			return false, ""
		}
		for _, w := range words {
			if w == string(s) {
				return true, ""
			}
		}
		if near := nearest.To(string(s), words); near != "" {
			return false, fmt.Sprintf("got %q; did you mean %q?", string(s), near)
		}
		return false, ""
	}}
}

// mostItems is how many values a word takes in one list (a choice: what takes longer is a series).
const mostItems = 100_000

// mostText is how many bytes a name, a title or another text may have that a word takes (a choice).
const mostText = 100_000

// listOf accepts a list or tuple whose every element is of kind k.
func listOf(k Kind, want string) Kind {
	return Kind{want, k.Unit, func(v starlark.Value) (bool, string) {
		if n := starlark.Len(v); n > mostItems {
			return false, fmt.Sprintf("got %d values, more than the limit of %d", n, mostItems)
		}
		items, ok := elements(v)
		if !ok {
			return false, ""
		}
		for i, item := range items {
			if problem := k.problem(item); problem != "" {
				return false, fmt.Sprintf("and item %d %s", i+1, problem)
			}
		}
		return true, ""
	}}
}

// ratioKind is a part of a whole: a plain number or percent, 0 to 1.
var ratioKind = Kind{"a ratio from 0 to 1 such as 0.1*percent", "percent", func(v starlark.Value) (bool, string) {
	q, ok := toQuantity(v)
	if !ok || q.Dimension() != quantity.Plain {
		return false, ""
	}
	return q.SI() >= 0 && q.SI() <= 1, ""
}}

// elements returns the items of a list or tuple, a copy of them: where nothing bounds their number, ask starlark.Len
// before, for a copy of millions cannot be interrupted.
func elements(v starlark.Value) ([]starlark.Value, bool) {
	switch v := v.(type) {
	case starlark.Tuple:
		return v, true
	case *starlark.List:
		items := make([]starlark.Value, v.Len())
		for i := range items {
			items[i] = v.Index(i)
		}
		return items, true
	}
	return nil, false
}

// isList says whether v is a list or tuple, and copies none.
func isList(v starlark.Value) bool {
	switch v.(type) {
	case starlark.Tuple, *starlark.List:
		return true
	}
	return false
}

// two returns the items of a list or tuple of two, and copies no other.
func two(v starlark.Value) ([]starlark.Value, bool) {
	if starlark.Len(v) != 2 {
		return nil, false
	}
	return elements(v)
}
