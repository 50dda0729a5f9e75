package publish

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
)

// A number is never used twice: not by two reports at once, not after a line was cut short, not where another file of
// the folder bears it.
func TestClaim(t *testing.T) {
	folder := t.TempDir()
	claimed := func(number, content, used string) string {
		t.Helper()
		got, err := claim(folder, number, content, used)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	for _, c := range []struct{ number, content, used, want string }{
		{"A", "1", "", "A"}, {"A", "1", "", "A"}, {"A", "2", "", "A-2"}, {"A", "1", "", "A"}, {"A", "3", "A-3", "A-4"},
		{"B", "1", "B", "B-2"}, {"A-2", "4", "", "A-2-2"},
	} {
		if got := claimed(c.number, c.content, c.used); got != c.want {
			t.Errorf("%v: %s", c, got)
		}
	}
	path := filepath.Join(folder, NumbersName)
	f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString(`{"number":"A-5","cont`); err != nil {
		t.Fatal(err)
	}
	f.Close()
	if got := claimed("A", "5", ""); got != "A-3" {
		t.Errorf("after a line that was cut short: %s", got)
	}
	if got := claimed("A", "5", ""); got != "A-3" {
		t.Errorf("the line behind one that was cut short is lost: %s", got)
	}
	var wait sync.WaitGroup
	var mu sync.Mutex
	var all []string
	for i := range 20 {
		wait.Go(func() {
			got, err := claim(folder, "C", fmt.Sprint(i), "")
			if err != nil {
				t.Error(err)
			}
			mu.Lock()
			defer mu.Unlock()
			all = append(all, got)
		})
	}
	wait.Wait()
	slices.Sort(all)
	if n := len(slices.Compact(all)); n != 20 {
		t.Errorf("%d numbers of 20: %v", n, all)
	}
}
