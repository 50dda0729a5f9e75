package main

import (
	"context"
	"path/filepath"
	"testing"

	"wedgework/reports/job"
	"wedgework/reports/regenerate"
)

// BenchmarkReport makes the main report of the demonstration in a process that has made one before, as a worker of
// regenerate does.
func BenchmarkReport(b *testing.B) {
	j := &job.Job{
		Notebook: job.File{Path: "../../notebooks/verify-single-stage.ipynb"},
		Output:   job.Text{Text: filepath.Join(b.TempDir(), "unit.pdf")},
	}
	j.Bind("sweep", "", job.File{Path: "../../testdata/demo/lot-26-11-unit-0418.csv"})
	for b.Loop() {
		if _, err := makeReport(context.Background(), &regenerate.Task{Job: *j}); err != nil {
			b.Fatal(err)
		}
	}
}
