package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// The readings of JCGM 100 (GUM), table 1 of 4.4.3: twenty temperatures whose mean is 100.145 and whose
// experimental standard deviation is 1.489 (printed 100.14 and 1.49); as isolations here.
var gumTable1 = []float64{
	96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95, 101.11,
	101.20, 101.57, 101.84, 102.36, 102.72,
}

func TestAveraged(t *testing.T) {
	text := head
	for _, v := range gumTable1 {
		text += fmt.Sprintf("1550,23,%g\n", v)
	}
	a := read(t, text+"1551,23,40\n").Averaged()
	if a.Rows() != 2 {
		t.Fatalf("%d rows, want 2", a.Rows())
	}
	const printed = 0.005 // half of the last digit that the guide prints
	if m, s := a.Isolation[0], a.Spread[Isolation][0]; math.Abs(m-100.145) > printed || math.Abs(s-1.489) > printed {
		t.Errorf("mean %g, standard deviation %g; the guide prints 100.14 and 1.49", m, s)
	}
	if n := a.Count[Isolation]; n[0] != 20 || n[1] != 1 || !math.IsNaN(a.Spread[Isolation][1]) {
		t.Errorf("counts %v, spread of one %g, want 20 and 1, and none", n, a.Spread[Isolation][1])
	}
	if o := a.Origin(0); len(o) != 20 || o[19].Line != 21 {
		t.Errorf("origins %v, want lines 2 to 21", o)
	}
}

// TestAveragedUncertainty: the stated uncertainty of repeated readings stays that of one, in the root mean square;
// those that are not stated do not count, and a place without any has none.
func TestAveragedUncertainty(t *testing.T) {
	a := read(t, "wavelength [nm],temperature [degC],isolation [dB],u(isolation) "+
		"[dB]\n1550,23,40,0.3\n1550,23,40.2,0.4\n1550,23,40.1,\n1551,23,41,\n1551,23,41.2,\n").Averaged()
	want := math.Sqrt((0.3*0.3 + 0.4*0.4) / 2)
	if u := a.U[Isolation]; len(u) != 2 || math.Abs(u[0]-want) > 1e-12 || !math.IsNaN(u[1]) {
		t.Errorf("got %v, want %.4f and none", u, want)
	}
}

func TestDrifts(t *testing.T) {
	table := read(t, "wavelength [nm],temperature [degC],isolation "+
		"[dB],repeat\n1550,23,40,1\n1551,23,41,1\n1550,23.1,40.2,2\n1551,23,41.4,2\n1552,23,9,2\n")
	d := table.Drifts(Isolation)
	const rounding = 1e-12
	if len(d) != 1 || d[0].Repeat != 2 || d[0].Common != 2 || math.Abs(d[0].Mean-0.3) > rounding ||
		math.Abs(d[0].Spread-math.Sqrt(0.02)) > rounding {
		t.Errorf("got %+v, want a mean of 0.3 dB over 2 readings", d)
	}
}

// TestDriftsOfLoggedTemperatures: a chamber's log never shows the same temperature twice, and the second sweep is one
// of the same run all the same.
func TestDriftsOfLoggedTemperatures(t *testing.T) {
	table := read(t, head+"1550,23.01,40\n1551,23.02,41\n1550,23.11,40.2\n1551,23.13,41.4\n")
	d := table.Drifts(Isolation)
	const rounding = 1e-12
	if len(d) != 1 || d[0].Repeat != 2 || d[0].Common != 2 || math.Abs(d[0].Mean-0.3) > rounding {
		t.Errorf("got %+v, want a mean of 0.3 dB over 2 readings", d)
	}
}

