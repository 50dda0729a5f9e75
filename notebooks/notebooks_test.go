// Package notebooks holds worked examples that are also the guide; its tests run every one of them and every
// command line that the README promises.
package notebooks

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/kernel/session"
	"wedgework/kernel/vocab"
	"wedgework/reports/compose"
	"wedgework/reports/document"
	"wedgework/reports/html"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
	// The tests build the command themselves, and only an import tells go test that a change of what it is made of
	// makes a stored result stale.
	"wedgework/reports/pdf"
	"wedgework/reports/record"
	"wedgework/reports/recording"
	"wedgework/reports/require"
	"wedgework/reports/rerun"
)

var update = flag.Bool("update", false, "rewrite the golden files from what the program prints now")

// built is the folder of the command; see program.
var built string

// program builds the command once, and TestMain removes it.
func program(t *testing.T) string {
	t.Helper()
	if built == "" {
		dir, err := os.MkdirTemp("", "wedgework-notebooks")
		if err != nil {
			t.Fatal(err)
		}
		built = dir
		if out, err := exec.Command("go", "build", "-o", filepath.Join(dir, "wedgework"),
			"wedgework/cmd/wedgework").CombinedOutput(); err != nil {
			t.Fatalf("build: %v\n%s", err, out)
		}
		visitSources(t)
	}
	return filepath.Join(built, "wedgework")
}

