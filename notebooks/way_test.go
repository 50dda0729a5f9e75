package notebooks

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wedgework/reports/archive"
	"wedgework/reports/record"
)

// TestWayOfAReading follows measured isolation from its cells in a file to everything that a person or a program sees:
// some readings at 23 °C are lowered by a known amount, and the figure that they decide is then the same digits on page
// one, in the page for a screen, in the record, in the tables and the page of the index, and in the list of changes.
func TestWayOfAReading(t *testing.T) {
	dir := t.TempDir()
	made := map[string]*record.Record{}
	lowered, lines := lowerReadings(t, 1.5)
	before, err := os.ReadFile("../testdata/demo/lot-26-11-unit-0417.csv")
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string][]byte{"before": before, "after": lowered} {
		folder := filepath.Join(dir, name)
		if err := os.Mkdir(folder, 0o777); err != nil {
			t.Fatal(err)
		}
		sweep := filepath.Join(dir, "lot-26-11-unit-0417.csv")
		if err := os.WriteFile(sweep, content, 0o666); err != nil {
			t.Fatal(err)
		}
		if status, printed := run(t, nil, "report", "verify-single-stage.ipynb", "--data", "sweep="+sweep, "--out",
			filepath.Join(folder, "r.pdf")); status == 2 {
			t.Fatal(printed)
		}
		data, err := os.ReadFile(filepath.Join(folder, "r.json"))
		if err != nil {
			t.Fatal(err)
		}
		if made[name], err = record.Read(data); err != nil {
			t.Fatal(err)
		}
	}
	was, is := made["before"].Units[0].Limits[0], made["after"].Units[0].Limits[0]
	if change := was.Measured.Float() - is.Measured.Float(); math.Abs(change-1.5) > 0.5 {
		t.Fatalf("readings lower by 1.5 dB (lines %d to %d) change %s dB to %s dB", lines[0], lines[1], was.Measured,
			is.Measured)
	}
	figure := string(is.Measured)

	folder := filepath.Join(dir, "after")
	pdf, err := os.ReadFile(filepath.Join(folder, "r.pdf"))
	if err != nil {
		t.Fatal(err)
	}
	pages, _ := pageTexts(t, "way", pdf)
	if !strings.Contains(pages[0], figure) || strings.Contains(pages[0], string(was.Measured)) {
		t.Errorf("page one does not say %s, or says %s:\n%s", figure, was.Measured, pages[0])
	}
	f, err := archive.Open(pdf)
	if err != nil {
		t.Fatal(err)
	}
	attached, err := f.Attachments()
	if err != nil || !slices.ContainsFunc(attached, func(a archive.Attachment) bool {
		return string(a.Data) == string(lowered)
	}) {
		t.Errorf("the PDF does not carry the file of readings (%v)", err)
	}
	screen, err := os.ReadFile(filepath.Join(folder, "r.html"))
	if err != nil || !strings.Contains(string(screen), figure) {
		t.Errorf("the page for a screen does not say %s (%v)", figure, err)
	}

	if status, printed := run(t, nil, "index", folder); status != 0 {
		t.Fatal(printed)
	}
	listed, err := os.Open(filepath.Join(folder, "index-values.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer listed.Close()
	rows, err := csv.NewReader(listed).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	kind, name, value := slices.Index(rows[0], "kind"), slices.Index(rows[0], "name"), slices.Index(rows[0], "value")
	k := slices.IndexFunc(rows, func(r []string) bool { return r[kind] == "limit" && r[name] == is.Quantity })
	if k < 0 || rows[k][value] != figure {
		t.Errorf("the table of the index has %q, want %s", rows[max(k, 0)], figure)
	}
	page, err := os.ReadFile(filepath.Join(folder, "index.html"))
	if err != nil || !strings.Contains(string(page), figure) {
		t.Errorf("the page of the index does not say %s (%v)", figure, err)
	}

	_, printed := run(t, nil, "compare", filepath.Join(dir, "before", "r.json"), filepath.Join(folder, "r.json"))
	if !strings.Contains(printed, figure) || !strings.Contains(printed, string(was.Measured)) {
		t.Errorf("compare does not say %s and %s:\n%s", was.Measured, figure, printed)
	}
}

// lowerReadings is unit 0417's file with the isolation at 23 °C up to 1545 nm lower by so many dB; and the first and
// the last line that changed.
func lowerReadings(t *testing.T, by float64) (file []byte, lines [2]int) {
	t.Helper()
	data, err := os.ReadFile("../testdata/demo/lot-26-11-unit-0417.csv")
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for i, line := range strings.SplitAfter(string(data), "\n") {
		fields := strings.Split(line, ",")
		nm, err := strconv.ParseFloat(fields[0], 64)
		if err == nil && nm <= 1545 && len(fields) > 2 && fields[1] == "23.0" {
			v, err := strconv.ParseFloat(fields[2], 64)
			if err != nil {
				t.Fatal(err)
			}
			fields[2] = fmt.Sprintf("%.3f", v-by)
			line = strings.Join(fields, ",")
			if lines[0] == 0 {
				lines[0] = i + 1
			}
			lines[1] = i + 1
		}
		out.WriteString(line)
	}
	if lines[0] == 0 {
		t.Fatal("no reading is lowered: the case says nothing")
	}
	return []byte(out.String()), lines
}
