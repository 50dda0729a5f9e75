package regenerate

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// manyPlan has a report for each of many files.
const manyPlan = `workers = 2
[[report]]
notebook = "n.ipynb"
output = "out/{lot}-{unit}.pdf"
data.sweep = "in/lot-{lot}-unit-{unit}.csv"
set.x = "1 "
`

// manyJobs writes a folder with a plan of n reports.
func manyJobs(t testing.TB, n int) string {
	t.Helper()
	folder := t.TempDir()
	if err := os.Mkdir(filepath.Join(folder, "in"), 0o777); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"plan.toml": manyPlan, "n.ipynb": "n"} {
		write(t, folder, name, text)
	}
	for i := range n {
		write(t, folder, fmt.Sprintf("in/lot-26-%02d-unit-%06d.csv", i%37, i), fmt.Sprint("readings of ", i))
	}
	return folder
}

// runPlan is a process that runs the plan in a folder as the command does, and prints what it came to and the
// most memory that it held.
func runPlan(folder string) {
	all, err := attempt(context.Background(), folder, Options{})
	count := map[string]int{}
	for _, o := range all {
		switch {
		case o.Error != "":
			count["failed"]++
			fmt.Fprintln(os.Stderr, o.Error)
		case o.Why != "":
			count["made"]++
		default:
			count["fresh"]++
		}
	}
	status, _ := os.ReadFile("/proc/self/status")
	held := 0
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			fmt.Sscan(rest, &held)
		}
	}
	fmt.Println(count["made"], count["fresh"], held, err)
}

// apart runs a plan in a process of its own.
func apart(t testing.TB, folder string) (made, fresh, kilobytes int) {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), "WEDGEWORK_TEST_PLAN="+folder)
	c.Stderr = os.Stderr
	out, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := fmt.Fscan(bytes.NewReader(out), &made, &fresh, &kilobytes); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return made, fresh, kilobytes
}

// BenchmarkNothingToDo runs a plan of 100,000 reports of which none has to be made, from the start of the process to
// its end. Four files a report and one of readings; WEDGEWORK_JOBS for another number of reports.
func BenchmarkNothingToDo(b *testing.B) {
	n := 100_000
	if text := os.Getenv("WEDGEWORK_JOBS"); text != "" {
		fmt.Sscan(text, &n)
	}
	folder := manyJobs(b, n)
	if made, _, _ := apart(b, folder); made != n {
		b.Fatalf("%d reports made of %d", made, n)
	}
	apart(b, folder) // what was written a moment ago is looked at by content
	most := 0
	for b.Loop() {
		_, fresh, held := apart(b, folder)
		if fresh != n {
			b.Fatalf("%d reports up to date of %d", fresh, n)
		}
		most = max(most, held)
	}
	b.ReportMetric(float64(most)/1024, "MB-resident")
}
