package main

import (
	"bufio"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/job"
	"wedgework/reports/notebook"
	"wedgework/reports/publish"
	"wedgework/reports/require"
	"wedgework/reports/rerun"
)

// shownOutput is an output as a notebook file has it.
type shownOutput struct {
	Type string         `json:"type"`
	Name string         `json:"name"`
	Text string         `json:"text"`
	Data map[string]any `json:"data"`
}

// headless runs a notebook as `wedgework report` does, and returns what its code cells show.
func headless(t *testing.T, path string) [][]shownOutput {
	t.Helper()
	ctx := t.Context()
	request, closeRoots, err := publish.Bind(ctx, &job.Job{}, filepath.Dir(path), tools(nil))
	defer closeRoots()
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if request.Notebook, err = publish.ReadNotebook(data); err != nil {
		t.Fatal(err)
	}
	out, err := rerun.Run(ctx, request, openRunner(nil))
	if err != nil {
		t.Fatal(err)
	}
	var all [][]shownOutput
	for _, c := range out.Notebook.Cells {
		if c.Type != notebook.CodeCell {
			continue
		}
		cell := []shownOutput{}
		for _, o := range c.Outputs {
			if o.Data == nil {
				o.Data = map[string]any{}
			}
			cell = append(cell, shownOutput{string(o.Type), o.Stream, o.Text, o.Data})
		}
		all = append(all, cell)
	}
	return all
}

// joined puts texts of one stream that follow each other together: where a client parts them is a matter of time.
func joined(all []shownOutput) []shownOutput {
	one := []shownOutput{}
	for _, o := range all {
		if n := len(one) - 1; n >= 0 && o.Text != "" && one[n].Type == o.Type && one[n].Name == o.Name {
			one[n].Text += o.Text
			continue
		}
		one = append(one, o)
	}
	return one
}

// TestSameOutputs: every notebook of the guide shows the same under nbclient, in the kernel, as in a report.
func TestSameOutputs(t *testing.T) {
	j := installed(t, "nbclient")
	folder := filepath.Join("..", "..", "notebooks")
	all, err := filepath.Glob(filepath.Join(folder, "*.ipynb"))
	if err != nil || len(all) == 0 {
		t.Fatalf("notebooks: %v, %v", all, err)
	}
	all = all[:min(len(all), require.Sample(2, len(all)))] // each takes seconds
	lines := bufio.NewScanner(strings.NewReader(j.python("outputs.py", append([]string{folder}, all...)...)))
	lines.Buffer(nil, 1<<30)
	for lines.Scan() {
		var ran struct {
			Notebook string          `json:"notebook"`
			Cells    [][]shownOutput `json:"cells"`
		}
		if err := json.Unmarshal(lines.Bytes(), &ran); err != nil {
			t.Fatal(err)
		}
		want := headless(t, ran.Notebook)
		for i := range want {
			if i < len(ran.Cells) {
				if d := cmp.Diff(joined(want[i]), joined(ran.Cells[i])); d != "" {
					t.Errorf("%s, code cell %d (-headless +nbclient):\n%.2000s", ran.Notebook, i+1, d)
				}
			}
		}
		if len(want) != len(ran.Cells) || len(want) == 0 {
			t.Errorf("%s: %d code cells, nbclient has %d", ran.Notebook, len(want), len(ran.Cells))
		}
	}
	if err := lines.Err(); err != nil {
		t.Error(err)
	}
}
