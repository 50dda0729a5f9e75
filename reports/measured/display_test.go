package measured

import (
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// TestWorkbookShows: what a format shows is what a cell means; a rounding keeps the digits behind it.
func TestWorkbookShows(t *testing.T) {
	for _, c := range []struct {
		name, format string
		value        any
		want         string // "" for a refusal that says so
	}{
		{"serial number with zeros", "0000", 417, "unit 0417"},
		{"bound", `">"0`, 62, "62 bound"},
		{"bound with decimals", `"≥ "0.0`, 62, "62 bound"},
		{"rounding", "0.0", 40.125, "isolation 40.125"},
		{"rounding with another format than the built-in ones", "0.0;-0.0", 40.125, "isolation 40.125"},
		{"marks between thousands", "#,##0.00", 40.125, "isolation 40.125"},
		{"exponent", "0.00E+00", 40.125, "isolation 40.125"},
		{"words around", `"ca. "0.0`, 40.125, `found "ca. 40.1"`},
		{"unit shown", `0.0" dB"`, 40.125, `found "40.1 dB"`},
		{"scaled", "0.000,", 40125.0, "isolation 40.125"},
		{"hidden", ";;;", 40.125, "found the number 40.125, which its format hides"},
		{"sign hidden", "0.00;0.00", -40.0, "isolation 40"},
		{"fraction", "# ?/?", 40.5, `found "40 1/2"`},
	} {
		f := NewFile("shown.xlsx", bytesOf(t, func(f *excelize.File) error {
			column := "C"
			row := []any{1550, 23, c.value, "x"}
			if strings.HasPrefix(c.want, "unit") {
				column, row = "D", []any{1550, 23, 40, c.value}
			}
			if err := sheetOf(f, "Sheet1", []any{"wavelength [nm]", "temperature [degC]", "isolation [dB]", "unit"},
				row); err != nil {
				return err
			}
			style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &c.format})
			if err != nil {
				return err
			}
			return f.SetCellStyle("Sheet1", column+"2", column+"2", style)
		}))
		if got := account(f); !strings.Contains(got, c.want) {
			t.Errorf("%s: got %s, want it to have %s", c.name, got, c.want)
		}
	}
}

// TestWorkbookDigits: spreadsheets keep fifteen digits, and what a file stores beyond them is none of the number.
func TestWorkbookDigits(t *testing.T) {
	book := bytesOf(t, func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"wavelength [nm]", "temperature [degC]", "isolation [dB]", "lot"},
			[]any{1550, 23, 40.1, 26.25})
	})
	f := NewFile("digits.xlsx", rewritten(t, book, "xl/worksheets/sheet1.xml", "26.25", "26.109999999999999"))
	if got := account(f); !strings.Contains(got, "lot \"26.11\"") {
		t.Errorf("got %s, want the lot 26.11", got)
	}
}

// TestWorkbookMarks: a serial number that begins with a comment mark is part of a row, also where the row ends early.
func TestWorkbookMarks(t *testing.T) {
	f := NewFile("marks.xlsx", bytesOf(t, func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"unit", "wavelength [nm]", "temperature [degC]", "isolation [dB]", "note"},
			[]any{"#18", 1550, 23, 40}, []any{"# chamber opened"}, []any{"%ok", 1550, 23, 41})
	}))
	got := account(f)
	for _, want := range []string{"isolation 40, unit #18", "isolation 41, unit %ok", "remark: chamber opened (3)"} {
		if !strings.Contains(got, want) {
			t.Errorf("got %s, want %s", got, want)
		}
	}
}
