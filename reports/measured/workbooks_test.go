package measured

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// workbooks are the workbooks of the corpus: what each has on its sheets. Name.xlsx is left alone where it is there.
var workbooks = map[string]func(*excelize.File) error{
	"plain": func(f *excelize.File) error { return sheetOf(f, "Sheet1", plainRows...) },
	"two-sheets": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		return sheetOf(f, "70 degC", plainRows...)
	},
	"empty-second-sheet": func(f *excelize.File) error {
		if _, err := f.NewSheet("notes"); err != nil {
			return err
		}
		return sheetOf(f, "Sheet1", plainRows...)
	},
	"empty": func(*excelize.File) error { return nil },
	"metadata": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", append([][]any{
			{"Note", "invented"}, {"Unit", "0417"}, {"Measured", time.Date(2026, 11, 18, 0, 0, 0, 0, time.UTC)},
			{"# lot:", "26-11"}, {},
		}, plainRows...)...); err != nil {
			return err
		}
		return nil
	},
	"offset": func(f *excelize.File) error {
		var rows [][]any
		for _, r := range plainRows {
			rows = append(rows, append([]any{nil, nil}, r...))
		}
		return sheetOf(f, "Sheet1", append([][]any{{}, {}}, rows...)...)
	},
	"text-for-number": func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"wavelength [nm]", "temperature [degC]", "isolation [dB]"},
			[]any{1550, 23, "high"})
	},
	"text-decimal-comma": func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"wavelength [nm]", "temperature [degC]", "isolation [dB]"},
			[]any{1550, 23, "40,5"}, []any{1551, 23, "40,55"})
	},
	"mixed-decimal-marks": func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"wavelength [nm]", "temperature [degC]", "isolation [dB]"},
			[]any{1550.25, 23, "40,5"})
	},
	"date-for-number": func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"wavelength [nm]", "temperature [degC]", "isolation [dB]"},
			[]any{1550, 23, time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)})
	},
	"error-cell": func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"wavelength [nm]", "temperature [degC]", "isolation [dB]"},
			[]any{1550, 23, "#DIV/0!"})
	},
	"formula-without-value": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		if err := f.SetCellValue("Sheet1", "C2", nil); err != nil {
			return err
		}
		return f.SetCellFormula("Sheet1", "C2", "40+0.5")
	},
	"units-below": func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"Wavelength", "Temperature", "Isolation"}, []any{"nm", "°C", "dB"},
			[]any{1550, 23, 40.5})
	},
	"at-least": func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"wavelength [nm]", "temperature [degC]", "isolation [dB]"},
			[]any{1550, 23, ">62"}, []any{1551, 23})
	},
	"too-wide": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		return f.SetCellValue("Sheet1", "XFD3", 1)
	},
	"hidden-rows": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		return f.SetRowVisible("Sheet1", 3, false)
	},
	"hidden-column": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		return f.SetColVisible("Sheet1", "C", false)
	},
	"merged-title": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", append([][]any{{"Isolation, invented"}}, plainRows...)...); err != nil {
			return err
		}
		return f.MergeCell("Sheet1", "A1", "E1")
	},
	"merged-readings": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		return f.MergeCell("Sheet1", "C2", "C3")
	},
	"percentage": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		style, err := f.NewStyle(&excelize.Style{NumFmt: 10})
		if err != nil {
			return err
		}
		return f.SetCellStyle("Sheet1", "C3", "C3", style)
	},
	"truth-value": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		return f.SetCellValue("Sheet1", "C3", true)
	},
	"note-beside": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		return f.SetCellValue("Sheet1", "G3", "bad point")
	},
	"formulas-in-a-row": func(f *excelize.File) error {
		if err := sheetOf(f, "Sheet1", plainRows...); err != nil {
			return err
		}
		for _, cell := range []string{"A4", "B4", "C4"} {
			if err := f.SetCellFormula("Sheet1", cell, cell[:1]+"3+1"); err != nil {
				return err
			}
		}
		return nil
	},
	"no-units": func(f *excelize.File) error {
		return sheetOf(f, "Sheet1", []any{"wavelength", "temperature", "isolation"}, []any{1550, 23, 40.5})
	},
}

