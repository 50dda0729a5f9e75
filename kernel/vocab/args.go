package vocab

import (
	"context"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/nearest"
)

// Args holds the arguments of one call after the checks of the word's parameters. The getters panic on
// a name that is not a parameter: that is a slip in the word, not in the cell.
type Args struct {
	word   *Word
	ctx    context.Context // of the cell that calls
	values map[string]starlark.Value
	given  map[string]bool // named or placed in the call, rather than defaulted
	many   starlark.Tuple
	others []starlark.Tuple
}

// unpack matches arguments with parameters and checks every one.
func unpack(w *Word, args starlark.Tuple, kwargs []starlark.Tuple) (Args, error) {
	a := Args{word: w, values: make(map[string]starlark.Value, len(w.Params)), given: map[string]bool{}}
	if err := a.positional(args); err != nil {
		return a, err
	}
	if err := a.named(kwargs); err != nil {
		return a, err
	}
	for _, p := range w.Params {
		if _, ok := a.values[p.Name]; ok || p.Optional || p.Mode >= Many {
			continue
		}
		if p.Default == nil {
			return a, fmt.Errorf("%s is missing: it must be %s", p.Name, p.Kind.Want)
		}
		a.values[p.Name] = p.Default
	}
	return a, nil
}

func (a *Args) positional(args starlark.Tuple) error {
	var places []Param
	for _, p := range a.word.Params {
		switch p.Mode {
		case Either:
			places = append(places, p)
		case Many:
			for i := len(places); i < len(args); i++ {
				if problem := p.Kind.problem(args[i]); problem != "" {
					return fmt.Errorf("%s, argument %d, %s", p.Name, i+1, problem)
				}
			}
			a.many = args[min(len(places), len(args)):]
			args = args[:len(args)-len(a.many)]
		}
	}
	if len(args) > len(places) {
		return a.tooMany(places, args)
	}
	for i, v := range args {
		if err := a.set(places[i], v); err != nil {
			return err
		}
	}
	return nil
}

func (a *Args) tooMany(places []Param, args starlark.Tuple) error {
	names := make([]string, len(places))
	for i, p := range places {
		names[i] = p.Name
	}
	takes := "takes no arguments by position"
	if n := len(places); n > 0 {
		takes = fmt.Sprintf("takes at most %s by position (%s)", count(n, "argument"), strings.Join(names, ", "))
	}
	hint := ""
	for _, p := range a.word.Params {
		if p.Mode == Keyword {
			hint = "; the others are keyword only, as in " + p.Name + "="
			break
		}
	}
	return fmt.Errorf("%s, got %d%s", takes, len(args), hint)
}

// count words a number of things.
var count = document.Count

func (a *Args) named(kwargs []starlark.Tuple) error {
	for _, kv := range kwargs {
		name := string(kv[0].(starlark.String))
		p, ok := a.param(name)
		if !ok || p.Mode >= Many {
			extra, open := a.rest()
			if !open {
				return a.unknown(name)
			}
			if problem := extra.Kind.problem(kv[1]); problem != "" {
				return fmt.Errorf("%s %s", name, problem)
			}
			a.others = append(a.others, kv)
			continue
		}
		if _, twice := a.values[name]; twice {
			return fmt.Errorf("%s is given twice, by position and by keyword", name)
		}
		if err := a.set(p, kv[1]); err != nil {
			return err
		}
	}
	return nil
}

func (a *Args) unknown(name string) error {
	var names []string
	for _, p := range a.word.Params {
		if p.Mode < Many {
			names = append(names, p.Name)
		}
	}
	if near := nearest.To(name, names); near != "" {
		return fmt.Errorf("unknown argument %s=; did you mean %s=?", name, near)
	}
	if len(names) == 0 {
		return fmt.Errorf("unknown argument %s=; this function takes no keyword arguments", name)
	}
	return fmt.Errorf("unknown argument %s=; the arguments are %s", name, strings.Join(names, ", "))
}

func (a *Args) set(p Param, v starlark.Value) error {
	if v == starlark.None && p.Optional {
		return nil // None stands for an argument that is not given
	}
	if problem := p.Kind.problem(v); problem != "" {
		return fmt.Errorf("%s %s", p.Name, problem)
	}
	a.values[p.Name] = v
	a.given[p.Name] = true
	return nil
}

