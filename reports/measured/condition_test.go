package measured

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// tested is a file of two units before and after a test, with the same wavelengths in both conditions.
func tested() string {
	var b strings.Builder
	b.WriteString("# temperature: 23 degC\nunit,condition,wavelength [nm],isolation [dB]\n")
	for _, condition := range []string{"before", "after damp heat"} {
		for _, unit := range []string{"7", "8"} {
			for i := range 5 {
				lower := 0
				if condition != "before" {
					lower = 1
				}
				fmt.Fprintf(&b, "%s,%s,%d,%d\n", unit, condition, 1540+5*i, 34+i-lower)
			}
		}
	}
	return b.String()
}

// Readings before and after a test are told apart by a column, by a line at the top, or by a file each, and are never
// taken as repeats of each other.
func TestCondition(t *testing.T) {
	read := func(text, condition string) (*Table, error) {
		return ReadPart(t.Context(), NewFile("sequence.csv", []byte(text)), Part{Condition: condition})
	}
	least := func(t *Table) float64 { return t.Isolation[0] }
	for condition, want := range map[string]float64{"before": 34, "after damp heat": 33, "After  Damp Heat": 33} {
		table, err := read(tested(), condition)
		if err != nil {
			t.Fatal(err)
		}
		units := table.Split()
		if table.Rows() != 10 || len(units) != 2 || least(units[1]) != want || table.Repeat != nil ||
			!strings.EqualFold(strings.Join(strings.Fields(condition), " "), table.Condition) {
			t.Errorf("%s: %d rows of %d units, isolation %g, repeats %v, condition %q", condition, table.Rows(),
				len(units), least(units[1]), table.Repeat, table.Condition)
		}
		if said, _ := table.Value(ConditionName); said != table.Condition {
			t.Errorf("%s: the metadata say %q", condition, said)
		}
		if table.Line[0] != map[string]int{"before": 3}[table.Condition] && table.Line[0] != 13 {
			t.Errorf("%s: the first row is on line %d", condition, table.Line[0])
		}
	}
	first, err := read(tested(), FirstCondition)
	if err != nil || first.Rows() != 10 || len(first.Split()) != 2 {
		t.Errorf("the first condition of each unit: %v, %v", first, err)
	}
	one := "# condition: after vibration\n# temperature: 23 degC\nwavelength [nm],isolation [dB]\n1550,40\n1560,35\n"
	for _, condition := range []string{"", "after vibration", "AFTER VIBRATION"} {
		if table, err := read(one, condition); err != nil || table.Condition != "after vibration" {
			t.Errorf("a line at the top, asked for %q: %v", condition, err)
		}
	}
	if plain, err := read(strings.Replace(one, "# condition: after vibration\n", "", 1), ""); err != nil ||
		plain.Condition != "" {
		t.Errorf("a file without a condition: %v", err)
	}
}

// What could mix conditions up is refused.
func TestConditionRefused(t *testing.T) {
	mixed := tested()
	for _, c := range []struct {
		what, text, condition, want string
		other                       bool
	}{
		{"two, and none asked for", mixed, "", `found the conditions "before", "after damp heat", expected one`, false},
		{"one that is not there", mixed, "during", `expected the condition "during"`, true},
		{"another at the top", "# condition: before\n" + mixed, "after vibration",
			`expected the condition "after vibration"`, true},
		{"a row without", strings.Replace(mixed, "8,before,1550", "8,,1550", 1), "before", "line 10, column 2 (condition): " +
			"found an empty field", false},
		{"other capitals", strings.Replace(mixed, "8,before", "8,Before", 1), "before", `found "Before", expected the ` +
			`condition as it is written elsewhere`, false},
		{"spaces", strings.Replace(mixed, "8,after damp", "8,after  damp", 1), "before", "in more than case", false},
		{"a dash for a hyphen", strings.ReplaceAll(strings.Replace(mixed, "7,before", "7,pre–test", 1), "before",
			"pre-test"), "pre-test", "look-alike", false},
		{"none at all", "# temperature: 23 degC\nwavelength [nm],isolation [dB]\n1550,40\n1560,35\n", "before",
			"found no condition", false},
		{"below the heads", "# temperature: 23 degC\nwavelength [nm],isolation [dB]\n1550,40\n# condition: after\n1550,39\n",
			"", "below the heads", false},
	} {
		_, err := ReadPart(t.Context(), NewFile("sequence.csv", []byte(c.text)), Part{Condition: c.condition})
		var refusal *Refusal
		if !errors.As(err, &refusal) || !strings.Contains(err.Error(), c.want) || refusal.OtherCondition != c.other {
			t.Errorf("%s: got %v, want a refusal with %q", c.what, err, c.want)
		}
	}
	read := func(condition string) *Table {
		table, err := ReadPart(t.Context(), NewFile(condition+".csv", []byte(fmt.Sprintf("# unit: 7\n# condition: %s\n"+
			"# temperature: 23 degC\nwavelength [nm],isolation [dB]\n1550,40\n1560,35\n", condition))), Part{})
		if err != nil {
			t.Fatal(err)
		}
		return table
	}
	if _, err := Collect(read("before"), read("after")); err == nil || !strings.Contains(err.Error(), "condition after") {
		t.Errorf("files of one unit in two conditions: got %v", err)
	}
}
