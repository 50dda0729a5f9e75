package vocab

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/reports/notebook"
)

// drawing says what an exploration draws, and where its choices begin. It returns the places of those choices that are
// settings.
func (e *Exploration) drawing(t *starlark.Thread, host Host, a Args) (settings []int, err error) {
	if s, ok := a.Get("what").(*Stack); ok {
		return nil, e.ofStack(t, s, a)
	}
	if a.Has("paths") || a.Has("show") {
		return nil, errors.New("paths= and show= are for a stack: give what moves by name, as in apex=between(3*deg, " +
			"8*deg)")
	}
	f := a.Get("what").(starlark.Callable)
	names, defaults, all := parameterNames(f)
	for i, name := range e.names {
		if all || slices.Contains(names, name) {
			if err := e.begin(t, i, defaults[name]); err != nil {
				return nil, err
			}
			continue
		}
		if _, set := e.choices[i].start(); set {
			if expression, bound := host.Setting(name); bound { // the command line has the last word
				v, err := session.Evaluate(t, "setting "+name, expression)
				if err != nil {
					return nil, err
				}
				if e.choices[i], err = e.choices[i].starting(session.LookOf(t), v); err != nil {
					return nil, fmt.Errorf("the setting %s=%s: %w", name, shorten(expression), err)
				}
			}
		} else if err := e.begin(t, i, settingsOf(t).values[name]); err != nil {
			return nil, err
		}
		settings = append(settings, i)
	}
	e.draw = func(t *starlark.Thread, values []starlark.Value) (starlark.Value, error) {
		var kwargs []starlark.Tuple
		moved := map[string]starlark.Value{}
		for i, name := range e.names {
			if slices.Contains(settings, i) {
				if _, set := e.choices[i].start(); set {
					moved[name] = values[i]
				}
				continue
			}
			kwargs = append(kwargs, starlark.Tuple{starlark.String(name), values[i]})
		}
		back, err := settingsOf(t).move(t, moved)
		if err != nil {
			return nil, err
		}
		defer back()
		return starlark.Call(t, f, nil, kwargs)
	}
	if len(settings) > 0 {
		return settings, e.knownSettings(t, f, names, settings)
	}
	return nil, nil
}

// knownSettings reports a name that cannot be a setting before anything is drawn: one that looks like an argument.
func (e *Exploration) knownSettings(t *starlark.Thread, f starlark.Callable, names []string, settings []int) error {
	for _, i := range settings {
		if settingsOf(t).values[e.names[i]] == nil {
			if err := unknownChoice(e.names[i], f, names); strings.Contains(err.Error(), "did you mean") {
				return err
			}
		}
	}
	return nil
}

// first draws the exploration for the first time. A setting that nobody has said the beginning of takes the value that
// given() has for the function.
func (e *Exploration) first(t *starlark.Thread, settings []int) ([]notebook.Output, error) {
	for _, c := range e.choices {
		v, _ := c.start()
		e.values = append(e.values, v)
	}
	outputs, err := e.run(t)
	if err != nil {
		return outputs, err
	}
	for _, i := range settings {
		name := e.names[i]
		v := settingsOf(t).values[name]
		if v == nil {
			return outputs, fmt.Errorf("the function has no argument %s=, and there is no setting given(%q, ...)", name,
				name)
		}
		if err := e.begin(t, i, v); err != nil {
			return outputs, err
		}
		e.values[i], _ = e.choices[i].start()
	}
	return outputs, nil
}

// ofStack explores parameters of a stack.
func (e *Exploration) ofStack(t *starlark.Thread, s *Stack, a Args) error {
	paths := make([][]string, len(e.names))
	for i, name := range e.names {
		for path := range strings.SplitSeq(name, ",") {
			path = strings.TrimSpace(path)
			now, ok := s.parameter(path)
			v, _ := e.choices[i].start()
			q, isNumber := toQuantity(v)
			if !isNumber {
				return fmt.Errorf("%s must be numbers to choose from, got %s", path, e.choices[i].note())
			}
			if err := s.known(path, q); err != nil {
				return err
			}
			if ok && len(paths[i]) == 0 {
				if err := e.begin(t, i, fromQuantity(now)); err != nil {
					return err
				}
			}
			paths[i] = append(paths[i], path)
		}
	}
	show := arg[starlark.Callable](a, "show")
	if show == nil {
		show = registry["draw"].value().(starlark.Callable)
	}
	e.draw = func(t *starlark.Thread, values []starlark.Value) (starlark.Value, error) {
		m := map[string]quantity.Quantity{}
		for i, v := range values {
			q, _ := toQuantity(v)
			for _, path := range paths[i] {
				m[path] = q
			}
		}
		changed, err := s.stack.Adjusted(m)
		if err != nil {
			return nil, err
		}
		return starlark.Call(t, show, starlark.Tuple{newStack(changed)}, nil)
	}
	return nil
}

// parameter is the value of an adjustable number of the stack.
func (s *Stack) parameter(path string) (quantity.Quantity, bool) {
	for _, p := range s.stack.Parameters() {
		if p.Path == path {
			return p.Value, true
		}
	}
	return quantity.Quantity{}, false
}
