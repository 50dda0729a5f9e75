// Package golden compares what tests make with files that a person has read and kept. It is for tests only: it adds the
// flag -update, which writes the files anew, to the test programs that use it.
package golden

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// Compare holds got against the file of that name in the package's testdata. A missing file fails.
func Compare(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (go test -update writes it)", err)
	}
	if diff := cmp.Diff(got, string(want)); diff != "" {
		t.Errorf("%s (-got +want):\n%s", name, diff)
	}
}
