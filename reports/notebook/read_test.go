package notebook

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func readEvery(t *testing.T) *Notebook {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "every.ipynb"))
	if err != nil {
		t.Fatal(err)
	}
	nb, err := Read(data)
	if err != nil {
		t.Fatal(err)
	}
	return nb
}

func TestReadEveryKindOfCellAndOutput(t *testing.T) {
	nb := readEvery(t)
	want := []Cell{
		{
			ID: "intro", Type: MarkdownCell,
			Source:      "# Isolator 26-11\n\nIsolation over θ and λ.\n![](sketch.png)",
			Metadata:    map[string]any{"tags": []any{"narrative"}},
			Attachments: map[string]map[string]any{"sketch.png": {"image/png": "iVBORw0KGgo="}},
		},
		{
			ID: "c1", Type: CodeCell, Source: "x = 1550*nm\nx", Count: 3,
			Metadata: map[string]any{
				"collapsed": false,
				"vendor": map[string]any{"depth": []any{json.Number("1"), json.Number("2.50"),
					json.Number("1e-09")}},
			},
			Outputs: []Output{
				{Type: StreamOutput, Stream: "stdout", Text: "first\nsecond\n"},
				{
					Type: DisplayOutput,
					Data: map[string]any{
						"application/vnd.wedgework+json": map[string]any{"a": []any{json.Number("1"), nil, "b"}},
						"image/svg+xml":                  "<svg>\n</svg>",
						"text/plain":                     "figure",
					},
					Meta: map[string]any{"isolated": true},
				},
				{
					Type: ResultOutput, Count: 3, Meta: map[string]any{},
					Data: map[string]any{"text/html": "<b>1550 nm</b>", "text/plain": "1550 nm"},
				},
				{Type: ErrorOutput, Error: &Error{
					Name: "NameError", Value: "cell 2:1:1: undefined: y", Traceback: []string{"cell 2:1:1", "  y",
						"  ^"},
				}},
			},
		},
		{
			ID: "r-1", Type: RawCell, Metadata: map[string]any{"format": "text/x-rst"},
			Extra: map[string]any{"later_field": map[string]any{"kept": true}},
		},
		{ID: "c2", Type: CodeCell, Source: "a < b & c > d\r\n'\\x0b'", Metadata: map[string]any{}},
	}
	if diff := cmp.Diff(nb.Cells, want); diff != "" {
		t.Errorf("cells, -got +want:\n%s", diff)
	}
	if got, want := nb.Kernel(), "wedgework"; got != want {
		t.Errorf("Kernel() = %q, want %q", got, want)
	}
	if got, want := nb.Language(), "starlark"; got != want {
		t.Errorf("Language() = %q, want %q", got, want)
	}
	if diff := cmp.Diff(nb.Cells[0].Tags(), []string{"narrative"}); diff != "" {
		t.Errorf("Tags(), -got +want:\n%s", diff)
	}
	if diff := cmp.Diff(nb.Extra, map[string]any{"top_field": []any{}}); diff != "" {
		t.Errorf("Extra, -got +want:\n%s", diff)
	}
}

func TestReadAcceptsWhatOtherWritersDo(t *testing.T) {
	const tail = `"metadata":{},"nbformat":4,"nbformat_minor":`
	for _, c := range []struct{ name, in, source string }{
		{"source as one string", `{"cells":[{"cell_type":"raw","metadata":{},"source":"a\nb"}],` + tail + `4}`, "a\nb"},
		{"byte order mark", "\xef\xbb\xbf" + `{"cells":[{"cell_type":"raw","metadata":{},"source":"a"}],` + tail + `0}`,
			"a"},
		{"later minor version", `{"cells":[{"cell_type":"raw","id":"x","metadata":{},"source":"a"}],` + tail + `9}`,
			"a"},
		{"text after white space", `{"cells":[{"cell_type":"raw","metadata":{},"source":"a"}],` + tail + "4}\r\n\n",
			"a"},
	} {
		nb, err := Read([]byte(c.in))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := nb.Cells[0].Source; got != c.source {
			t.Errorf("%s: source = %q, want %q", c.name, got, c.source)
		}
	}
}

// doc wraps cells, as JSON, into a notebook.
func doc(cells string) string {
	return `{"cells":[` + cells + `],"metadata":{},"nbformat":4,"nbformat_minor":5}`
}

