package vocab

import (
	"fmt"
	"strconv"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
)

// describe says what a value is, for the "got ..." of an error.
func describe(v starlark.Value) string {
	switch v := v.(type) {
	case starlark.NoneType:
		return "None"
	case starlark.Bool:
		return v.String()
	case starlark.Int, starlark.Float:
		x, _ := plain(v)
		return "the plain number " + shorten(quantity.Quantity{Value: x}.String())
	case starlark.String:
		return "the text " + strconv.Quote(shorten(string(v)))
	case Quantity:
		return "the " + noun(v.Quantity) + " " + v.String()
	case Unit:
		return "the bare unit " + v.String() + " (put a number before it, as in 5*" + v.String() + ")"
	case *Series:
		return v.brief()
	case *Sweep:
		return v.brief()
	case *callable:
		return fmt.Sprintf("the function %s itself; to call it, write %s(...)", v.Name(), v.Name())
	case *starlark.Function:
		return "the function " + v.Name()
	case starlark.Tuple:
		return fmt.Sprintf("a tuple of %d values", len(v))
	case interface{ Len() int }:
		return fmt.Sprintf("%s of %d values", article(v.(starlark.Value).Type()), v.Len())
	}
	return article(v.Type())
}

// shorten keeps a value from filling an error message.
func shorten(s string) string {
	return session.Shorten(s, 40)
}

// article puts a or an before a noun.
func article(noun string) string {
	if noun != "" && strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

// noun says what a quantity measures, in the trade's words.
func noun(q quantity.Quantity) string {
	switch {
	case q.Absolute() && q.Dimension() == quantity.OfTemperature:
		return "temperature"
	case q.Absolute():
		return "power level"
	case q.Dimension() == quantity.OfTemperature:
		return "temperature difference"
	case q.Dimension() == quantity.Plain:
		return "plain number"
	}
	return dimensionNoun(q.Dimension())
}

func dimensionNoun(d quantity.Dimension) string {
	switch d {
	case quantity.OfLevel:
		return "level"
	case quantity.OfPerLength:
		return "inverse length"
	}
	return d.String()
}

// spelled writes a value as a cell would: 1550*nm, -0.06*deg/kelvin, "front".
func spelled(v starlark.Value) string {
	q, ok := v.(Quantity)
	if !ok {
		return v.String()
	}
	name := Unit{q.Unit}.String()
	number := Quantity{quantity.Quantity{Value: q.Value}}.String()
	if rest, ok := strings.CutPrefix(name, "1/"); ok {
		return number + "/" + rest
	}
	return number + "*" + name
}
