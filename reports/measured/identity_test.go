package measured

import (
	"strings"
	"testing"
)

// TestNamesOfFiles: what a file name says of its unit, and whether the unit of the file contradicts it.
func TestNamesOfFiles(t *testing.T) {
	for _, c := range []struct{ name, unit, said string }{
		{"unit-0777.csv", "0501", "0777"},
		{"unit_0777.csv", "0501", "0777"},
		{"Unit 0777 23C.csv", "0501", "0777"},
		{"unit0777.csv", "0501", "0777"},
		{"SN0777_23C.csv", "0501", "0777"},
		{"serial-no-0777.csv", "0501", "0777"},
		{"S_N 0777.csv", "0501", ""}, // not told from any other letters
		{"lot-26-11-unit-0777.csv", "0501", "0777"},
		{"unit-A17.csv", "A18", "a17"},
		{"unit-A-17.csv", "A-18", "a-17"},
		{"Seriennummer-0777.csv", "0501", "0777"},
		{"unit-0501.csv", "0501", ""},
		{"unit-501.csv", "0501", ""},
		{"unit-0501-after-rework.csv", "0501", ""},
		{"unit-A-17.csv", "A17", ""},
		{"unit-26-11-0417.csv", "26-11-0417", ""},
		{"unit-0417.csv", "26-11-0417", ""},
		{"unit-1550nm.csv", "0501", ""},
		{"unit-23-degC.csv", "0501", ""},
		{"unit-2026-11-18.csv", "0501", ""},
		{"unit-after-3-days.csv", "0501", ""},
		{"units.csv", "0501", ""},
		{"sweep-0777.csv", "0501", ""},
		{"0777.csv", "0501", ""}, // instruments number their files
	} {
		if got := contradiction(c.name, []string{c.unit}); got != c.said {
			t.Errorf("%s with unit %s: got %q, want %q", c.name, c.unit, got, c.said)
		}
	}
}

// TestUnitOfPlan: the {unit} by which a plan found a file and named its report is that of the file, or the file is
// refused.
func TestUnitOfPlan(t *testing.T) {
	text := "# unit: 0501\n" + head + "1550,23,40\n"
	for _, c := range []struct{ named, want string }{
		{"0501", ""}, {"501", ""}, {"", ""}, {"0777",
			"0777.csv: line 1 (# unit): found unit 0501, expected unit 0777, as the plan names it by its file"},
	} {
		f := NewFile(c.named+".csv", []byte(text))
		f.Unit = c.named
		_, err := Read(f)
		if c.want == "" && err != nil || c.want != "" && (err == nil || err.Error() != c.want) {
			t.Errorf("{unit} %s: got %v, want %s", c.named, err, c.want)
		}
	}
	all := NewFile("all.csv", []byte("unit,wavelength [nm],temperature [degC],isolation "+
		"[dB]\n1,1550,23,40\n2,1550,23,40\n3,1550,23,40\n4,1550,23,40\n5,1550,23,40\n"))
	all.Unit = "7"
	if _, err := Read(all); err == nil || !strings.Contains(err.Error(),
		"found unit 1, 2, 3 and 2 more, expected unit 7") {
		t.Errorf("got %v", err)
	}
}