// TestRuns: runs are what gaps part; a ramp of plateaus has one a plateau, and one without plateaus is cut into
// stretches instead of being averaged over 75 K.
func TestRuns(t *testing.T) {
	plateaus, slide := head, head
	for c := -5; c <= 70; c++ {
		plateaus += fmt.Sprintf("1550,%d.02,%d\n1551,%d.05,40\n", c, 40+c, c)
	}
	for c := -50; c <= 700; c++ {
		slide += fmt.Sprintf("1550,%.1f,40\n", float64(c)/10)
	}
	for _, c := range []struct {
		name, text string
		want       int
	}{
		{"drift within a sweep", head + "1550,22,40\n1551,23.5,40\n1552,25,40\n", 1},
		{"two temperatures", head + "1550,23,40\n1551,23,40\n1550,25.5,40\n", 2},
		{"two temperatures a kelvin apart", head + "1550,23,40\n1551,23.1,40\n1550,24.2,39\n1551,24.1,39\n", 2},
		{"a sweep of few readings that drifts, and its repeat",
			head + "1550,23,40\n1551,23.4,40\n1552,24,40\n1550,23.1,40\n1551,23.5,40\n1552,24.1,40\n", 1},
		{"ramp of 76 plateaus", plateaus, 76},
		{"slide over 75 K in stretches of 2 K", slide, 36},
	} {
		table := read(t, c.text)
		runs := table.Runs()
		if len(runs) != c.want {
			t.Errorf("%s: %d runs, want %d", c.name, len(runs), c.want)
		}
		for _, r := range runs[:len(runs)-1] {
			if len(runs) > 2 && len(r.Rows) != len(runs[0].Rows) {
				t.Errorf("%s: a run of %d rows, the first has %d", c.name, len(r.Rows), len(runs[0].Rows))
			}
		}
	}
	if a := read(t, plateaus).Averaged(); a.Rows() != 152 {
		t.Errorf("%d rows after averaging, want all 152: no plateau repeats a wavelength", a.Rows())
	}
}

