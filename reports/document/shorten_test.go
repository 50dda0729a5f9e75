package document

import (
	"fmt"
	"strings"
	"testing"
)

func TestShorten(t *testing.T) {
	long := Table{Columns: []Column{{Head: "i"}, {Head: "square"}}, Note: "k = 2."}
	for i := range 400 {
		long.Rows = append(long.Rows, []string{fmt.Sprint(i), fmt.Sprint(i * i)})
	}
	short := long
	short.Rows = long.Rows[:mostShown]
	blocks := []Block{Plain("before"), long, short}
	got := Shorten(blocks)
	cut := got[1].(Table)
	if n := len(cut.Rows); n != firstRows+1+lastRows || cut.Rows[29][0] != "29" || cut.Rows[30][1] != "\u2026" ||
		cut.Rows[31][0] != "380" || cut.Rows[n-1][0] != "399" {
		t.Errorf("%d rows are left: %v", n, cut.Rows)
	}
	if cut.Note != "k = 2. Rows 31 to 380 of 400 are not shown here." {
		t.Errorf("the note is %q", cut.Note)
	}
	if len(got[2].(Table).Rows) != mostShown || len(blocks[1].(Table).Rows) != 400 ||
		blocks[1].(Table).Note != "k = 2." {
		t.Error("a short table, or what was given, has changed")
	}
	for mime, form := range Bundle(blocks) {
		if s := form.(string); !strings.Contains(s, "of 400 are not shown") || strings.Contains(s, "40000") {
			t.Errorf("%s is not shortened, or does not say so", mime)
		}
	}
}
