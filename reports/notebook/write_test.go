package notebook

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/document"
)

// The file was laid out by Python's json module with the settings of nbformat's writer.
func TestBytesGivesBackTheFile(t *testing.T) {
	want, err := os.ReadFile(filepath.Join("testdata", "every.ipynb"))
	if err != nil {
		t.Fatal(err)
	}
	got, err := readEvery(t).Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(got), string(want)); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
}

func TestBytesOfWhatASessionMade(t *testing.T) {
	nb := &Notebook{Minor: 5, Cells: []Cell{{ID: "a", Type: CodeCell, Source: "1\n2", Count: 1, Outputs: []Output{
		{Type: ResultOutput, Count: 1, Data: map[string]any{"text/plain": "2"},
			Blocks: []document.Block{document.Plain("2")}},
		{Type: ErrorOutput, Error: &Error{Name: "Error"}},
	}}}}
	const want = `{
 "cells": [
  {
   "cell_type": "code",
   "execution_count": 1,
   "id": "a",
   "metadata": {},
   "outputs": [
    {
     "data": {
      "text/plain": [
       "2"
      ]
     },
     "execution_count": 1,
     "metadata": {},
     "output_type": "execute_result"
    },
    {
     "ename": "Error",
     "evalue": "",
     "output_type": "error",
     "traceback": []
    }
   ],
   "source": [
    "1\n",
    "2"
   ]
  }
 ],
 "metadata": {},
 "nbformat": 4,
 "nbformat_minor": 5
}
`
	got, err := nb.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(got), want); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
	if _, err := Read(got); err != nil {
		t.Errorf("what was written does not read: %v", err)
	}
}

func TestBytesRefusesWhatJSONCannotSay(t *testing.T) {
	nb := &Notebook{Minor: 4, Cells: []Cell{{Type: CodeCell, Outputs: []Output{
		{Type: DisplayOutput, Data: map[string]any{"application/json": math.NaN()}},
	}}}}
	if b, err := nb.Bytes(); err == nil {
		t.Errorf("got %s, want an error for a NaN", b)
	}
}

func TestSplitAsPythonDoes(t *testing.T) {
	for _, c := range []struct {
		in   string
		want []string
	}{
		{"", []string{}},
		{"a", []string{"a"}},
		{"a\n", []string{"a\n"}},
		{"a\n\nb", []string{"a\n", "\n", "b"}},
		{"a\r\nb\rc", []string{"a\r\n", "b\r", "c"}},
		{"a\u2028b\u0085c\vd\f", []string{"a\u2028", "b\u0085", "c\v", "d\f"}},
		{"\r", []string{"\r"}},
		{"θ\x1cλ", []string{"θ\x1c", "λ"}},
	} {
		if diff := cmp.Diff(split(c.in), c.want); diff != "" {
			t.Errorf("split(%q), -got +want:\n%s", c.in, diff)
		}
	}
}

func TestCloneLeavesTheOriginalAlone(t *testing.T) {
	nb := readEvery(t)
	c := nb.Clone()
	c.Cells[1].Outputs[0].Text = "changed"
	c.Cells[1].Count = 9
	if got := nb.Cells[1].Outputs[0].Text; got != "first\nsecond\n" {
		t.Errorf("the original's output became %q", got)
	}
	if got := nb.Cells[1].Count; got != 3 {
		t.Errorf("the original's count became %d, want 3", got)
	}
}