func tableOf(t *testing.T, name, text string) *Table {
	t.Helper()
	table, err := Read(NewFile(name, []byte(text)))
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func TestCollect(t *testing.T) {
	cold := tableOf(t, "cold.csv", "# unit: 1\n# lot: 7\n"+head+"1550,-5,30\n")
	warm := tableOf(t, "warm.csv", "# unit: 1\nwavelength [nm],temperature [degC],PDL [dB],isolation "+
		"[dB]\n1550,23,0.03,40\n1550,24,0.03,\n")
	both := tableOf(t, "both.csv", "unit,wavelength [nm],temperature [degC],isolation "+
		"[dB]\n1,1550,70,22\n2,1550,70,21\n")
	units, err := Collect(cold, warm, both)
	if err != nil {
		t.Fatal(err)
	}
	if len(units) != 2 || units[0].Rows() != 4 || units[1].Unit() != "2" {
		t.Fatalf("got %d units, want unit 1 with four rows and unit 2", len(units))
	}
	one := units[0]
	if got, want := one.Place(3), "both.csv, line 2"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := fmt.Sprint(one.Isolation, one.PDL); got != "[30 40 NaN 22] [NaN 0.03 0.03 NaN]" {
		t.Errorf("got %s", got)
	}
	for _, c := range []struct {
		name, text, want string
	}{
		{"same bytes", "# unit: 1\n# lot: 7\n" + head + "1550,-5,30\n", "found the bytes of cold.csv again"},
		{"same reading", "# unit: 1\n" + head + "1550,-5,31\n",
			"again.csv: line 3: found a reading of isolation of unit 1 that cold.csv, line 4 gives too"},
		{"another lot", "# unit: 1\n# lot: 8\n" + head + "1550,23,31\n",
			"found lot 8 of unit 1, expected 7 as in cold.csv"},
	} {
		_, err := Collect(cold, tableOf(t, "again.csv", c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
	}
}

// TestCollectRetest: readings of a unit at another time are another test of it, not a contradiction. A further file
// belongs to the test of its time.
func TestCollectRetest(t *testing.T) {
	first := tableOf(t, "a.csv", "# unit: 1\n# measured: 2026-11-18\n"+head+"1550,23,28\n")
	again := tableOf(t, "b.csv", "# unit: 1\n# measured: 2026-11-20\n"+head+"1550,23,34\n")
	cold := tableOf(t, "c.csv", "# unit: 1\n# measured: 2026-11-20\n"+head+"1550,-5,33\n")
	units, err := Collect(first, again, cold)
	if err != nil {
		t.Fatal(err)
	}
	if len(units) != 2 || units[0].Rows() != 1 || units[1].Rows() != 2 || units[1].Isolation[0] != 34 {
		t.Errorf("got %d tables, want the first test and the second with two rows", len(units))
	}
	undated := tableOf(t, "d.csv", "# unit: 1\n"+head+"1550,70,33\n")
	if _, err := Collect(first, again, undated); err == nil || !strings.Contains(err.Error(),
		"could belong to either of 2 tests") {
		t.Errorf("a file that could belong to either test: got %v", err)
	}
	if _, err := Collect(first, tableOf(t, "e.csv", "# unit: 1\n"+head+"1550,23,29\n")); err == nil ||
		!strings.Contains(err.Error(), "for a retest a time of its own, as in # measured: 2026-11-18 14:30") {
		t.Errorf("a second reading without a time: got %v", err)
	}
}

const benchRows = 10_000

func BenchmarkReadCSV(b *testing.B) {
	var text strings.Builder
	text.WriteString("wavelength [nm],temperature [degC],isolation [dB],insertion loss [dB],PDL [dB]\n")
	for i := range benchRows {
		fmt.Fprintf(&text, "%.3f,23.0,%.3f,0.412,0.030\n", 1500+float64(i)/100, 40+float64(i%7)/10)
	}
	f := NewFile("sweep.csv", []byte(text.String()))
	for b.Loop() {
		if _, err := Read(f); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadWorkbook(b *testing.B) {
	f := NewFile("sweep.xlsx", bytesOf(b, func(f *excelize.File) error {
		rows := [][]any{{"wavelength [nm]", "temperature [degC]", "isolation [dB]", "insertion loss [dB]", "PDL [dB]"}}
		for i := range benchRows {
			rows = append(rows, []any{1500 + float64(i)/100, 23.0, 40 + float64(i%7)/10, 0.412, 0.03})
		}
		return sheetOf(f, "Sheet1", rows...)
	}))
	for b.Loop() {
		if _, err := Read(f); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkReadDwell: as many readings at one wavelength, each a repeat of all before.
func BenchmarkReadDwell(b *testing.B) {
	var text strings.Builder
	text.WriteString(head)
	for i := range benchRows {
		fmt.Fprintf(&text, "1550,23,%.3f\n", 40+float64(i%7)/10)
	}
	f := NewFile("dwell.csv", []byte(text.String()))
	for b.Loop() {
		table, err := Read(f)
		if err != nil {
			b.Fatal(err)
		}
		table.Averaged()
	}
}

// TestAveragedBound: of repeated readings one of which is only a bound, the mean is a bound, and there is no spread.
func TestAveragedBound(t *testing.T) {
	a := read(t, head+"1550,23,61\n1550,23,>62\n1551,23,60\n1551,23,60.4\n").Averaged()
	if !a.AtLeast(Isolation, 0) || a.AtLeast(Isolation, 1) {
		t.Errorf("bounds %v, want the first place only", a.Bound[Isolation])
	}
	if s := a.Spread[Isolation]; !math.IsNaN(s[0]) || math.IsNaN(s[1]) {
		t.Errorf("spreads %v, want none where a reading is a bound", s)
	}
}

// TestAveragedDGD: n readings of a DGD of standard uncertainty u are lengths of a vector with three components, each
// off by u. Their mean square is that of the vector and 3 u², of which the mean vector keeps 3 u²/n.
func TestAveragedDGD(t *testing.T) {
	a := read(t, "wavelength [nm],temperature [degC],DGD [ps],u(DGD) [ps]\n"+
		"1550,23,0.5,0.1\n1550,23,0.7,0.1\n1550,23,0.6,0.1\n").Averaged()
	squares := (0.5*0.5 + 0.7*0.7 + 0.6*0.6) / 3
	want := math.Sqrt(squares - 3*0.01 + 3*0.01/3)
	if got := a.DGD[0] * 1e12; math.Abs(got-want) > 1e-9 {
		t.Errorf("DGD %g ps, want %g ps", got, want)
	}
}

// TestCollectColumns: the columns of files that become one are listed once, the first among them.
func TestCollectColumns(t *testing.T) {
	units, err := Collect(tableOf(t, "a.csv", "# unit: 1\n"+head+"1550,-5,30\n"),
		tableOf(t, "b.csv", "# unit: 1\n"+head+"1550,23,40\n"))
	if err != nil {
		t.Fatal(err)
	}
	if got := len(units[0].Columns); got != 3 {
		t.Errorf("%d columns, want wavelength, temperature and isolation once each", got)
	}
}
