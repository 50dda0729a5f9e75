package main

import (
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"wedgework/reports/notebook"
	"wedgework/reports/require"
)

var update = flag.Bool("update", false, "rewrite the expected texts in testdata/*.txtar")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"wedgework": main})
}

// The scripts run the program as a person would. Each is a folder of files and a list of commands; see
// the documentation of testscript for the commands, and commands below for those added here.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Files:               scripts(t),
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status":   status,
			"append":   appendText,
			"notebook": makeNotebook,
			"folder":   folder,
			"field":    field,
		},
	})
}

// scripts are the files of the commands that are tried; those that take many seconds where everything is required.
func scripts(t *testing.T) []string {
	t.Helper()
	all, err := filepath.Glob(filepath.Join("testdata", "*.txtar"))
	if err != nil || len(all) == 0 {
		t.Fatalf("scripts: %v, %v", all, err)
	}
	if require.All() {
		return all
	}
	return slices.DeleteFunc(all, func(path string) bool {
		switch filepath.Base(path) {
		case "regenerate_parts.txtar", "regenerate_places.txtar", "regenerate_signed.txtar", "superseded.txtar":
			return true
		}
		return false
	})
}

// status N COMMAND ARG... runs a command that must end with exit status N; its output can then be examined
// with stdout and stderr, as after exec.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N COMMAND ARG...")
	}
	want := args[0]
	got := "0"
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		got = strings.TrimPrefix(err.Error(), "exit status ")
	}
	if got != want {
		ts.Fatalf("%s ended with exit status %s, want %s", strings.Join(args[1:], " "), got, want)
	}
}

// notebook FILE.ipynb TEXT makes a notebook of a text: cells are separated by lines of "---", and a cell
// that begins with "#" is Markdown.
func makeNotebook(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: notebook FILE.ipynb TEXT")
	}
	nb := &notebook.Notebook{Minor: 4, Metadata: map[string]any{
		"kernelspec": map[string]any{"name": notebook.KernelName, "display_name": "Wedgework", "language": "starlark"},
	}}
	for _, source := range strings.Split(ts.ReadFile(args[1]), "---\n") {
		source = strings.TrimSuffix(source, "\n")
		c := notebook.Cell{Type: notebook.CodeCell, Source: source}
		if strings.HasPrefix(source, "# ") {
			c.Type = notebook.MarkdownCell
		}
		nb.Cells = append(nb.Cells, c)
	}
	data, err := nb.Bytes()
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), data, 0o666))
}

// append FILE TEXT writes a text behind the end of a file.
func appendText(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: append FILE TEXT")
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(ts.ReadFile(args[0])+args[1]), 0o666))
}

// folder DIR NAME... checks that a folder holds exactly these files, hidden ones included.
func folder(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: folder DIR NAME...")
	}
	entries, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if g, w := strings.Join(got, " "), strings.Join(args[1:], " "); g != w {
		ts.Fatalf("%s holds %q, want %q", args[0], g, w)
	}
}

// field FILE.json PATH VALUE checks one value of a JSON file: "units/0/verdicts/1/outcome".
func field(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: field FILE.json PATH VALUE")
	}
	var v any
	d := json.NewDecoder(strings.NewReader(ts.ReadFile(args[0])))
	d.UseNumber()
	ts.Check(d.Decode(&v))
	for _, key := range strings.Split(args[1], "/") {
		switch x := v.(type) {
		case map[string]any:
			v = x[key]
		case []any:
			i := strings.Index("0123456789", key)
			if len(key) != 1 || i < 0 || i >= len(x) {
				ts.Fatalf("%s: %s is no element of a list of %d", args[0], key, len(x))
			}
			v = x[i]
		default:
			ts.Fatalf("%s: nothing at %s of %s", filepath.Base(args[0]), key, args[1])
		}
	}
	got, err := json.Marshal(v)
	ts.Check(err)
	if g := strings.Trim(string(got), `"`); g != args[2] {
		ts.Fatalf("%s: %s is %s, want %s", args[0], args[1], g, args[2])
	}
}
