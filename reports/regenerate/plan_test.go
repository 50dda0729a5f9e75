package regenerate

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/files"
	"wedgework/reports/job"
)

const goodPlan = `# the demonstration
workers = 2
time = "90s"

[[report]]
notebook = "verify.ipynb"
output = "out/{lot}-{unit}.pdf"
[report.data]
sweep = "in/lot-{lot}-unit-{unit}.csv"
reference = "in/reference-{lot}.csv"
[report.set]
apex = "5*deg"
title = "'unit {unit}, {nothing}'"

[[report]]
notebook = "lot.ipynb"
data = { sweep = "in/lot-{lot}-unit-*.csv" }
per = "lot"
output = "lots/{lot}.pdf"
memory = "512 MB"
issued = "2026-11-25"
`

var goodFiles = map[string]string{
	"in/lot-26-11-unit-0417.csv": "a", "in/lot-26-11-unit-0418.csv": "b", "in/lot-26-12-unit-0501.csv": "c",
	"in/reference-26-11.csv": "r",
}

func TestTasks(t *testing.T) {
	folder := put(t, goodFiles)
	p, err := ReadPlan(filepath.Join(folder, "plan.toml"), []byte(goodPlan))
	if err != nil {
		t.Fatal(err)
	}
	tasks := p.Tasks(nil)
	in := func(at job.Place, names ...string) []job.File {
		var all []job.File
		for _, n := range names {
			all = append(all, job.File{Path: filepath.Join(folder, "in", n), At: at, Within: []string{folder}})
		}
		return all
	}
	plan := func(line int, what string) job.Place {
		return job.Place(strings.TrimSuffix(fmt.Sprintf("%s:%d: %s", filepath.Join(folder, "plan.toml"), line, what),
			": "))
	}
	sweep, reference := plan(9, "data sweep"), plan(10, "data reference")
	single := func(out, unit, refused string, data ...job.Binding) Task {
		for i := range data {
			if data[i].Name == "sweep" { // whose pattern names the unit
				data[i].Files[0].Unit = unit
			}
		}
		return Task{Line: 5, Refused: refused, Remake: RemakeFigures, Base: folder, Job: job.Job{
			At: plan(5, ""), Notebook: job.File{Path: filepath.Join(folder, "verify.ipynb"), At: plan(6, "notebook"),
				Within: []string{folder}},
			Output: job.Text{Text: filepath.Join(folder, "out", out), At: plan(7, "output")},
			Bounds: job.Bounds{Time: 90 * time.Second, Memory: 1 << 30}, Data: data,
			Settings: []job.Setting{
				{Name: "apex", Expression: "5*deg", At: plan(12, "set apex")},
				{Name: "title", Expression: "'unit " + unit + ", {nothing}'", At: plan(13, "set title")},
			},
		}}
	}
	lot := func(out string, names ...string) Task {
		return Task{Line: 15, Remake: RemakeFigures, Base: folder, Job: job.Job{
			At: plan(15, ""), Notebook: job.File{Path: filepath.Join(folder, "lot.ipynb"), At: plan(16, "notebook"),
				Within: []string{folder}},
			Output: job.Text{Text: filepath.Join(folder, "lots", out), At: plan(19, "output")},
			Bounds: job.Bounds{Time: 90 * time.Second, Memory: 512_000_000},
			Issued: job.Text{Text: "2026-11-25", At: plan(21, "issued")},
			Data: []job.Binding{{Name: "sweep", At: plan(17, "data sweep"), Files: in(plan(17, "data sweep"),
				names...)}},
		}}
	}
	bound := func(name string, at job.Place, file string) job.Binding {
		return job.Binding{Name: name, At: at, Files: in(at, file)}
	}
	want := []Task{
		single("26-11-0417.pdf", "0417", "", bound("reference", reference, "reference-26-11.csv"), bound("sweep", sweep,
			"lot-26-11-unit-0417.csv")),
		single("26-11-0418.pdf", "0418", "", bound("reference", reference, "reference-26-11.csv"), bound("sweep", sweep,
			"lot-26-11-unit-0418.csv")),
		single("26-12-0501.pdf", "0501", string(reference)+`: no file matches "in/reference-26-12.csv"`, bound("sweep",
			sweep, "lot-26-12-unit-0501.csv")),
		lot("26-11.pdf", "lot-26-11-unit-0417.csv", "lot-26-11-unit-0418.csv"),
		lot("26-12.pdf", "lot-26-12-unit-0501.csv"),
	}
	if d := cmp.Diff(want, tasks); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	// A worker gets it as JSON.
	text, err := json.Marshal(tasks)
	if err != nil {
		t.Fatal(err)
	}
	var sent []Task
	if err := json.Unmarshal(text, &sent); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, sent); d != "" {
		t.Errorf("through JSON (-want +got):\n%s", d)
	}
}

