package rerun

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/document"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// fake is a session whose language is a command per line: what the words of a cell would do.
type fake struct{ desk *Desk }

func open(d *Desk) (Session, error) { return fake{d}, nil }

func (f fake) Run(ctx context.Context, cell Cell, emit func(notebook.Output)) error {
	for i, line := range strings.Split(cell.Source, "\n") {
		if err := ctx.Err(); err != nil {
			return err
		}
		word, rest, _ := strings.Cut(line, " ")
		if err := f.do(word, rest, emit); err != nil {
			emit(notebook.Output{Type: notebook.ErrorOutput, Error: &notebook.Error{Name: "Error", Value: err.Error()}})
			return &CellError{Number: cell.Number, Line: i + 1, Column: len(word) + 2, Message: err.Error(), Err: err}
		}
	}
	return nil
}

func (f fake) do(word, rest string, emit func(notebook.Output)) error {
	switch word {
	case "print":
		emit(notebook.Output{Type: notebook.StreamOutput, Stream: "stdout", Text: rest + "\n"})
	case "result":
		emit(notebook.Output{Type: notebook.ResultOutput, Blocks: []document.Block{document.Plain(rest)}})
	case "display":
		emit(notebook.Output{Type: notebook.DisplayOutput, Data: map[string]any{"text/plain": rest}})
	case "measured":
		name, path, _ := strings.Cut(rest, " ")
		files, err := f.desk.Input(context.Background(), name, path)
		if err != nil {
			return err
		}
		for _, file := range files {
			emit(notebook.Output{Type: notebook.StreamOutput, Stream: "stdout", Text: file.Name + "\n"})
		}
	case "given":
		expression, bound := f.desk.Setting(rest)
		if !bound {
			expression = "default"
		}
		f.desk.SettingIs(rest, "<"+expression+">")
	case "report":
		f.desk.Report(record.Header{Title: rest})
	case "verify":
		f.desk.Verified(&verify.Result{Unit: rest})
	case "warn":
		f.desk.Warn(rest)
	case "fail":
		return errors.New(rest)
	}
	return nil
}

func book(cells ...string) *notebook.Notebook {
	nb := &notebook.Notebook{Minor: 5}
	for i, source := range cells {
		c := notebook.Cell{ID: fmt.Sprint("c", i), Type: notebook.CodeCell, Source: source, Count: 99,
			Outputs: []notebook.Output{{Type: notebook.StreamOutput, Stream: "stdout", Text: "stale\n"}}}
		if strings.HasPrefix(source, "#") {
			c = notebook.Cell{ID: c.ID, Type: notebook.MarkdownCell, Source: source}
		}
		nb.Cells = append(nb.Cells, c)
	}
	return nb
}

func TestRunCollectsWhatTheWordsLeave(t *testing.T) {
	nb := book("# Title", "print a\nprint b\nresult 1", "  \n",
		"measured sweep demo.csv\nmeasured sweep demo.csv\nmeasured other\ngiven apex\ngiven gap",
		"verify 0417\nverify 0418\nreport Isolator\nwarn hot\nwarn hot\ndisplay x")
	sweep := []measured.File{measured.NewFile("a.csv", []byte("a")), measured.NewFile("b.csv", []byte("b"))}
	other := measured.NewFile("other.csv", []byte("o"))
	out, err := Run(context.Background(), Request{
		Notebook: nb,
		Data:     map[string][]measured.File{"sweep": sweep, "other": {other}},
		Settings: map[string]string{"apex": "4*deg"},
	}, open)
	if err != nil {
		t.Fatal(err)
	}
	cells := out.Notebook.Cells
	if diff := cmp.Diff(cells[1].Outputs, []notebook.Output{
		{Type: notebook.StreamOutput, Stream: "stdout", Text: "a\nb\n"},
		{Type: notebook.ResultOutput, Count: 1, Blocks: []document.Block{document.Plain("1")}},
	}); diff != "" {
		t.Errorf("outputs of cell 2, -got +want:\n%s", diff)
	}
	counts := []int{cells[0].Count, cells[1].Count, cells[2].Count, cells[3].Count, cells[4].Count}
	if diff := cmp.Diff(counts, []int{0, 1, 0, 2, 3}); diff != "" {
		t.Errorf("execution counts, -got +want:\n%s", diff)
	}
	if got := cells[2].Outputs; got != nil {
		t.Errorf("a blank cell kept %v, want no outputs", got)
	}
	if diff := cmp.Diff(cells[4].Outputs, []notebook.Output{{Type: notebook.DisplayOutput,
		Data: map[string]any{"text/plain": "x"}}}); diff != "" {
		t.Errorf("outputs of cell 5, -got +want:\n%s", diff)
	}
	if diff := cmp.Diff(out.Inputs, []Input{{Name: "sweep", Files: sweep, Bound: true}, {Name: "other",
		Files: []measured.File{other}, Bound: true}}); diff != "" {
		t.Errorf("inputs, -got +want:\n%s", diff)
	}
	if diff := cmp.Diff(out.Settings, []record.Setting{{Name: "apex", Value: "<4*deg>", Expression: "4*deg",
		Bound: true},
		{Name: "gap", Value: "<default>"}}); diff != "" {
		t.Errorf("settings, -got +want:\n%s", diff)
	}
	if got := len(out.Verified); got != 2 || out.Verified[1].Result.Unit != "0418" {
		t.Errorf("got %d verifications, want 2 in order", got)
	}
	if !out.Reported || out.Header.Title != "Isolator" {
		t.Errorf("reported %t as %q, want the header of report()", out.Reported, out.Header.Title)
	}
	if diff := cmp.Diff(out.Warnings, []string{"hot"}); diff != "" {
		t.Errorf("warnings, -got +want:\n%s", diff)
	}
	if got := nb.Cells[1]; got.Count != 99 || got.Outputs[0].Text != "stale\n" {
		t.Errorf("the request's notebook became %+v, want it unchanged", got)
	}
}

