package regenerate

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// put writes files below a new folder and returns it.
func put(t *testing.T, files map[string]string) string {
	t.Helper()
	folder := t.TempDir()
	for name, text := range files {
		path := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

func TestFind(t *testing.T) {
	folder := put(t, map[string]string{
		"lot-26-11-unit-0417.csv": "", "lot-26-11-unit-0418.csv": "", "lot-26-12-unit-0501.csv": "", "notes.txt": "",
		"26-11/0417.csv": "", "26-11/deep/er/0418.csv": "", ".hidden.csv": "", ".cache/x.csv": "", "a/b.csv/c": "",
		"26-12/26-12-0501.csv": "", "26-12/26-11-0502.csv": "",
	})
	for _, test := range []struct {
		pattern string
		given   Groups
		want    []string // path, then name=value of its groups
	}{
		{"notes.txt", nil, []string{"notes.txt"}},
		{"absent/{x}.csv", nil, nil},
		{"lot-{lot}-unit-{unit}.csv", nil, []string{
			"lot-26-11-unit-0417.csv lot=26-11 unit=0417", "lot-26-11-unit-0418.csv lot=26-11 unit=0418",
			"lot-26-12-unit-0501.csv lot=26-12 unit=0501"}},
		{"lot-{lot}-unit-{unit}.csv", Groups{{"unit", "0418"}},
			[]string{"lot-26-11-unit-0418.csv lot=26-11 unit=0418"}},
		{"lot-*-unit-050?.csv", nil, []string{"lot-26-12-unit-0501.csv"}},
		{"{lot}/{unit}.csv", nil, []string{"26-11/0417.csv lot=26-11 unit=0417",
			"26-12/26-11-0502.csv lot=26-12 unit=26-11-0502", "26-12/26-12-0501.csv lot=26-12 unit=26-12-0501"}},
		{"{lot}/{lot}-{unit}.csv", nil, []string{"26-12/26-12-0501.csv lot=26-12 unit=0501"}},
		{"26-11/**/*.csv", nil, []string{"26-11/0417.csv", "26-11/deep/er/0418.csv"}},
		{"**/{unit}.csv", Groups{{"unit", "0418"}}, []string{"26-11/deep/er/0418.csv unit=0418"}},
		{"*.csv", nil, []string{"lot-26-11-unit-0417.csv", "lot-26-11-unit-0418.csv", "lot-26-12-unit-0501.csv"}},
		{".*.csv", nil, []string{".hidden.csv"}},
		{"a/*", nil, nil}, // a folder is no file
	} {
		p, err := ParsePattern(test.pattern)
		if err != nil {
			t.Fatal(err)
		}
		found := p.Find(folder, test.given)
		var got []string
		for _, m := range found {
			line := m.Path
			for _, g := range p.Groups() {
				value, _ := m.Groups.Get(g)
				line += " " + g + "=" + value
			}
			got = append(got, line)
		}
		if d := cmp.Diff(test.want, got); d != "" {
			t.Errorf("%s with %v (-want +got):\n%s", test.pattern, test.given, d)
		}
	}
}

func TestFindAbsolute(t *testing.T) {
	folder := put(t, map[string]string{"0417.csv": ""})
	p, err := ParsePattern(filepath.Join(folder, "{unit}.csv"))
	if err != nil {
		t.Fatal(err)
	}
	want := []Match{{Path: filepath.ToSlash(filepath.Join(folder, "0417.csv")),
		Groups: Groups{{"unit", "0417"}}}}
	if d := cmp.Diff(want, p.Find("elsewhere", nil)); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

func TestParsePatternRefuses(t *testing.T) {
	for pattern, want := range map[string]string{
		"":            "found nothing",
		"{unit.csv":   "expected a name in braces",
		"{}.csv":      "expected a name in braces",
		"{a b}.csv":   "expected a name in braces",
		"unit}.csv":   "no closing brace",
		"a//b.csv":    "expected a name between two slashes",
		"incoming/":   "after the last",
		"incoming/**": "expected a name after **",
	} {
		if _, err := ParsePattern(pattern); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want an error with %q", pattern, err, want)
		}
	}
}
