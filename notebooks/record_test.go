package notebooks

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"wedgework/reports/compose"
	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/require"
)

// reports makes the reports of the demo units and of the whole lot, and returns their PDF files.
func reports(t *testing.T, dir string) map[string]string {
	t.Helper()
	made := map[string]string{}
	lot := []string{}
	write := func(name string, data ...string) {
		made[name] = filepath.Join(dir, name+".pdf")
		args := append([]string{"report", "verify-single-stage.ipynb", "--issued", "2026-11-25", "--out", made[name]},
			data...)
		if status, printed := run(t, nil, args...); status == 2 {
			t.Fatalf("%s: exit status 2\n%s", name, printed)
		}
	}
	for _, unit := range []string{"0417", "0418", "0419"} {
		data := []string{"--data", "sweep=../testdata/demo/lot-26-11-unit-" + unit + ".csv"}
		write(unit, data...)
		lot = append(lot, data...)
	}
	write("lot", lot...)
	return made
}

// validates holds a record against the published schema, with a validator that shares nothing with this project.
func validates(t *testing.T, data []byte) error {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(record.JSONSchema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("record", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("record")
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return schema.Validate(v)
}

// The reports hold before programs that share nothing with ours: a validator of JSON Schema, qpdf, and poppler's.
func TestReportsBeforeOtherPrograms(t *testing.T) {
	require.Thorough(t, "four reports before six programs take fifteen seconds")
	dir := t.TempDir()
	made := reports(t, dir)
	t.Run("schema", func(t *testing.T) {
		for name, path := range made {
			data, err := os.ReadFile(strings.TrimSuffix(path, ".pdf") + ".json")
			if err != nil {
				t.Fatal(err)
			}
			if err := validates(t, data); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		if status, printed := run(t, nil, "schema"); status != 0 || printed != string(record.JSONSchema()) {
			t.Errorf("wedgework schema: exit status %d, and not the schema", status)
		}
	})
	t.Run("qpdf", func(t *testing.T) {
		tool := require.Tool(t, "qpdf")
		for name, path := range made {
			if out, err := exec.Command(tool, "--check", path).CombinedOutput(); err != nil ||
				strings.Contains(string(out), "WARNING") {
				t.Errorf("%s: %v\n%s", name, err, out)
			}
		}
	})
	t.Run("every page belongs", func(t *testing.T) {
		for name, path := range made {
			everyPageBelongs(t, name, path)
		}
		changes := filepath.Join(dir, "CHANGES.pdf")
		if status, printed := run(t, nil, "compare", made["0417"], made["0418"], "--out", changes); status != 1 {
			t.Fatalf("compare: exit status %d\n%s", status, printed)
		}
		everyChangeBelongs(t, "unit 0418", changes)
	})
	t.Run("alternative texts", func(t *testing.T) {
		for name, path := range made {
			alternativeTexts(t, name, path)
		}
	})
	t.Run("pdffonts", func(t *testing.T) {
		tool := require.Tool(t, "pdffonts")
		for name, path := range made {
			out, err := exec.Command(tool, path).Output()
			if err != nil {
				t.Fatal(err)
			}
			rows := strings.Split(strings.TrimSpace(string(out)), "\n")
			for _, row := range rows[2:] {
				if !regexp.MustCompile(`^[A-Z]{6}\+.* yes yes yes `).MatchString(row) {
					t.Errorf("%s: not an embedded subset with Unicode: %s", name, row)
				}
			}
			if len(rows) < 4 {
				t.Errorf("%s: pdffonts lists %d faces", name, len(rows)-2)
			}
		}
	})
	t.Run("pdfdetach", func(t *testing.T) {
		tool := require.Tool(t, "pdfdetach")
		source := func(name string) string { return filepath.Join("..", "testdata", "demo", name) }
		for name, path := range made {
			into := t.TempDir()
			if out, err := exec.Command(tool, "-saveall", "-o", into, path).CombinedOutput(); err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			stem := strings.TrimSuffix(path, ".pdf")
			want := map[string]string{
				"record.json":                        stem + ".json",
				"executed-verify-single-stage.ipynb": stem + ".ipynb",
				"source-verify-single-stage.ipynb":   "verify-single-stage.ipynb",
				"constants-YVO4.json":                "../optics/material/data/yvo4.json",
			}
			for _, unit := range []string{"0417", "0418", "0419"} {
				if name == unit || name == "lot" {
					want["lot-26-11-unit-"+unit+".csv"] = source("lot-26-11-unit-" + unit + ".csv")
				}
			}
			want["measurement.xml"] = measurementOf(t, stem+".json")
			got, err := os.ReadDir(into)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range got {
				if _, ok := want[f.Name()]; !ok {
					t.Errorf("%s carries %s too", name, f.Name())
				}
			}
			for attached, original := range want {
				a, errA := os.ReadFile(filepath.Join(into, attached))
				b, errB := os.ReadFile(original)
				if errA != nil || errB != nil || !bytes.Equal(a, b) {
					t.Errorf("%s: %s is not %s to the bit (%v, %v)", name, attached, original, errA, errB)
				}
			}
		}
	})
	// The pages themselves name what was computed from what: an auditor may hold no more than a print.
	t.Run("provenance", func(t *testing.T) {
		for name, of := range map[string]string{"0418": "../testdata/demo/lot-26-11-unit-0418.csv",
			"lot": "../testdata/demo/lot-26-11-unit-0419.csv"} {
			text, err := exec.Command(require.Tool(t, "pdftotext"), made[name], "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			for _, file := range []string{of, "verify-single-stage.ipynb", "../optics/material/data/yvo4.json"} {
				data, err := os.ReadFile(file)
				if err != nil {
					t.Fatal(err)
				}
				if sum := fmt.Sprintf("%x", sha256.Sum256(data)); !strings.Contains(string(text), sum) {
					t.Errorf("%s: no page prints %s, the SHA-256 of %s", name, sum, filepath.Base(file))
				}
			}
		}
	})
	t.Run("verdicts and captions", func(t *testing.T) {
		for name, path := range made {
			sweeps := []string{"../testdata/demo/lot-26-11-unit-" + name + ".csv"}
			if name == "lot" {
				sweeps = []string{"../testdata/demo/lot-26-11-unit-0417.csv",
					"../testdata/demo/lot-26-11-unit-0418.csv", "../testdata/demo/lot-26-11-unit-0419.csv"}
			}
			doc, _ := compose.Document(rerunOf(t, "verify-single-stage.ipynb", sweeps...))
			var want []string
			for _, v := range doc.Verdicts {
				want = append(want, v.Sentence)
			}
			figures := 0
			for _, s := range doc.Sections {
				for _, b := range s.Blocks {
					switch b := b.(type) {
					case document.Verdict:
						want = append(want, b.Sentence)
					case document.Figure:
						want, figures = append(want, b.Caption), figures+1
					case document.Table:
						want = append(want, b.Caption)
					}
				}
			}
			if figures < 5 {
				t.Errorf("%s: the report has %d figures", name, figures)
			}
			text, err := exec.Command(require.Tool(t, "pdftotext"), path, "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			// Lines are broken where they must be: white space counts for nothing.
			all := strings.Join(strings.Fields(string(text)), "")
			for _, w := range want {
				if !strings.Contains(all, strings.Join(strings.Fields(w), "")) {
					t.Errorf("%s: no page has %q", name, w)
				}
			}
		}
	})
	// Who signs opens no second page.
	t.Run("first page", func(t *testing.T) {
		for name, path := range made {
			text, err := exec.Command(require.Tool(t, "pdftotext"), "-l", "1", path, "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range []string{"Model agreement", "Limit conformity", "Data quality", "Guard band",
				"Approved"} {
				if !strings.Contains(string(text), s) {
					t.Errorf("%s: the first page lacks %q", name, s)
				}
			}
		}
	})
	t.Run("reproduce", func(t *testing.T) {
		for name, path := range made {
			if status, printed := run(t, nil, "reproduce", path); status != 0 || !strings.Contains(printed,
				": identical: ") {
				t.Errorf("%s: exit status %d\n%s", name, status, printed)
			}
		}
	})
}

// The bytes of a report do not tell where, when, on how many processors, in which time zone and language it was made.
func TestSameBytesElsewhere(t *testing.T) {
	dir := t.TempDir()
	first := readReport(t, filepath.Join(dir, "first"), ".", program(t), nil)
	// Another folder, deeper, with a name that could be mistaken.
	other := filepath.Join(dir, "Ünit 7", "notebooks")
	copyFolder(t, other, ".", "*.ipynb")
	copyFolder(t, filepath.Join(other, "data"), "data", "*.csv")
	for _, c := range []struct {
		name, folder string
		env          []string
	}{
		{"one processor", ".", []string{"GOMAXPROCS=1"}},
		{"two processors", ".", []string{"GOMAXPROCS=2"}},
		{"another time zone and language", ".", []string{"TZ=Pacific/Auckland", "LC_ALL=tr_TR.UTF-8",
			"LANG=tr_TR.UTF-8"}},
		{"another folder and home", other, []string{"HOME=" + dir, "USER=somebody", "HOSTNAME=elsewhere",
			"TMPDIR=" + dir}},
	} {
		if again := readReport(t, filepath.Join(dir, c.name), c.folder, program(t), c.env); !bytes.Equal(first, again) {
			t.Errorf("%s: other bytes", c.name)
		}
	}
}

// Two checkouts in different folders build programs that make the same bytes. Building one anew takes a minute or two.
func TestSameBytesFromAnotherCheckout(t *testing.T) {
	if os.Getenv("WEDGEWORK_SOAK") == "" {
		t.Skip("builds the program a second time: WEDGEWORK_SOAK=1 asks for it")
	}
	dir := t.TempDir()
	checkout := filepath.Join(dir, "another", "checkout")
	if out, err := exec.Command("git", "clone", "-q", "..", checkout).CombinedOutput(); err != nil {
		t.Skipf("no checkout of its own can be made here: %v\n%s", err, out)
	}
	build := exec.Command("go", "build", "-o", filepath.Join(dir, "wedgework"), "./cmd/wedgework")
	build.Dir = checkout
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	first := readReport(t, filepath.Join(dir, "first"), ".", program(t), nil)
	again := readReport(t, filepath.Join(dir, "again"), filepath.Join(checkout, "notebooks"),
		filepath.Join(dir, "wedgework"), nil)
	if !bytes.Equal(first, again) {
		t.Error("other bytes")
	}
}

// readReport makes the report of the notebook's own unit and returns its three files one after the other.
func readReport(t *testing.T, out, folder, program string, env []string) []byte {
	t.Helper()
	if err := os.MkdirAll(out, 0o755); err != nil {
		t.Fatal(err)
	}
	c := exec.Command(program, "report", "verify-single-stage.ipynb", "--out", filepath.Join(out, "r.pdf"))
	c.Dir, c.Env = folder, append(os.Environ(), env...)
	if printed, err := c.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, printed)
	}
	var all []byte
	for _, ext := range []string{".pdf", ".json", ".ipynb"} {
		data, err := os.ReadFile(filepath.Join(out, "r"+ext))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, data...)
	}
	return all
}

func copyFolder(t *testing.T, to, from, pattern string) {
	t.Helper()
	if err := os.MkdirAll(to, 0o755); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(from, pattern))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s/%s: %v, %v", from, pattern, files, err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err == nil {
			err = os.WriteFile(filepath.Join(to, filepath.Base(f)), data, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}
