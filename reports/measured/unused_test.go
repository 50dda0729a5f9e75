package measured

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// TestNotUsed: whatever the file holds is among the figures that are used or in the list, and nothing is left out of it
// for being much.
func TestNotUsed(t *testing.T) {
	var text strings.Builder
	text.WriteString("wavelength [nm],temperature [degC],isolation [dB],isolation mean [dB],ripple,PDL backward " +
		"[dB]\n" +
		"1550,23,40,43,7,\n1551,23,41,44,8,\n")
	for k := range 9 {
		fmt.Fprintf(&text, "# 15%d0 23 41.%d\n", k, k)
	}
	table, err := Read(NewFile("a.csv", []byte(text.String())))
	if err != nil {
		t.Fatal(err)
	}
	all := table.NotUsed([]string{Isolation})
	for _, want := range []string{`the column "isolation mean [dB]", 2 readings`,
		`the column "ripple", which is not known`} {
		if !slices.Contains(all, want) {
			t.Errorf("%q lacks %q", all, want)
		}
	}
	said := strings.Join(all, "; ")
	if strings.Contains(said, "PDL backward") {
		t.Errorf("an empty column is listed: %s", said)
	}
	for _, u := range table.Unused {
		if !strings.Contains(said, fmt.Sprintf("line %d)", u.Line)) && !strings.Contains(said, "lines 9 to 12") {
			t.Errorf("line %d is missing: %s", u.Line, said)
		}
	}
	if len(table.Unused) != 9 {
		t.Errorf("%d comments are told of, want 9: %s", len(table.Unused), said)
	}
	if got := ranges([]int{9, 3, 4, 5, 7, 8}); got != "3 to 5, 7 to 9" {
		t.Errorf("ranges: %s", got)
	}
}