// visitSources opens every folder of the sources: go test keeps a result for as long as what the test opened is as it
// was, and does not know what the program was built from.
func visitSources(t *testing.T) {
	t.Helper()
	err := filepath.WalkDir("..", func(path string, d os.DirEntry, err error) error {
		if err == nil && d.IsDir() && d.Name() == ".git" {
			return filepath.SkipDir
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestMain(m *testing.M) {
	status := m.Run()
	if built != "" {
		os.RemoveAll(built)
	}
	os.Exit(status)
}

// run runs the command and returns its exit status and all it printed.
func run(t *testing.T, env []string, args ...string) (status int, printed string) {
	t.Helper()
	c := exec.Command(program(t), args...)
	c.Env = append(os.Environ(), env...)
	var out bytes.Buffer
	c.Stdout, c.Stderr = &out, &out
	if err := c.Run(); err != nil {
		e, ok := err.(*exec.ExitError)
		if !ok {
			t.Fatal(err)
		}
		status = e.ExitCode()
	}
	return status, out.String()
}

// Every notebook runs on its own default inputs.
func TestEveryNotebookRuns(t *testing.T) {
	all, err := filepath.Glob("*.ipynb")
	if err != nil || len(all) == 0 {
		t.Fatalf("notebooks: %v, %v", all, err)
	}
	for _, nb := range all {
		t.Run(nb, func(t *testing.T) {
			if nb == "design-review.ipynb" {
				require.Thorough(t, "the yields of its designs take eight seconds")
			}
			out := filepath.Join(t.TempDir(), "report.pdf")
			if status, printed := run(t, nil, "report", nb, "--out", out); status == 2 {
				t.Errorf("exit status 2\n%s", printed)
			}
		})
	}
}

// The three demo units are told apart by cause. What was planted is in testdata/demo/generate.
func TestDemoUnits(t *testing.T) {
	for _, c := range []struct {
		unit    string
		status  int
		verdict [3]string // model agreement, limit conformity, data quality
		cause   string
		planted float64
		within  float64
	}{
		{"0417", 0, [3]string{"pass", "pass", "pass"}, "", 0, 0},
		{"0418", 1, [3]string{"fail", "pass", "pass"}, "rotator1.angle", 45 - 0.60, 0.04},
		{"0419", 1, [3]string{"fail", "fail", "pass"}, "rotator1.extinction", 30, 0.2},
	} {
		t.Run(c.unit, func(t *testing.T) {
			dir := t.TempDir()
			sweep := "sweep=../testdata/demo/lot-26-11-unit-" + c.unit + ".csv"
			status, printed := run(t, nil, "report", "verify-single-stage.ipynb", "--data", sweep, "--out",
				filepath.Join(dir, "a.pdf"))
			if status != c.status {
				t.Fatalf("exit status %d, want %d\n%s", status, c.status, printed)
			}
			data, err := os.ReadFile(filepath.Join(dir, "a.json"))
			if err != nil {
				t.Fatal(err)
			}
			r, err := record.Read(data)
			if err != nil {
				t.Fatal(err)
			}
			u := r.Units[0]
			for i, v := range u.Verdicts {
				if v.Outcome != c.verdict[i] {
					t.Errorf("%s: %s, want %s (%s)", v.Subject, v.Outcome, c.verdict[i], v.Sentence)
				}
			}
			if got := strings.Join(u.Diagnosis.Causes, ", "); got != c.cause {
				t.Errorf("causes %q, want %q", got, c.cause)
			}
			for _, f := range u.Diagnosis.Fitted {
				if f.Name == c.cause && (f.Value.Float() < c.planted-c.within || f.Value.Float() > c.planted+c.within) {
					t.Errorf("%s = %s %s, planted %g", f.Name, f.Value, f.Unit, c.planted)
				}
			}
			sameNumbers(t, u)
			sameMeasurements(t, r)
			golden(t, c.unit+".txt", []byte(printed+"\n"+reportText(t, "verify-single-stage.ipynb",
				strings.TrimPrefix(sweep, "sweep="))))

			if c.unit == "0418" { // nothing of a report is missing in that of a unit whose model fails
				t.Run("pages", func(t *testing.T) {
					path := filepath.Join(dir, "a.pdf")
					require.Pages(t, path, "testdata/pages/0418", *update, everyPage(t, path)...)
				})
			}

			page, err := os.ReadFile(filepath.Join(dir, "a.html"))
			if err != nil || len(page) > mostScreen {
				t.Errorf("the page for a screen has %d bytes (%v), want at most %g", len(page), err, mostScreen)
			}
			cleanScreen(t, page)

			// The same bytes again, and on one core.
			run(t, []string{"GOMAXPROCS=1", "TZ=Pacific/Auckland", "LC_ALL=C"}, "report", "verify-single-stage.ipynb",
				"--data", sweep, "--out", filepath.Join(dir, "b.pdf"))
			for _, ext := range []string{".pdf", ".json", ".ipynb", ".html"} {
				a, errA := os.ReadFile(filepath.Join(dir, "a"+ext))
				b, errB := os.ReadFile(filepath.Join(dir, "b"+ext))
				if errA != nil || errB != nil || !bytes.Equal(a, b) {
					t.Errorf("%s: two runs differ (%v, %v)", ext, errA, errB)
				}
			}
		})
	}
}

// everyPage numbers the pages of a report.
func everyPage(t *testing.T, path string) []int {
	t.Helper()
	out, err := exec.Command(require.Tool(t, "pdfinfo"), path).Output()
	if err != nil {
		t.Fatal(err)
	}
	_, after, _ := strings.Cut(string(out), "Pages:")
	n, err := strconv.Atoi(strings.Fields(after)[0])
	if err != nil {
		t.Fatal(err)
	}
	all := make([]int, n)
	for i := range all {
		all[i] = i + 1
	}
	return all
}

// A lot of twelve units, of which every one passes, shows what no unit does: a film that is ground thinner from one to
// the next, and one of another wafer. What was planted is in testdata/demo/generate.
func TestLot(t *testing.T) {
	files, err := filepath.Glob("../testdata/demo/lot-26-12-*.csv")
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "lot.pdf")
	args := []string{"report", "verify-single-stage.ipynb", "--out", out}
	for _, f := range files {
		args = append(args, "--data", "sweep="+f)
	}
	// All meet their limits; the film of 0508 depolarizes more than its tolerance allows.
	if status, printed := run(t, nil, args...); status != 1 || !strings.Contains(printed,
		"0508: model agreement: fail") {
		t.Fatalf("exit status %d, want 1\n%s", status, printed)
	}
	page, err := os.ReadFile(strings.TrimSuffix(out, "pdf") + "html")
	if err != nil || len(page) > mostScreen {
		t.Errorf("the page for a screen has %d bytes (%v), want at most %g", len(page), err, mostScreen)
	}
	cleanScreen(t, page)
	data, err := os.ReadFile(strings.TrimSuffix(out, "pdf") + "json")
	if err != nil {
		t.Fatal(err)
	}
	if err := validates(t, data); err != nil {
		t.Errorf("the record of a lot: %v", err)
	}
	for _, c := range []struct{ name, from, to string }{
		{"a kind of characteristic that is none", `"kind": "limit"`, `"kind": "wish"`},
		{"a tolerance factor as text", `"k": 2.736`, `"k": "2.736"`},
		{"a trend without its judgement", `"significant": true`, `"significance": true`},
		{"a verdict that is none", "\"verdicts\": [\n            \"pass\"", "\"verdicts\": [\n            \"good\""},
	} {
		broken := bytes.ReplaceAll(data, []byte(c.from), []byte(c.to))
		if bytes.Equal(broken, data) {
			t.Errorf("%s: the record holds no %s", c.name, c.from)
		} else if validates(t, broken) == nil {
			t.Errorf("%s: the schema lets it pass", c.name)
		}
	}
	pdf, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	pages, _ := pageTexts(t, "lot", pdf)
	if len(pages) > 34 { // 30, and what the unit that does not pass has of its own
		t.Errorf("the report of twelve units has %d pages, and a change board reads 34", len(pages))
	}
	for _, s := range []string{"Model agreement", "All 12 units pass.",
		"Limits, and the unit with the smallest margin to each", "0512", "Approved"} {
		if !strings.Contains(pages[0], s) {
			t.Errorf("the first page, which is signed, lacks %q:\n%s", s, pages[0])
		}
	}
	r, err := record.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Lots) != 1 || len(r.Lots[0].Units) != 12 {
		t.Fatalf("%d lots, want one of 12 units", len(r.Lots))
	}
	l := r.Lots[0]
	find := func(name string) record.Characteristic {
		i := slices.IndexFunc(l.Characteristics, func(c record.Characteristic) bool { return c.Name == name })
		if i < 0 {
			t.Fatalf("the lot has no %s", name)
		}
		return l.Characteristics[i]
	}
	angle := find("rotator1.angle")
	if s, u := angle.Trend.Slope.Float(), angle.Trend.Uncertainty.Float(); !angle.Trend.Significant || s-u > -0.024 ||
		s+u < -0.024 {
		t.Errorf("rotator1.angle moves by %g ± %g deg from unit to unit, planted -0.024", s, u)
	}
	if s := strings.Join(find("rotator1.extinction").Chart.Signals, "; "); !strings.Contains(s,
		"beyond a control limit: 0508 (rule 1)") {
		t.Errorf("signals of rotator1.extinction: %q, planted unit 0508", s)
	}
	if trend := find("maximum insertion loss").Trend; trend.Significant {
		t.Errorf("a trend of the insertion loss: %+v, none planted", trend)
	}
	for _, c := range l.Characteristics {
		// Over all temperatures the worst corner moves with the film: nothing is shown for units to come.
		want := map[bool]string{true: "undecided", false: "pass"}[strings.Contains(c.At, "70 °C")]
		if c.Kind == "limit" && c.Keeps != want {
			t.Errorf("%s, %s: limit kept by the tolerance interval: %s, want %s", c.Name, c.At, c.Keeps, want)
		}
	}
	text := reportText(t, "verify-single-stage.ipynb", files...)
	from := strings.Index(text, "Lot 26-12\n")
	to := strings.Index(text, "Unit 0502\n")
	if from < 0 || to < from {
		t.Fatal("the report has no section of the lot before the pages of its units")
	}
	golden(t, "lot-26-12.txt", []byte(text[from:to]))
}

// sameNumbers asks that the sentences of a record print the numbers that stand in its tables.
func sameNumbers(t *testing.T, u record.Unit) {
	t.Helper()
	has := func(sentence string, parts ...string) bool {
		return !slices.ContainsFunc(parts, func(p string) bool { return !strings.Contains(sentence, p) })
	}
	if s := u.Verdicts[1].Sentence; !slices.ContainsFunc(u.Limits, func(l record.Limit) bool {
		return has(s, "("+string(l.Measured)+" ± "+string(l.Uncertainty)+") dB")
	}) {
		t.Errorf("no limit of the record has the numbers of %q", s)
	}
	if s := u.Verdicts[0].Sentence; u.Verdicts[0].Outcome == "fail" && !slices.ContainsFunc(u.Figures,
		func(f record.Compared) bool {
			return has(s, " is "+string(f.Measured.Value)+" ", " predicts "+string(f.Specified.Value)+" ",
				strings.TrimPrefix(string(f.Specified.NormalizedError), "-"))
		}) {
		t.Errorf("no figure of the record has the numbers of %q", s)
	}
	for _, f := range u.Diagnosis.Fitted {
		if s := u.Diagnosis.Sentence; strings.Contains(s, f.Name+" is ") && !has(s, f.Name+" is "+string(f.Value)+" ") {
			t.Errorf("%s is %s in the record and otherwise in %q", f.Name, f.Value, s)
		}
	}
}

// reportText is the text of the report that the command lays out, made as the command makes it and without what
// depends on the toolchain.
func reportText(t *testing.T, path string, sweeps ...string) string {
	t.Helper()
	doc, warnings := compose.Document(rerunOf(t, path, sweeps...))
	if len(warnings) > 0 {
		t.Errorf("warnings %q, want none", warnings)
	}
	return doc.Text()
}

// reruns are those that tests asked for so far: several look at the same one.
var reruns = map[string]compose.Source{}

// rerunOf reruns a notebook in this process, once.
func rerunOf(t testing.TB, path string, sweeps ...string) compose.Source {
	t.Helper()
	key := strings.Join(append([]string{path}, sweeps...), "\n")
	if _, done := reruns[key]; !done {
		reruns[key] = rerunNow(t, path, sweeps...)
	}
	return reruns[key]
}

func rerunNow(t testing.TB, path string, sweeps ...string) compose.Source {
	t.Helper()
	read := func(path string) measured.File {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		return measured.NewFile(filepath.Base(path), data)
	}
	source := read(path)
	nb, err := notebook.Read(source.Data)
	if err != nil {
		t.Fatal(err)
	}
	var files []measured.File
	for _, s := range sweeps {
		files = append(files, read(s))
	}
	outcome, err := rerun.Run(context.Background(), rerun.Request{Notebook: nb,
		Data: map[string][]measured.File{"sweep": files}},
		func(d *rerun.Desk) (rerun.Session, error) {
			s, err := session.New(session.Config{
				Words: vocab.Words(), Local: map[string]any{vocab.HostKey: vocab.Host(d)}, Show: vocab.Show,
				Bundle: document.Bundle,
			})
			return cells{s}, err
		})
	if err != nil {
		t.Fatal(err)
	}
	r := recording.Run(outcome, record.Program{Name: "wedgework", Version: "x", Go: "go1.x"},
		record.Source{Name: source.Name, SHA256: source.SHA256, Bytes: len(source.Data)})
	return compose.Source{Outcome: outcome, Record: r}
}

// BenchmarkPages lays out and sets the demo report, without its rerun: text, tables, figures and the PDF. The first
// of a process parses the faces and is the one to read: -benchtime 1x.
func BenchmarkPages(b *testing.B) {
	source := rerunOf(b, "verify-single-stage.ipynb", "../testdata/demo/lot-26-11-unit-0418.csv")
	for b.Loop() {
		doc, _ := compose.Document(source)
		if _, _, err := pdf.Render(doc, pdf.Options{Program: "wedgework"}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkScreen writes the demo report as a page for a screen, without its rerun.
func BenchmarkScreen(b *testing.B) {
	source := rerunOf(b, "verify-single-stage.ipynb", "../testdata/demo/lot-26-11-unit-0418.csv")
	size := 0
	for b.Loop() {
		doc, _ := compose.Document(source)
		page, err := html.Begin(doc, html.Options{Program: "wedgework"})("")
		if err != nil {
			b.Fatal(err)
		}
		size = len(page)
	}
	b.ReportMetric(float64(size), "bytes")
}

// cells runs the cells of a notebook in a session.
type cells struct{ *session.Session }

func (c cells) Run(ctx context.Context, cell rerun.Cell, emit func(notebook.Output)) error {
	_, err := c.Session.Run(ctx, session.Cell{Name: fmt.Sprint("cell ", cell.Number), Number: cell.Index,
		Source: cell.Source}, emit)
	return err
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v: run the test with -update, and read what it writes", err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Errorf("%s changed (-want +got); if it should, run the test with -update:\n%s", path, d)
	}
}

// What cannot be reported is refused with exit status 2, says where and what was expected, and writes nothing.
func TestRefusals(t *testing.T) {
	good, err := os.ReadFile("verify-single-stage.ipynb")
	if err != nil {
		t.Fatal(err)
	}
	edit := func(from, to string) []byte {
		if !bytes.Contains(good, []byte(from)) {
			t.Fatalf("the notebook holds no %q", from)
		}
		return bytes.ReplaceAll(good, []byte(from), []byte(to))
	}
	const sweep = "../testdata/demo/lot-26-11-unit-0417.csv"
	readings, err := os.ReadFile(sweep)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name     string
		notebook []byte
		readings []byte
		input    string
		want     []string
	}{
		{"failing cell", edit("thickness=0.5*mm", "thickness=0.5*nmm"), readings, "sweep", []string{"cell 4, line 7",
			"nmm", "nm"}},
		{"missing input", edit(`, default=\"data/lot-26-11-unit-0417.csv\"`, ""), nil, "", []string{"cell 11, line 1",
			"sweep", "--data sweep=FILE"}},
		{"no units", good, bytes.Replace(readings, []byte("isolation [dB]"), []byte("isolation"), 1), "sweep",
			[]string{"line 14, column 3", `"isolation"`, "expected", "isolation [dB]"}},
		{"unknown input name", good, readings, "sweeps", []string{`sweeps`, "sweep"}},
		{"wavelength out of range", good, bytes.Replace(readings, []byte("1580.00,23.0"), []byte("1680.00,23.0"), 1),
			"sweep", []string{"cell 13", "1680 nm", "500 to 1600 nm"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			write := func(name string, data []byte) string {
				path := filepath.Join(dir, name)
				if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, data, 0o644); err != nil {
					t.Fatal(err)
				}
				return path
			}
			args := []string{"report", write("nb.ipynb", c.notebook), "--out", filepath.Join(dir, "out", "report.pdf")}
			if err := os.Mkdir(filepath.Join(dir, "out"), 0o755); err != nil {
				t.Fatal(err)
			}
			write("data/lot-26-11-unit-0417.csv", readings)
			if c.input != "" {
				args = append(args, "--data", c.input+"="+write("sweep.csv", c.readings))
			}
			status, printed := run(t, nil, args...)
			if status != 2 {
				t.Errorf("exit status %d, want 2", status)
			}
			for _, w := range c.want {
				if !strings.Contains(printed, w) {
					t.Errorf("the message does not say %q:\n%s", w, printed)
				}
			}
			if left, _ := os.ReadDir(filepath.Join(dir, "out")); len(left) > 0 {
				t.Errorf("%s was written", left[0].Name())
			}
		})
	}
}

// The demo data is what its generator makes, and the notebook's own copy is one of its files.
func TestDemoDataIsGenerated(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("go", "run", "wedgework/testdata/demo/generate", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	same := func(a, b string) {
		t.Helper()
		x, errX := os.ReadFile(a)
		y, errY := os.ReadFile(b)
		if errX != nil || errY != nil || !bytes.Equal(x, y) {
			t.Errorf("%s is not %s (%v, %v)", a, b, errX, errY)
		}
	}
	files, err := filepath.Glob("../testdata/demo/*.csv")
	if err != nil || len(files) != 15 {
		t.Fatalf("demo files: %v, %v", files, err)
	}
	for _, f := range files {
		same(f, filepath.Join(dir, filepath.Base(f)))
	}
	same("data/lot-26-11-unit-0417.csv", filepath.Join(dir, "lot-26-11-unit-0417.csv"))
	for _, name := range []string{"powers", "reference", "four-states", "jones"} {
		same("data/"+name+"-0417.csv", filepath.Join(dir, "instruments", name+"-0417.csv"))
	}
	same("data/lot-26-12.csv", filepath.Join(dir, "instruments", "lot-26-12.csv"))
}

// The example of the README prints what the README says.
func TestReadmeExample(t *testing.T) {
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile("(?s)```python\n(.*?)```\n\n```text\n(.*?)```").FindSubmatch(readme)
	if m == nil {
		t.Fatal("the README has no example with its output")
	}
	file := filepath.Join(t.TempDir(), "first.star")
	if err := os.WriteFile(file, m[1], 0o644); err != nil {
		t.Fatal(err)
	}
	if status, printed := run(t, nil, "eval", file); status != 0 || printed != string(m[2]) {
		t.Errorf("exit status %d, printed\n%swant\n%s", status, printed, m[2])
	}
	if n := strings.Count(strings.TrimSpace(string(m[1])), "\n") + 1; n != 10 {
		t.Errorf("the ten lines are %d", n)
	}
}

// The README's command does what it says on the demo data, from the top of the tree; what the README shows or names
// is there.
func TestReadmeCommand(t *testing.T) {
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(`(?m)^    go run \./cmd/wedgework (report .*) --out report\.pdf$`).FindSubmatch(readme)
	if m == nil {
		t.Fatal("the README has no command that makes report.pdf")
	}
	t.Chdir("..")
	args := append(strings.Fields(string(m[1])), "--out", filepath.Join(t.TempDir(), "report.pdf"))
	if status, printed := run(t, nil, args...); status != 0 {
		t.Errorf("exit status %d\n%s", status, printed)
	} else if said := regexp.MustCompile(`(?m)^    0417: .*\n        .*$`).Find(readme); said == nil ||
		!strings.Contains(printed, strings.ReplaceAll(string(said[4:]), "\n    ", "\n")) {
		t.Errorf("the README says that the command prints\n%s\nand it prints\n%s", said, printed)
	}
	pictures := regexp.MustCompile(`!\[[^]]*\]\(([^)]*)\)`).FindAllSubmatch(readme, -1)
	if len(pictures) == 0 {
		t.Error("the README has no picture")
	}
	for _, p := range pictures {
		if info, err := os.Stat(string(p[1])); err != nil || info.Size() > 200_000 {
			t.Errorf("picture %s: %v, want a file of at most 200 kB", p[1], err)
		}
	}
}

// The notebooks in the tree carry no outputs: what they show is made anew.
func TestNotebooksAreClean(t *testing.T) {
	all, _ := filepath.Glob("*.ipynb")
	for _, nb := range all {
		data, err := os.ReadFile(nb)
		if err != nil {
			t.Fatal(err)
		}
		var n struct {
			Cells []struct {
				Outputs []any `json:"outputs"`
			} `json:"cells"`
		}
		if err := json.Unmarshal(data, &n); err != nil {
			t.Fatal(err)
		}
		for i, c := range n.Cells {
			if len(c.Outputs) > 0 {
				t.Errorf("%s, cell %d holds outputs", nb, i+1)
			}
		}
	}
}
