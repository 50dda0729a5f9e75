package measured

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestSplitByUnit(t *testing.T) {
	all := read(t, "# lot: 26-11\nwavelength [nm],temperature [degC],isolation [dB],unit,u(isolation) [dB],note\n"+
		"1550,23,40,0417,0.1,a\n1550,23,41,0418,0.2,b\n1551,23,42,0417,0.3,c\n")
	if got := all.Unit(); got != "" {
		t.Errorf("Unit() of a lot = %q, want none", got)
	}
	parts := all.Split()
	if len(parts) != 2 {
		t.Fatalf("got %d parts, want 2", len(parts))
	}
	first := parts[0]
	if got, want := first.Unit()+first.Lot(), "041726-11"; got != want {
		t.Errorf("unit and lot = %q, want %q", got, want)
	}
	if diff := cmp.Diff(first.Isolation, []float64{40, 42}); diff != "" {
		t.Errorf("isolation, -got +want:\n%s", diff)
	}
	if diff := cmp.Diff(first.U[Isolation], []float64{0.1, 0.3}); diff != "" {
		t.Errorf("u(isolation), -got +want:\n%s", diff)
	}
	if diff := cmp.Diff(first.Line, []int{3, 5}); diff != "" {
		t.Errorf("lines, -got +want:\n%s", diff)
	}
	if diff := cmp.Diff(first.Columns[5].Fields, []string{"a", "c"}); diff != "" {
		t.Errorf("unknown column, -got +want:\n%s", diff)
	}
	if got := all.Isolation; len(got) != 3 {
		t.Errorf("the whole has %d readings after the split, want 3", len(got))
	}
}

func TestSplitOfOneUnit(t *testing.T) {
	one := read(t, canonical)
	if got := one.Split(); len(got) != 1 || got[0] != one {
		t.Errorf("got %v, want the table itself", got)
	}
}
