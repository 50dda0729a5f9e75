package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/reports/files"
)

// TestEarlierReports: a report and a record that version 0.2.1 made are read: compared with one of today, listed in an
// index from the PDF alone, and made again, which names the version that made it and what differs.
func TestEarlierReports(t *testing.T) {
	const earlier = "../../testdata/earlier/0.2.1-0418"
	folder := t.TempDir()
	do := func(want int, args ...string) string {
		t.Helper()
		var out, err bytes.Buffer
		if got := run(t.Context(), args, strings.NewReader(""), &out, &err); got != want {
			t.Fatalf("wedgework %s: exit status %d, want %d\n%s", strings.Join(args, " "), got, want, &err)
		}
		return out.String()
	}
	holds := func(text string, wanted ...string) {
		t.Helper()
		for _, w := range wanted {
			if !strings.Contains(text, w) {
				t.Errorf("no %q in\n%.2000s", w, text)
			}
		}
	}

	today := filepath.Join(folder, "today.pdf")
	do(someFail, "report", "../../notebooks/verify-single-stage.ipynb", "--data",
		"sweep=../../testdata/demo/lot-26-11-unit-0418.csv", "--out", today)
	for _, old := range []string{earlier + ".json", earlier + ".pdf"} {
		holds(do(someFail, "compare", old, today), "wedgework 0.2.1", "model agreement: as before")
	}
	holds(do(someFail, "reproduce", earlier+".pdf"), "0.2.1-0418.pdf: differs", "made by wedgework 0.2.1",
		"minimum isolation")

	copied, err := files.Read(earlier + ".pdf")
	if err != nil {
		t.Fatal(err)
	}
	reports := filepath.Join(folder, "reports")
	if err := os.Mkdir(reports, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(reports, "0418.pdf"), copied, 0o666); err != nil {
		t.Fatal(err)
	}
	do(0, "index", "--from-pdfs", reports)
	rows, err := os.ReadFile(filepath.Join(reports, "index.csv"))
	if err != nil {
		t.Fatal(err)
	}
	holds(string(rows), "wedgework 0.2.1,0418,26-11", "fail,fail,pass,pass,rotator1.angle")
}
