package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "given",
	Summary: "a setting with a default; a rerun can replace it with --set NAME=EXPRESSION",
	Params: []Param{
		{Name: "name", Kind: textKind.of("name", `"apex"`), Doc: "name of the setting, for --set"},
		{Name: "default", Kind: settingKind, Doc: "value unless --set assigns another, which must be of the same kind"},
	},
	Returns: "the value in use",
	Errors:  "the expression of --set fails, or its value is of another kind than the default",
	Example: `given("apex", 5*deg)`,
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		host, err := hostOf(t)
		if err != nil {
			return nil, err
		}
		name, v := a.Text("name"), a.Get("default")
		known := settingsOf(t)
		if moved, ok := known.moved[name]; ok {
			known.values[name] = moved
			return moved, nil
		}
		if expression, bound := host.Setting(name); bound {
			if v, err = setting(t, name, expression, v); err != nil {
				return nil, err
			}
		}
		if s, ok := v.(starlark.String); ok && len(s) > settingText {
			return nil, fmt.Errorf("the setting %s is a text of %d bytes, expected at most %d", name, len(s),
				settingText)
		}
		host.SettingIs(name, v.String())
		known.values[name] = v
		return v, nil
	},
})

// settingKind is what a setting may be: a value that prints in a report and can be written on a command
// line.
var settingKind = Kind{"a quantity, a number, a text, or True or False", "", func(v starlark.Value) (bool, string) {
	switch v.(type) {
	case Quantity, starlark.Int, starlark.Float, starlark.String, starlark.Bool:
		return true, ""
	}
	return false, ""
}}

// settingText bounds a text, which the report and its record print whole (a choice: some three pages).
const settingText = 10_000

// setting evaluates what the command line bound and checks it against the default.
func setting(t *starlark.Thread, name, expression string, standard starlark.Value) (starlark.Value, error) {
	v, err := session.Evaluate(t, "setting "+name, expression)
	if err != nil {
		return nil, err
	}
	if problem := sameKind(v, standard); problem != "" {
		return nil, fmt.Errorf("the setting %s=%s %s", name, shorten(expression), problem)
	}
	return v, nil
}

func sameKind(v, standard starlark.Value) string {
	q, isNumber := toQuantity(v)
	d, wantNumber := toQuantity(standard)
	switch {
	case wantNumber && (!isNumber || q.Dimension() != d.Dimension() || q.Absolute() != d.Absolute()):
		return "must be " + article(nounOf(standard, d)) + " like its default " + spelled(standard) + ", got " +
			describe(v)
	case !wantNumber && v.Type() != standard.Type():
		return "must be a " + typeName(standard) + " like its default " + spelled(standard) + ", got " + describe(v)
	}
	return ""
}

func nounOf(v starlark.Value, q quantity.Quantity) string {
	if _, ok := v.(Quantity); ok {
		return noun(q)
	}
	return "plain number"
}

func typeName(v starlark.Value) string {
	if v.Type() == "string" {
		return "text"
	}
	return "truth value"
}
