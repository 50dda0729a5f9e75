package notebooks

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A validator of another hand, which judges by the open veraPDF rules, finds nothing wrong with any kind of report: by
// ISO 19005-3 at levels U and A, and by ISO 14289-1. The machine that has one names the command.
func TestValidator(t *testing.T) {
	tool := os.Getenv("WEDGEWORK_PDF_VALIDATOR")
	if tool == "" {
		t.Skip("WEDGEWORK_PDF_VALIDATOR names no command that judges PDF files")
	}
	dir := t.TempDir()
	paths := everyReport(t, dir)
	for _, level := range []string{"3u", "3a", "ua1"} {
		out, err := exec.Command(tool, append([]string{level}, paths...)...).CombinedOutput()
		if n := strings.Count(string(out), "compliant=true"); err != nil || n != len(paths) {
			t.Errorf("%s: %v, %d of %d files comply\n%s", level, err, n, len(paths), out)
			continue
		}
		t.Logf("%s: %d files comply\n%s", level, len(paths), strings.ReplaceAll(string(out), dir, ""))
	}
}

// everyReport makes reports of every kind: of the demo units and their lot, of all notebooks, of the changes between
// two records, short ones and long ones, one of what is hard on a page and one with a font added.
func everyReport(t *testing.T, dir string) []string {
	t.Helper()
	var paths []string
	made := reports(t, dir)
	for _, path := range made {
		paths = append(paths, path)
	}
	all, err := filepath.Glob("*.ipynb")
	if err != nil {
		t.Fatal(err)
	}
	for _, nb := range all {
		path := filepath.Join(dir, strings.TrimSuffix(nb, ".ipynb")+".pdf")
		if status, printed := run(t, nil, "report", nb, "--out", path); status == 2 {
			t.Fatalf("%s: exit status 2\n%s", nb, printed)
		}
		paths = append(paths, path)
	}
	changes := filepath.Join(dir, "CHANGES.pdf")
	if status, printed := run(t, nil, "compare", made["0417"], made["0418"], "--out", changes); status == 2 {
		t.Fatalf("compare: exit status 2\n%s", printed)
	}
	paths = append(paths, changes)
	hard, files := adversarialNotebook(t)
	font, added := fontNotebook(t)
	short := notebookOf(t, nil, `report(title="Short", part="P-1", revision="A")`, "1 + 1")
	for name, pdf := range map[string][]byte{
		"long": makeReport(t, longNotebook(t), nil).PDF, "adversarial": makeReport(t, hard, files).PDF,
		"font": makeReport(t, font, nil, added).PDF, "short": makeReport(t, short, nil).PDF,
	} {
		path := filepath.Join(dir, name+".pdf")
		if err := os.WriteFile(path, pdf, 0o600); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	return paths
}
