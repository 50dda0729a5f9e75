package vocab

import (
	"context"
	"slices"
	"strings"
	"testing"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/kernel/session"
)

// specimens runs the examples of all words and methods and returns the values of their last expressions, by the word,
// and every value that their names hold.
func specimens(t *testing.T) (results map[*Word]starlark.Value, all []starlark.Value) {
	t.Helper()
	results = map[*Word]starlark.Value{}
	words := Methods()
	for _, name := range Names() {
		if w := Lookup(name); w.Call != nil {
			words = append(words, w)
		}
	}
	for _, w := range words {
		s, err := session.New(Config(newFakeHost(t)))
		if err != nil {
			t.Fatal(err)
		}
		v, err := s.Run(context.Background(), session.Cell{Name: w.title(), Source: w.Example}, nil)
		if err != nil {
			t.Fatalf("the example of %s: %v", w.title(), err)
		}
		if endsWithCall(w) {
			results[w] = v
		}
		all = append(all, v)
		for _, name := range s.Names() {
			if held, _ := s.Lookup(name); Words()[name] == nil {
				all = append(all, held)
			}
		}
	}
	return results, all
}

// endsWithCall reports whether the example ends with a call of the word itself.
func endsWithCall(w *Word) bool {
	e, err := (&syntax.FileOptions{}).ParseExpr("example",
		w.Example[strings.LastIndex(strings.TrimSpace(w.Example), "\n")+1:], 0)
	if err != nil {
		return false
	}
	call, ok := e.(*syntax.CallExpr)
	if !ok {
		return false
	}
	switch f := call.Fn.(type) {
	case *syntax.Ident:
		return f.Name == w.Name && w.owner == ""
	case *syntax.DotExpr:
		return f.Name.Name == w.Name && w.owner != ""
	}
	return false
}

// TestGives holds what completion takes a call to give against what the examples give.
func TestGives(t *testing.T) {
	results, _ := specimens(t)
	told := 0
	for w, v := range results {
		typ := w.gives()
		if typ == "" || v == nil {
			continue
		}
		told++
		got := v.Type()
		if oneOrMany := []string{"quantity", "series",
			"grid"}; got != typ && !(slices.Contains(oneOrMany, got) && slices.Contains(oneOrMany, typ)) {
			t.Errorf("%s says that it gives %q, which completion takes for a %s; its example gives a %s",
				w.title(), w.Returns, typ, got)
		}
	}
	if told < 30 {
		t.Errorf("what %d calls give is told, of %d", told, len(results))
	}
}

// TestOutlines holds what completion knows of every type against values of it: every attribute of a value is known,
// with a line about it, and gives what it says.
func TestOutlines(t *testing.T) {
	_, all := specimens(t)
	more, err := runScript(newFakeHost(t), rarer)
	if err != nil {
		t.Fatal(err)
	}
	items, _ := elements(more)
	all = append(all, items...)
	seen := map[string]bool{}
	for i := 0; i < len(all); i++ {
		v := all[i]
		h, ok := v.(starlark.HasAttrs)
		if !ok || seen[typeOf(v)] && v.Type() != "response" && !slices.Contains(items, v) {
			continue
		}
		switch v.(type) {
		case *starlark.List, *starlark.Dict, starlark.String, *starlark.Set, starlark.Bytes:
			continue
		}
		seen[typeOf(v)] = true
		out := Outline(v.Type())
		if out == nil {
			t.Errorf("nothing is known of a %s", v.Type())
			continue
		}
		for _, name := range h.AttrNames() {
			j := slices.IndexFunc(out.Attributes, func(a session.Attribute) bool { return a.Name == name })
			if j < 0 {
				t.Errorf("%s.%s is not known", v.Type(), name)
				continue
			}
			a := out.Attributes[j]
			if a.Summary == "" {
				t.Errorf("%s.%s says nothing about itself", v.Type(), name)
			}
			if a.Call != nil {
				continue
			}
			got, err := h.Attr(name)
			if err != nil || got == starlark.None {
				continue // matrix of a sweep, say
			}
			all = append(all, got)
			number := []string{"quantity", "series", "grid", "float", "int", "sweep"}
			if got.Type() != a.Gives && !(slices.Contains(number, got.Type()) && slices.Contains(number, a.Gives)) {
				t.Errorf("%s.%s is a %s, and is said to be a %s", v.Type(), name, got.Type(), a.Gives)
			}
		}
	}
	if len(seen) < 20 {
		t.Errorf("looked at %d types only: %v", len(seen), seen)
	}
}

// TestOutlinesHold is the other way round: what completion offers of a type is an attribute of a value of it.
func TestOutlinesHold(t *testing.T) {
	_, all := specimens(t)
	more, err := runScript(newFakeHost(t), rarer)
	if err != nil {
		t.Fatal(err)
	}
	all = append(all, more)
	had := map[string]map[string]bool{}
	for i := 0; i < len(all); i++ {
		if items, ok := elements(all[i]); ok {
			all = append(all, items...)
			continue
		}
		h, ok := all[i].(starlark.HasAttrs)
		if !ok || Outline(h.Type()) == nil {
			continue
		}
		typ := h.Type()
		if r, ok := h.(*Response); ok {
			typ = r.r.Direction.String() + " response"
		}
		seen := had[typ] != nil
		if !seen {
			had[typ] = map[string]bool{}
		}
		for _, name := range h.AttrNames() {
			had[typ][name] = true
			if got, err := h.Attr(name); err == nil && got != starlark.None && !seen {
				all = append(all, got)
			}
		}
	}
	for typ, has := range had {
		for _, a := range Outline(typ).Attributes {
			if !has[a.Name] {
				t.Errorf("completion offers %s.%s, which no value has", typ, a.Name)
			}
		}
	}
	if len(had) < 25 {
		t.Errorf("looked at %d types only", len(had))
	}
}

// rarer are values with attributes that no value of the examples has.
const rarer = `[
	rotator(garnet("Bi:RIG"), field=magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, remanence=-1.0*tesla,
    material="Sm2Co17")),
	rotator(paramagnet("TGG"), length=10*mm, field=1*tesla),
	collimator(fibre=fibre(mode_field_diameter=10.4*um), focal_length=2*mm, working_distance=10*mm),
	coating(reflectance=0.1*percent),
	gap(1*mm, expansion=1e-5/kelvin),
]`

func typeOf(v starlark.Value) string {
	if v == nil {
		return ""
	}
	return v.Type()
}