// look reads what the files of these tests say: "unit lot" on the first line. What else a text says, it does.
func look(ctx context.Context, f job.File) (About, error) {
	text, err := files.ReadWithin(ctx, f.Path, f.Within)
	if err != nil {
		return About{}, err
	}
	if strings.Contains(string(text), "eat memory") {
		for {
			eaten = append(eaten, make([]byte, 16<<20)...)
		}
	}
	if strings.Contains(string(text), "hang") {
		<-ctx.Done()
		return About{}, ctx.Err()
	}
	unit, lot, ok := strings.Cut(string(text), " ")
	if !ok {
		return About{}, fmt.Errorf("%s: no readings", filepath.Base(f.Path))
	}
	return About{Units: strings.Split(unit, ","), Lots: []string{lot}}, nil
}

// describe looks into files in this process.
func describe(of []job.File, _ job.Bounds) []Described {
	var all []Described
	for _, f := range of {
		about, err := look(context.Background(), f)
		all = append(all, Described{about, err})
	}
	return all
}

func TestTasksByContent(t *testing.T) {
	folder := put(t, map[string]string{
		"a.csv": "0417 26-11", "b.csv": "0418 26-11", "c.csv": "0417 26-11", "d.csv": "bad", "e.csv": "0501,0502 26-12",
		"f.csv": " 26-12",
	})
	jobs := func(per, output string) []string {
		p, err := ReadPlan(filepath.Join(folder, "plan.toml"),
			[]byte("[[report]]\nnotebook='n.ipynb'\nper='"+per+"'\noutput='"+output+"'\ndata.sweep='*.csv'\n"))
		if err != nil {
			t.Fatal(err)
		}
		all := p.Tasks(describe)
		var lines []string
		for _, j := range all {
			line := filepath.Base(j.Output.Text) + ":"
			if j.Refused != "" {
				line = "refused " + j.Refused + ":"
			}
			for _, f := range j.Data[0].Files {
				line += " " + filepath.Base(f.Path)
			}
			lines = append(lines, line)
		}
		return lines
	}
	if d := cmp.Diff([]string{
		"0417.pdf: a.csv c.csv", "0418.pdf: b.csv", "refused d.csv: no readings: d.csv",
		"refused e.csv: found units 0501, 0502, expected one unit in the file, or a group {unit} in the pattern: e.csv",
		"refused f.csv: found no unit, expected one unit in the file, or a group {unit} in the pattern: f.csv",
	}, jobs("unit", "{unit}.pdf")); d != "" {
		t.Errorf("per unit (-want +got):\n%s", d)
	}
	if d := cmp.Diff([]string{
		"26-11.pdf: a.csv b.csv c.csv", "26-12.pdf: e.csv f.csv", "refused d.csv: no readings: d.csv",
	}, jobs("lot", "{lot}.pdf")); d != "" {
		t.Errorf("per lot (-want +got):\n%s", d)
	}
	if got := jobs("file", "{file}.pdf"); got[0] != "a.pdf: a.csv" || len(got) != 6 {
		t.Errorf("per file: %q", got)
	}
	if got := jobs("lot", "{lot}-{unit}.pdf"); !strings.HasPrefix(got[0],
		"refused the files of lot 26-11 differ in {unit}") {
		t.Errorf("differing: %q", got[0])
	}
	if got := jobs("file", "{lot}.pdf"); !strings.Contains(got[0], "several reports would be written to") {
		t.Errorf("twins: %q", got[0])
	}
}

func TestFileName(t *testing.T) {
	for value, want := range map[string]string{"26/11": "26_11", "..": "_", "a b": "a b", "": "_", "x\ny:z": "x_y_z"} {
		if got := fileName(value); got != want {
			t.Errorf("%q: %q, want %q", value, got, want)
		}
	}
}

