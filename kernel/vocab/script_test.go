package vocab

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/notebook"
)

// TestScripts runs every script of testdata. A script is chunks between lines of "---", each run by
// itself. A line that ends in ### "pattern" must fail with a message that matches; every other line must
// not. eq(got, want) and near(got, want, tolerance) check values.
func TestScripts(t *testing.T) {
	files, err := filepath.Glob("testdata/*.star")
	if err != nil || len(files) == 0 {
		t.Fatalf("no scripts in testdata: %v", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".star"), func(t *testing.T) {
			src, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			line := 1
			for chunk := range strings.SplitSeq(string(src), "\n---\n") {
				runChunk(t, file, chunk, line)
				line += strings.Count(chunk, "\n") + 2
			}
		})
	}
}

// expectation is what follows ### at the end of a line.
var expectation = regexp.MustCompile(`###\s*(".*")\s*$`)

func runChunk(t *testing.T, file, chunk string, first int) {
	t.Helper()
	wants := map[int]string{}
	for i, l := range strings.Split(chunk, "\n") {
		m := expectation.FindStringSubmatch(l)
		if m == nil {
			continue
		}
		pattern, err := strconv.Unquote(m[1])
		if err != nil {
			t.Fatalf("%s:%d: %v", file, first+i, err)
		}
		wants[i+1] = pattern
	}
	if len(wants) > 1 {
		t.Fatalf("%s:%d: a chunk ends at its first failure, so it can expect only one", file, first)
	}
	_, err := runScript(newFakeHost(t), chunk)
	line, message := failure(err)
	switch want, ok := wants[line]; {
	case err == nil && len(wants) == 0:
	case err == nil:
		for l, want := range wants {
			t.Errorf("%s:%d: no failure, want one matching %q", file, first+l-1, want)
		}
	case !ok:
		t.Errorf("%s:%d: %s", file, first+line-1, message)
	default:
		if !regexp.MustCompile(want).MatchString(message) {
			t.Errorf("%s:%d: got failure\n    %s\nwant one matching\n    %s", file, first+line-1, message, want)
		}
	}
}

// failure returns where a script failed, in its own lines, and why.
func failure(err error) (line int, message string) {
	var e *session.Error
	if errors.As(err, &e) {
		return e.Line, e.Message
	}
	return 0, ""
}

// runScript runs a script as a cell and returns the value of its last line when that is an expression.
func runScript(host *fakeHost, src string) (starlark.Value, error) {
	return runWith(host, src, nil)
}

// runWith runs a script with further names.
func runWith(host *fakeHost, src string, extra starlark.StringDict) (starlark.Value, error) {
	return runAround(host, host.Emit, src, extra)
}

// runAround runs a script around any host.
func runAround(host Host, emit func(notebook.Output), src string, extra starlark.StringDict) (starlark.Value, error) {
	names := words()
	maps.Copy(names, extra)
	c := Config(host)
	c.Words = names
	s, err := session.New(c)
	if err != nil {
		return nil, err
	}
	v, err := s.Run(context.Background(), session.Cell{Name: "script", Source: src}, emit)
	if v == nil && err == nil {
		v = starlark.None
	}
	return v, err
}

func words() starlark.StringDict {
	names := Words()
	names["eq"] = starlark.NewBuiltin("eq", builtinEq)
	names["near"] = starlark.NewBuiltin("near", builtinNear)
	return names
}

func builtinEq(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, _ []starlark.Tuple) (starlark.Value,
	error) {
	if len(args) != 2 {
		return nil, fmt.Errorf("eq takes got and want")
	}
	same, err := starlark.Equal(args[0], args[1])
	if err != nil {
		return nil, err
	}
	if !same || args[0].Type() != args[1].Type() && !numeric(args) {
		return nil, fmt.Errorf("got %s (%s), want %s (%s)", args[0], args[0].Type(), args[1], args[1].Type())
	}
	return starlark.None, nil
}

func numeric(args starlark.Tuple) bool {
	_, a := plain(args[0])
	_, b := plain(args[1])
	return a && b
}

func builtinNear(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, _ []starlark.Tuple) (starlark.Value,
	error) {
	var q [3]float64
	for i := range q {
		v, ok := toQuantity(args[i])
		if !ok {
			return nil, fmt.Errorf("near takes got, want and tolerance, all numbers or quantities")
		}
		if i == 2 && args[i].Type() != args[0].Type() {
			return nil, fmt.Errorf("the tolerance must be of the kind of the value")
		}
		q[i] = v.SI()
	}
	if args[0].Type() != args[1].Type() || !(max(q[0]-q[1], q[1]-q[0]) <= q[2]) {
		return nil, fmt.Errorf("got %s, want %s to %s", args[0], args[1], args[2])
	}
	return starlark.None, nil
}