func (a *Args) param(name string) (Param, bool) {
	for _, p := range a.word.Params {
		if p.Name == name {
			return p, true
		}
	}
	return Param{}, false
}

func (a *Args) rest() (Param, bool) {
	for _, p := range a.word.Params {
		if p.Mode == Others {
			return p, true
		}
	}
	return Param{}, false
}

// Has reports whether the argument was given or has a default.
func (a Args) Has(name string) bool {
	if _, ok := a.param(name); !ok {
		panic("vocab: " + a.word.Name + " has no parameter " + name)
	}
	_, ok := a.values[name]
	return ok
}

// Given reports whether the call itself gave the argument.
func (a Args) Given(name string) bool { return a.Has(name) && a.given[name] }

// Get returns an argument, None when it was left out.
func (a Args) Get(name string) starlark.Value {
	if !a.Has(name) {
		return starlark.None
	}
	return a.values[name]
}

// Many returns the arguments of the parameter that takes all further positional ones.
func (a Args) Many() starlark.Tuple { return a.many }

// Others returns the named arguments that no parameter names, in the order of the call.
func (a Args) Others() []starlark.Tuple { return a.others }

// Quantity returns an argument that is a quantity or a plain number, zero when it was left out.
func (a Args) Quantity(name string) quantity.Quantity {
	if !a.Has(name) {
		return quantity.Quantity{}
	}
	q, ok := toQuantity(a.values[name])
	if !ok {
		panic("vocab: " + a.word.Name + ": " + name + " is not a quantity")
	}
	return q
}

// SI returns the value of a quantity or number in SI units, zero when it was left out.
func (a Args) SI(name string) float64 { return a.Quantity(name).SI() }

// Length returns a length, zero when it was left out.
func (a Args) Length(name string) quantity.Length { return quantity.Length(a.SI(name)) }

// Angle returns an angle, zero when it was left out.
func (a Args) Angle(name string) quantity.Angle { return quantity.Angle(a.SI(name)) }

// Temperature returns an absolute temperature.
func (a Args) Temperature(name string) quantity.Temperature {
	return quantity.Temperature(a.SI(name))
}

// Text returns a text, "" when it was left out.
func (a Args) Text(name string) string {
	s, _ := a.Get(name).(starlark.String)
	return string(s)
}

// Bool returns a truth value, false when it was left out.
func (a Args) Bool(name string) bool {
	b, _ := a.Get(name).(starlark.Bool)
	return bool(b)
}

// whole returns a whole number, which must lie from lo to hi.
func (a Args) whole(name string, lo, hi int) (int, error) {
	n, ok := arg[starlark.Int](a, name).Int64()
	if !ok || n < int64(lo) || n > int64(hi) {
		return 0, fmt.Errorf("%s must be a whole number from %d to %d, got %s", name, lo, hi,
			shorten(a.Get(name).String()))
	}
	return int(n), nil
}

// numbers returns a list of plain numbers, nil when it was left out.
func (a Args) numbers(name string) []float64 {
	items, ok := elements(a.Get(name))
	if !ok {
		return nil
	}
	xs := make([]float64, len(items))
	for i, v := range items {
		xs[i], _ = plain(v) // as the parameter's kind has seen
	}
	return xs
}

// noneOf refuses arguments that the call gives and that have no meaning beside the others.
func (a Args) noneOf(why string, names ...string) error {
	for _, name := range names {
		if a.Given(name) {
			return fmt.Errorf("%s= %s", name, why)
		}
	}
	return nil
}

// refuse words a refusal that the parameter's kind could not know of: "apex must be ..., got ...".
func (a Args) refuse(name, want string) error {
	return fmt.Errorf("%s must be %s, got %s", name, want, describe(a.Get(name)))
}

// arg returns an argument as the Go type its kind promises, the zero value when it was left out.
func arg[T starlark.Value](a Args, name string) T {
	var zero T
	if !a.Has(name) {
		return zero
	}
	return a.values[name].(T)
}
