package publish

import "testing"

func TestAttachmentsHaveNamesOfTheirOwn(t *testing.T) {
	taken := map[string]bool{}
	for _, c := range []struct{ name, want string }{
		{"a.csv", "a.csv"}, {"a.csv", "a-2.csv"}, {"a.csv", "a-3.csv"}, {"a", "a"}, {"a", "a-2"},
		{"a-2.csv", "a-2-2.csv"},
	} {
		got := free(c.name, taken)
		taken[got] = true
		if got != c.want {
			t.Errorf("free(%q) = %q, want %q", c.name, got, c.want)
		}
	}
}