// TestReadPlanRefuses: all that is wrong is said at once, line by line.
func TestReadPlanRefuses(t *testing.T) {
	for _, test := range []struct{ name, plan, want string }{
		{"no toml", "[[report]\n", "plan.toml:1: "},
		{"nothing", "workers = 2\n", "plan.toml: found no [[report]], expected at least one"},
		{"misspelt", "[[report]]\nnotebok = 'a.ipynb'\n",
			`plan.toml:2: there is no key "notebok" in a plan; did you mean "notebook"?`},
		{"several misspelt, and a value", `wrokers = 2
memory = "1 XB"
[[report]]
notebok = "a.ipynb"
outptu = "a.pdf"
sett.apex = "5*deg"
`, `plan.toml:1: there is no key "wrokers" in a plan; did you mean "workers"?
plan.toml:2: memory: found "1 XB", expected what one report may take, at least 100 MB, as in "1 GB"
plan.toml:4: there is no key "notebok" in a plan; did you mean "notebook"?
plan.toml:5: there is no key "outptu" in a plan; did you mean "output"?
plan.toml:6: there is no key "sett" in a plan; did you mean "set"?`},
		{"a type", "workers = 'two'\n", "plan.toml:1: workers: found TOML of type string, expected a whole number"},
		{"many", `time = "soon"
[[report]]
notebook = "a.py"
data.sweep = "{u.csv"
output = "a.txt"
memory = "1 MB"
issued = "tomorrow"
`, `plan.toml:1: time: found "soon", expected how long one report may take, as in "90s" or "2m"
plan.toml:3: notebook: found "a.py", expected the path of a notebook, as in "verify.ipynb"
plan.toml:4: data sweep: found "{u.csv", expected a name in braces, as in {unit}
plan.toml:5: output: found "a.txt", expected a file name that ends in .pdf
plan.toml:6: memory: found "1 MB", expected what one report may take, at least 100 MB, as in "1 GB"
plan.toml:7: issued: found "tomorrow", expected a day such as 2026-11-25`},
		{"groups", `[[report]]
notebook = "a.ipynb"
per = "box"
output = "{uint}.pdf"
[report.data]
sweep = "{unit}.csv"
[report.set]
apex = " "
`, `plan.toml:3: per: found "box", expected one of unit, file, lot
plan.toml:4: output: there is no group {uint}, expected one of {unit}, {file}, {lot}
plan.toml:8: set apex: found nothing, expected an expression, as in "4.5*deg"`},
		{"no pattern", "[[report]]\nnotebook='a.ipynb'\ndata.sweep='a.csv'\nper='unit'\noutput='a.pdf'\n",
			`plan.toml:4: per: found "unit", but no input has a pattern with a group or a wildcard: there is one report`},
		{"no group", "[[report]]\nnotebook='a.ipynb'\ndata.sweep='a.csv'\noutput='{unit}.pdf'\n",
			"plan.toml:4: output: there is no group {unit}, expected no group: no input has a pattern"},
		{"no output", "[[report]]\nnotebook='a.ipynb'\n", "plan.toml:1: found no output, expected the report to write"},
		{"two leads", "[[report]]\nnotebook='a.ipynb'\noutput='{a}.pdf'\n[report.data]\nx='{a}.csv'\ny='{b}.csv'\n",
			`several inputs have patterns with groups of their own; name the one whose files make the reports, as in lead = "x"`},
		{"wrong lead", "[[report]]\nnotebook='a.ipynb'\noutput='{a}.pdf'\nlead='z'\n[report.data]\nx='{a}.csv'\n",
			`plan.toml:4: lead: found "z", expected the name of an input in data`},
		{"a follower's own group",
			"[[report]]\nnotebook='a.ipynb'\noutput='{a}.pdf'\nlead='x'\n[report.data]\nx='{a}.csv'\ny='{b}.csv'\n",
			`plan.toml:7: data y: there is no group {b} in the pattern of x, whose files make the reports`},
	} {
		t.Run(test.name, func(t *testing.T) {
			p, err := ReadPlan("plan.toml", []byte(test.plan))
			if err == nil {
				t.Fatalf("taken: %+v", p)
			}
			if !strings.Contains(err.Error(), test.want) {
				t.Errorf("found\n%v\nwant\n%s", err, test.want)
			}
			var f *Fault
			if !errors.As(err, &f) {
				t.Errorf("%T is no *Fault", err)
			}
		})
	}
}

func TestLineNumbers(t *testing.T) {
	got := lineNumbers([]byte("a = 1\n\n[[t]]\nx.y = 2\n[t.sub]\nz = { p = 1,\n q = 2 }\n[[t]]\n[t.sub]\nz = " +
		"3\n[u]\nv = 1\n"))
	want := map[string]int{"a": 1, "t.0": 3, "t.0.x.y": 4, "t.0.sub": 5, "t.0.sub.z": 6, "t.0.sub.z.p": 6,
		"t.0.sub.z.q": 7, "t.1": 8, "t.1.sub": 9, "t.1.sub.z": 10, "u": 11, "u.v": 12}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}
