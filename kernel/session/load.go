package session

import (
	"errors"
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/reports/nearest"
)

// nameLoad is the hidden function that takes a name from another file.
const nameLoad = " load"

// Keys of a thread: the files that it is loading, the outermost first, and those that it has loaded, by name.
const (
	loadingKey = "wedgework.session.loading"
	loadedKey  = "wedgework.session.loaded"
)

// deepestLoad bounds files that load files (a choice).
const deepestLoad = 20

// module is a file that was loaded: its names, frozen.
type module map[string]starlark.Value

// load turns load("file", "a", b="c") into assignments a = ..., b = ..., which name what a cell assigns as any other
// does.
func (r *rewriter) load(out []syntax.Stmt, s *syntax.LoadStmt, top bool) []syntax.Stmt {
	if !top {
		r.fail(s.Load, "load stands in a cell by itself, not in a function")
		return out
	}
	for i, to := range s.To {
		value := call(nameLoad, s.Load, s.Module, text(s.From[i]))
		out = append(out, &syntax.AssignStmt{OpPos: s.Load, Op: syntax.EQ, LHS: r.target(to, top), RHS: value})
	}
	return out
}

// loader returns the function behind nameLoad.
func (s *Session) loader() starlark.Value {
	return starlark.NewBuiltin("load", func(t *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple,
		_ []starlark.Tuple) (starlark.Value, error) {
		file, _ := starlark.AsString(args[0])
		name, _ := starlark.AsString(args[1])
		m, err := s.module(t, path.Clean(file))
		if err != nil {
			return nil, err
		}
		if v := m[name]; v != nil {
			return v, nil
		}
		names := slices.Sorted(maps.Keys(m))
		hint := ""
		if near := nearest.To(name, names); near != "" {
			hint = fmt.Sprintf("; did you mean %s?", near)
		} else if len(names) > 0 && len(names) <= 20 {
			hint = "; it has " + strings.Join(names, ", ")
		}
		return nil, fmt.Errorf("load: %s has no name %s%s", file, name, hint)
	})
}

// module runs a file of cell source within the bounds of the running cell, with names of its own, and returns what it
// has
// assigned. A cell runs a file once. One that loads itself, over others too, is refused.
func (s *Session) module(t *starlark.Thread, file string) (m module, err error) {
	if s.config.Source == nil {
		return nil, errors.New("load: no file can be read here")
	}
	loaded, _ := t.Local(loadedKey).(map[string]module)
	if m := loaded[file]; m != nil {
		return m, nil
	}
	loading, _ := t.Local(loadingKey).([]string)
	switch {
	case slices.Contains(loading, file):
		return nil, fmt.Errorf("load: %s loads itself: %s", file, strings.Join(append(loading, file), " loads "))
	case len(loading) >= deepestLoad:
		return nil, fmt.Errorf("load: files that load files are over the limit of %d deep", deepestLoad)
	}
	data, err := s.config.Source(t, file)
	if err != nil {
		return nil, fmt.Errorf("load: %w", err)
	}
	if err := sizeOf(string(data)); err != nil {
		return nil, fmt.Errorf("load: %s: %w", file, err)
	}
	t.SetLocal(loadingKey, append(slices.Clone(loading), file))
	defer t.SetLocal(loadingKey, loading)
	src := clean(string(data))
	s.remember(file, src)
	g := &globals{dict: maps.Clone(s.pristine)}
	g.dict[nameGlobals] = g
	prog, err := s.compileIn(ContextOf(t), file, src, g)
	if err != nil {
		return nil, s.inFile(file, err)
	}
	if _, err := prog.Init(t, g.dict); err != nil {
		return nil, err
	}
	m = module{}
	for name, v := range g.dict {
		if !hidden(name) && s.pristine[name] != v {
			v.Freeze()
			m[name] = v
		}
	}
	if loaded == nil {
		loaded = map[string]module{}
		t.SetLocal(loadedKey, loaded)
	}
	loaded[file] = m
	return m, nil
}

// inFile words what the parser or the resolver found in a file that is loaded.
func (s *Session) inFile(path string, err error) error {
	e := &Error{Kind: CellError, Message: err.Error(), Cell: path, cause: err}
	if !s.static(e, err) {
		return err
	}
	at := fmt.Sprintf("%s:%d:%d", e.Cell, e.Line, e.Column)
	if e.Hint != "" {
		return fmt.Errorf("load: %s: %s; %s", at, e.Message, e.Hint)
	}
	return fmt.Errorf("load: %s: %s", at, e.Message)
}