func TestRunReadsDefaults(t *testing.T) {
	reads := 0
	out, err := Run(context.Background(), Request{
		Notebook: book("measured sweep testdata/a.csv\nmeasured sweep testdata/a.csv"),
		ReadFile: func(_ context.Context, path string) (measured.File, error) {
			reads++
			return measured.NewFile(strings.TrimPrefix(path, "testdata/"), []byte(path)), nil
		},
	}, open)
	if err != nil {
		t.Fatal(err)
	}
	if reads != 1 {
		t.Errorf("the default was read %d times, want once", reads)
	}
	if got := out.Inputs; len(got) != 1 || got[0].Bound || got[0].Files[0].Name != "a.csv" {
		t.Errorf("inputs = %+v, want the default, not bound", got)
	}
}

func TestRunFails(t *testing.T) {
	file := []measured.File{measured.NewFile("a.csv", nil)}
	unreadable := func(_ context.Context, path string) (measured.File, error) {
		return measured.File{},
			errors.New(path + " lies outside")
	}
	for _, c := range []struct {
		name string
		req  Request
		want string
	}{
		{"cell", Request{Notebook: book("# text", "print a", "print b\nfail no such unit: nmm", "fail later")},
			"cell 3, line 2, column 6: no such unit: nmm"},
		{"input without default", Request{Notebook: book("measured sweep"),
			Remedy: func(n string) string { return "add --data " + n + "=FILE" }},
			`cell 1, line 1, column 10: input "sweep" has no file and no default; add --data sweep=FILE`},
		{"input bound under another name", Request{Notebook: book("measured sweep"),
			Data: map[string][]measured.File{"swep": file}},
			`input "sweep" has no file and no default; given but not used so far: swep`},
		{"default cannot be read", Request{Notebook: book("measured sweep ../x.csv"), ReadFile: unreadable},
			`default of input "sweep": ../x.csv lies outside`},
		{"nothing can be read", Request{Notebook: book("measured sweep x.csv")}, "no file can be read here"},
		{"two defaults", Request{Notebook: book("measured sweep a.csv\nmeasured sweep b.csv"),
			ReadFile: func(_ context.Context, p string) (measured.File, error) { return measured.NewFile(p, nil), nil }},
			`input "sweep" has two defaults, "a.csv" and "b.csv"`},
		{"unknown input", Request{Notebook: book("measured sweep\nmeasured dark"),
			Data: map[string][]measured.File{"sweep": file, "dark": file, "swep": file, "a": file}},
			"input a: the notebook has no input a; its inputs are: sweep, dark\ninput swep: the notebook has no " +
				"input swep; its inputs are: sweep, dark; did you mean sweep?"},
		{"unknown input of a notebook without any", Request{Notebook: book("print a"),
			Data: map[string][]measured.File{"sweep": file}},
			"input sweep: the notebook has no input sweep; it has no inputs"},
		{"unknown setting", Request{Notebook: book("given apex"), Settings: map[string]string{"apx": "1"}},
			"setting apx: the notebook has no setting apx; its settings are: apex"},
	} {
		out, err := Run(context.Background(), c.req, open)
		if err == nil {
			t.Errorf("%s: got %+v, want an error with %q", c.name, out, c.want)
		} else if out != nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v and %q,\nwant no outcome and %q", c.name, out, err, c.want)
		}
	}
}

func TestRunStopsWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Run(ctx, Request{Notebook: book("print a")}, open)
	var failure *CellError
	if !errors.Is(err, context.Canceled) || !errors.As(err, &failure) || failure.Number != 1 {
		t.Errorf("got %v, want a *CellError of cell 1 for the cancellation", err)
	}
}

func TestRunNeedsASession(t *testing.T) {
	cause := errors.New("no words")
	_, err := Run(context.Background(), Request{Notebook: book("print a")}, func(*Desk) (Session, error) {
		return nil, cause
	})
	if !errors.Is(err, cause) {
		t.Errorf("got %v, want it to wrap %v", err, cause)
	}
}

func TestUnusedColumnsAreAWarning(t *testing.T) {
	f := measured.NewFile("a.csv",
		[]byte("wavelength [nm],temperature [degC],isolation [dB],insertion los [dB]\n1550,23,40,0.4\n"))
	out, err := Run(context.Background(), Request{Notebook: book("measured sweep"),
		Data: map[string][]measured.File{"sweep": {f}}}, open)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{`column "insertion los [dB]" of a.csv is not known and not used; the nearest name known is insertion loss`}
	if diff := cmp.Diff(out.Warnings, want); diff != "" {
		t.Errorf("warnings, -got +want:\n%s", diff)
	}
}

func TestSecondReportIsAWarning(t *testing.T) {
	out, err := Run(context.Background(), Request{Notebook: book("report A\nreport B")}, open)
	if err != nil {
		t.Fatal(err)
	}
	if out.Header.Title != "B" || len(out.Warnings) != 1 {
		t.Errorf("title %q and warnings %q, want B and one warning", out.Header.Title, out.Warnings)
	}
}

func TestCellErrorWords(t *testing.T) {
	for _, c := range []struct {
		err  CellError
		want string
	}{
		{CellError{Number: 3, Message: "stopped"}, "cell 3: stopped"},
		{CellError{Number: 3, Line: 2, Message: "m"}, "cell 3, line 2: m"},
		{CellError{Number: 3, Line: 2, Column: 5, Message: "m", Hint: "did you mean nm?"},
			"cell 3, line 2, column 5: m (did you mean nm?)"},
	} {
		if got := c.err.Error(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}
