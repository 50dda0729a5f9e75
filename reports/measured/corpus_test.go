package measured

import (
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// corpus is the folder of malformed and odd files, all invented: each is read or refused, and the golden file
// beside it says how. Workbooks that are missing are written by -update (workbooks_test.go).
const corpus = "testdata/corpus"

func TestCorpus(t *testing.T) {
	if *update {
		makeWorkbooks(t)
	}
	all, err := filepath.Glob(corpus + "/*")
	if err != nil {
		t.Fatal(err)
	}
	files := 0
	for _, path := range all {
		if strings.HasSuffix(path, ".golden") {
			if _, err := os.Stat(strings.TrimSuffix(path, ".golden")); err != nil {
				t.Errorf("%s belongs to no file", path)
			}
			continue
		}
		files++
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			got := account(NewFile(filepath.Base(path), data))
			golden := path + ".golden"
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
	if files < 60 {
		t.Errorf("the corpus has %d files, want at least 60", files)
	}
}

// account writes what became of a file: the refusal, or the table with its units.
func account(f File) string {
	t, err := Read(f)
	if err != nil {
		var refusal *Refusal
		if !errors.As(err, &refusal) {
			return fmt.Sprintf("not a refusal: %T %v\n", err, err)
		}
		return "refused: " + err.Error() + "\n"
	}
	var b strings.Builder
	fmt.Fprintf(&b, "read: %d rows, unit %q, lot %q\n", t.Rows(), t.Unit(), t.Lot())
	if t.Sheet != "" {
		fmt.Fprintf(&b, "sheet: %s\n", t.Sheet)
	}
	for _, kv := range t.Meta {
		fmt.Fprintf(&b, "metadata: %s = %s (%d)\n", kv.Key, kv.Value, kv.Line)
	}
	for _, r := range t.Remarks {
		fmt.Fprintf(&b, "remark: %s (%d)\n", r.Text, r.Line)
	}
	for _, n := range t.Notes() {
		fmt.Fprintf(&b, "note: %s\n", n)
	}
	names, columns := t.readings()
	for i := range t.Rows() {
		fmt.Fprintf(&b, "%s: %s nm", placeOf(t.Sheet, t.Line[i], 0), sixth(float64(t.Wavelength[i])*1e9))
		if t.Temperature != nil {
			fmt.Fprintf(&b, ", %s degC", sixth(t.Temperature[i].Celsius()))
		}
		for k, name := range names {
			v, mark, scale := columns[k][i], "", 1.0
			if math.IsNaN(v) {
				continue
			}
			if name == DGD || name == BackwardDGD {
				scale = 1e12
			}
			v *= scale
			if t.AtLeast(name, i) {
				mark = " bound"
			}
			fmt.Fprintf(&b, ", %s %s%s", name, sixth(v), mark)
			if u := t.U[name]; u != nil && u[i] == u[i] {
				fmt.Fprintf(&b, " (u %s)", sixth(u[i]*scale))
			}
		}
		if t.Repeat != nil {
			fmt.Fprintf(&b, ", repeat %d", t.Repeat[i])
		}
		if t.Units != nil {
			fmt.Fprintf(&b, ", unit %s", t.Units[i])
		}
		b.WriteString("\n")
	}
	return b.String()
}

// sixth prints a number to six decimals at most: what differs by rounding alone prints alike.
func sixth(v float64) string {
	s := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.6f", v), "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}
