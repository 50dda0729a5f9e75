package sheet

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"wedgework/reports/require"
)

// Texts that look like something else in a workbook, in XML or to a spreadsheet.
var texts = []string{"0417", "=1+1", "-3", "1e5", " padded ", "a<b & \"c\" > 'd'", "λ 1550 nm, 23 °C, ≥ 30 dB", "TRUE",
	"", "line\nfeed\ttab", "bell \x07 and return \r", "_x0041_", "_x0041_x0042_", "_x5F_", "日本語", "2026-11-30", "#N/A"}

// numbers of a column beside the texts, among them those that no cell holds.
func numbers() []float64 {
	all := make([]float64, len(texts))
	for i := range all {
		all[i] = math.Pi * math.Pow(10, float64(i-8))
	}
	all[1], all[2], all[3], all[4] = 0, math.NaN(), math.Inf(1), -1.0/3
	return all
}

func book(t testing.TB) []byte {
	t.Helper()
	data, err := Workbook([]Table{
		{Name: "units/26-12", Columns: []Column{{Head: "unit & <lot>", Texts: texts},
			{Head: "isolation [dB]", Numbers: numbers()}}},
		{Name: "Units-26-12", Columns: []Column{{Head: "x", Numbers: []float64{}}}}, // the same name, but for capitals
	})
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// The library that reads workbooks of others reads ours back: texts as texts, numbers to the last digit.
func TestWorkbookComesBack(t *testing.T) {
	data := book(t)
	if !bytes.Equal(data, book(t)) {
		t.Error("the same tables give other bytes")
	}
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got, want := f.GetSheetList(), []string{"units-26-12", "Sheet 2"}; !cmp.Equal(got, want) {
		t.Errorf("sheets %q, want %q", got, want)
	}
	for i, want := range texts {
		at, _ := excelize.CoordinatesToCellName(1, i+2)
		got, err := f.GetCellValue("units-26-12", at)
		if err != nil || got != want {
			t.Errorf("%s: %q %v, want %q", at, got, err, want)
		}
		at, _ = excelize.CoordinatesToCellName(2, i+2)
		raw, err := f.GetCellValue("units-26-12", at, excelize.Options{RawCellValue: true})
		if number(numbers()[i]) != raw && !math.IsInf(numbers()[i], 0) || err != nil {
			t.Errorf("%s: %q %v, want %v", at, raw, err, numbers()[i])
		}
	}
}

// A program of another origin reads them too: openpyxl, which is Debian's.
func TestWorkbookByOpenpyxl(t *testing.T) {
	const python = "/usr/bin/python3"
	if exec.Command(python, "-c", "import openpyxl").Run() != nil {
		require.Missing(t, "openpyxl (Debian: python3-openpyxl)")
	}
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := os.WriteFile(path, book(t), 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(python, "-c", `
import json, sys, openpyxl
from openpyxl.utils.escape import unescape
print(json.dumps([[[unescape(v) if isinstance(v, str) else v for v in r] for r in s.iter_rows(values_only=True)]
                  for s in openpyxl.load_workbook(sys.argv[1])]))`,
		path).Output()
	if err != nil {
		t.Fatal(err)
	}
	var sheets [][][]any
	if err := json.Unmarshal(out, &sheets); err != nil {
		t.Fatal(err)
	}
	if len(sheets) != 2 || len(sheets[0]) != len(texts)+1 || sheets[1][0][0] != "x" {
		t.Fatalf("read %s", out)
	}
	for i, row := range sheets[0][1:] {
		text, _ := row[0].(string) // an empty text is read as nothing
		v, ok := row[1].(float64)
		if want := numbers()[i]; text != texts[i] || ok && v != want ||
			ok == (math.IsNaN(want) || math.IsInf(want, 0)) {
			t.Errorf("row %d: %q, want %q and %v", i+2, row, texts[i], want)
		}
	}
}

// What no workbook holds is refused.
func TestWorkbookRefuses(t *testing.T) {
	long := Column{Head: "note", Texts: []string{strings.Repeat("λ", longestText+1)}}
	for want, tables := range map[string][]Table{
		"at least one table":                      nil,
		`sheet "notes": cell A2: a text of 32768`: {{Name: "notes", Columns: []Column{long}}},
		"has no columns":                          {{Name: "empty"}},
		"has 1 rows, the first has 2": {{Columns: []Column{{Numbers: []float64{1, 2}},
			{Numbers: []float64{1}}}}},
	} {
		if _, err := Workbook(tables); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want an error with %q", err, want)
		}
	}
}

func TestColumn(t *testing.T) {
	for j := range mostColumns {
		if want, err := excelize.ColumnNumberToName(j + 1); err != nil || column(j) != want {
			t.Fatalf("column %d is %s, want %s", j, column(j), want)
		}
	}
}
