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

// specimens runs the examples of all words and methods and returns the values of their last expressions, by the word, and
// every value that their names hold.
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
	e, err := (&syntax.FileOptions{}).ParseExpr("example", w.Example[strings.LastIndex(strings.TrimSpace(w.Example), "\n")+1:], 0)
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
		if oneOrMany := []string{"quantity", "series", "grid"}; got != typ && !(slices.Contains(oneOrMany, got) && slices.Contains(oneOrMany, typ)) {
			t.Errorf("%s says that it gives %q, which completion takes for a %s; its example gives a %s", w.title(), w.Returns, typ, got)
		}
	}
	if told < 30 {
		t.Errorf("what %d calls give is told, of %d", told, len(results))
	}
}

// TestOutlines holds what completion knows of every type against values of it: every attribute of a value is known, with a
// line about it, and gives what it says.
func TestOutlines(t *testing.T) {
	_, all := specimens(t)
	seen := map[string]bool{}
	for i := 0; i < len(all); i++ {
		v := all[i]
		h, ok := v.(starlark.HasAttrs)
		if !ok || seen[typeOf(v)] && v.Type() != "response" {
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

func typeOf(v starlark.Value) string {
	if v == nil {
		return ""
	}
	return v.Type()
}