var plainRows = [][]any{
	{"wavelength [nm]", "temperature [degC]", "isolation [dB]", "insertion loss [dB]", "note"},
	{1550.25, 23.0, 40.5, 0.412, "invented"},
	{1550.5, 23.0, 40.55, nil, ""},
}

func sheetOf(f *excelize.File, name string, rows ...[]any) error {
	if _, err := f.NewSheet(name); err != nil {
		return err
	}
	for i, r := range rows {
		if err := f.SetSheetRow(name, fmt.Sprintf("A%d", i+1), &r); err != nil {
			return err
		}
	}
	return nil
}

// bytesOf returns a workbook as a file.
func bytesOf(t testing.TB, fill func(*excelize.File) error) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	if err := fill(f); err != nil {
		t.Fatal(err)
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func makeWorkbooks(t *testing.T) {
	t.Helper()
	all := map[string][]byte{}
	for name, fill := range workbooks {
		all[name+".xlsx"] = bytesOf(t, fill)
	}
	whole := all["plain.xlsx"]
	all["cut-off.xlsx"] = whole[:len(whole)/2]
	all["other-archive.xlsx"] = archive(t, zipped{"readings.txt", []byte("1550,40")})
	all["broken-part.xlsx"] = archive(t, zipped{"xl/workbook.xml", []byte("<workbook")})
	all["orphan-formula.xlsx"] = rewritten(t, whole, "xl/worksheets/sheet1.xml", `<c r="C3"><v>40.55</v></c>`,
		`<c r="C3"><f t="shared" si="7"/></c>`)
	all["bomb.xlsx"] = archive(t, zipped{"xl/workbook.xml", []byte("<workbook/>")}, zipped{"xl/worksheets/sheet1.xml",
		make([]byte, mostUnpacked+1)})
	for name, data := range all {
		path := filepath.Join(corpus, name)
		if _, err := os.Stat(path); err == nil {
			continue
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// rewritten returns a workbook with a text of one of its parts replaced.
func rewritten(t *testing.T, book []byte, name, from, to string) []byte {
	t.Helper()
	return edited(t, book, name, func(data []byte) []byte {
		if !bytes.Contains(data, []byte(from)) {
			t.Fatalf("%s has no %s:\n%s", name, from, data)
		}
		return bytes.Replace(data, []byte(from), []byte(to), 1)
	})
}

// replaced returns a workbook with one of its parts replaced.
func replaced(t *testing.T, book []byte, name string, with []byte) []byte {
	t.Helper()
	return edited(t, book, name, func([]byte) []byte { return with })
}

// edited returns a workbook with one of its parts changed.
func edited(t *testing.T, book []byte, name string, change func([]byte) []byte) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	var parts []zipped
	for _, f := range in.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if f.Name == name {
			data = change(data)
		}
		parts = append(parts, zipped{f.Name, data})
	}
	return archive(t, parts...)
}

// zipped is a file within an archive.
type zipped struct {
	name string
	data []byte
}

func archive(t *testing.T, parts ...zipped) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, p := range parts {
		w, err := z.Create(p.name)
		if err == nil {
			_, err = w.Write(p.data)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestWorkbookSheets: a sheet is taken by its name, in any case, and another one is refused with the list.
func TestWorkbookSheets(t *testing.T) {
	f := NewFile("two.xlsx", bytesOf(t, workbooks["two-sheets"]))
	table, err := ReadPart(t.Context(), f, Part{Sheet: "70 DEGC"})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := table.Cell(Isolation, 1), "two.xlsx, sheet 70 degC, cell C3"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	_, err = ReadPart(t.Context(), f, Part{Sheet: "23 degC"})
	if want := `two.xlsx: found no sheet "23 degC", expected one of Sheet1, 70 degC`; err == nil ||
		err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}