func TestReadRefuses(t *testing.T) {
	const ok = `{"cell_type":"raw","id":"a","metadata":{},"source":""},`
	code := func(fields string) string {
		return doc(ok + `{"cell_type":"code","id":"b","metadata":{},"source":"",` + fields + `}`)
	}
	for _, c := range []struct{ name, in, want string }{
		{"nothing", " \n", "the file is empty, expected a notebook in JSON"},
		{"not JSON", "{\n \"cells\": [}", "line 2, column 12: not JSON: invalid character '}'"},
		{"cut off", `{"cells": [`, "line 1, column 12: not JSON: unexpected end of JSON input"},
		{"two values", `{} {}`, "expected the end of the file"},
		{"not UTF-8", "{\"a\":\n\"\xff\"}", "line 2, column 2: found the byte 0xff, expected text in UTF-8"},
		{"a list", `[]`, "notebook: found a list of 0, expected an object"},
		{"no version", `{"cells":[],"metadata":{}}`, "notebook: nbformat: found nothing, expected the whole number 4"},
		{"version 3", `{"nbformat":3,"nbformat_minor":0,"worksheets":[]}`,
			"nbformat: found version 3, expected version 4"},
		{"version in words", `{"nbformat":"4"}`, `nbformat: found "4", expected the whole number 4`},
		{"no minor", `{"nbformat":4}`, "nbformat_minor: found nothing"},
		{"no metadata", `{"nbformat":4,"nbformat_minor":5,"cells":[]}`,
			"notebook: metadata: found nothing, expected an object"},
		{"no cells", `{"nbformat":4,"nbformat_minor":5,"metadata":{}}`,
			"notebook: cells: found nothing, expected a list"},
		{"kernelspec", `{"nbformat":4,"nbformat_minor":5,"metadata":{"kernelspec":{"name":7}},"cells":[]}`,
			"metadata.kernelspec.name: found the number 7, expected a string"},
		{"cell is a number", doc(ok + `7`), "cell 2: found the number 7, expected an object"},
		{"cell type", doc(ok + `{"cell_type":"heading","id":"b","metadata":{},"source":""}`),
			`cell 2: cell_type: found "heading", expected "code", "markdown" or "raw"`},
		{"no source", doc(ok + `{"cell_type":"raw","id":"b","metadata":{}}`),
			"cell 2: source: found nothing, expected a string or a list of strings"},
		{"source line", doc(ok + `{"cell_type":"raw","id":"b","metadata":{},"source":["a",null]}`),
			"cell 2: source[1]: found null, expected a string"},
		{"tags", doc(`{"cell_type":"raw","id":"b","metadata":{"tags":[true]},"source":""}`),
			"cell 1: metadata.tags[0]: found true, expected a string"},
		{"id", doc(`{"cell_type":"raw","id":"a b","metadata":{},"source":""}`),
			`cell 1: id: found "a b", expected 1 to 64 letters`},
		{"same id", doc(ok + ok[:len(ok)-1]), `cell 2: id: found "a", the id of cell 1, expected an id of its own`},
		{"no outputs", code(`"execution_count":null`), "cell 2: outputs: found nothing, expected a list"},
		{"count", code(`"execution_count":-1,"outputs":[]`),
			"cell 2: execution_count: found the number -1, expected null or a whole number"},
		{"output type", code(`"execution_count":1,"outputs":[{"output_type":"pyout"}]`),
			`cell 2: outputs[0].output_type: found "pyout"`},
		{"stream without text", code(`"execution_count":1,"outputs":[{"output_type":"stream","name":"stdout"}]`),
			"cell 2: outputs[0].text: found nothing"},
		{"bundle", code(`"execution_count":1,"outputs":[{"output_type":"display_data","metadata":{},"data":{"text/plain":{}}}]`), "cell 2: outputs[0].data.text/plain: found an object with 0 fields"},
		{"traceback", code(`"execution_count":1,"outputs":[{"output_type":"error","ename":"a","evalue":"b","traceback":"c"}]`), `outputs[0].traceback: found "c", expected a list`},
		{"attachment", doc(`{"cell_type":"markdown","id":"b","metadata":{},"source":"","attachments":{"a.png":7}}`),
			"cell 1: attachments.a.png: found the number 7, expected an object"},
	} {
		nb, err := Read([]byte(c.in))
		if err == nil {
			t.Errorf("%s: got %+v, want an error with %q", c.name, nb, c.want)
		} else if !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got error %q, want it to contain %q", c.name, err, c.want)
		}
	}
}

func TestInvalidCanBeLookedAt(t *testing.T) {
	_, err := Read([]byte(doc(`7`)))
	var bad *Invalid
	if !errors.As(err, &bad) || bad.Cell != 1 {
		t.Errorf("got %#v, want *Invalid for cell 1", err)
	}
}

func TestMissingIDsAreMadeTheSameEachTime(t *testing.T) {
	in := doc(`{"cell_type":"raw","metadata":{},"source":"x"},{"cell_type":"raw","metadata":{},"source":"x"}`)
	var seen [2][2]string
	for k := range seen {
		nb, err := Read([]byte(in))
		if err != nil {
			t.Fatal(err)
		}
		seen[k] = [2]string{nb.Cells[0].ID, nb.Cells[1].ID}
	}
	if seen[0] != seen[1] || seen[0][0] == seen[0][1] || !validID(seen[0][0]) {
		t.Errorf("ids of two readings: %v, want the same pair of different valid ids twice", seen)
	}
}

func FuzzRead(f *testing.F) {
	every, err := os.ReadFile(filepath.Join("testdata", "every.ipynb"))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(every)
	f.Add([]byte(doc(`{"cell_type":"code","id":"b","metadata":{},"source":["a\n"],"execution_count":0,"outputs":[]}`)))
	f.Add([]byte(`{"nbformat":4,"nbformat_minor":4,"metadata":{"kernelspec":null},"cells":[null]}`))
	f.Add([]byte("{\"nbformat\":4,\"nbformat_minor\":4,\"metadata\":{},\"cells\":[],\"\\ud800\":1e999}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		nb, err := Read(data)
		if err != nil {
			return
		}
		first, err := nb.Bytes()
		if err != nil {
			t.Fatalf("a notebook that was read cannot be written: %v", err)
		}
		again, err := Read(first)
		if err != nil {
			t.Fatalf("a notebook that was written cannot be read: %v\n%s", err, first)
		}
		second, err := again.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		if string(first) != string(second) {
			t.Fatalf("written twice:\n%s\nand\n%s", first, second)
		}
	})
}
