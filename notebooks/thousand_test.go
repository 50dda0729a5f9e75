package notebooks

import (
	"bytes"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// thousandPlan makes a report for each of many units.
const thousandPlan = `workers = 2
[[report]]
notebook = "verify.ipynb"
data.sweep = "incoming/{unit}.csv"
output = "reports/{unit}.pdf"
`

// units writes a folder with a plan and the sweeps of n units: those of unit 0417 with 0.02 dB of noise of their own.
func units(t testing.TB, n int) string {
	t.Helper()
	folder := t.TempDir()
	must := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	nb, err := os.ReadFile("verify-single-stage.ipynb")
	must(err)
	sweep, err := os.ReadFile("../testdata/demo/lot-26-11-unit-0417.csv")
	must(err)
	must(os.WriteFile(filepath.Join(folder, "verify.ipynb"), nb, 0o666))
	must(os.WriteFile(filepath.Join(folder, "plan.toml"), []byte(thousandPlan), 0o666))
	must(os.Mkdir(filepath.Join(folder, "incoming"), 0o777))
	lines := strings.Split(strings.TrimSpace(string(sweep)), "\n")
	for u := range n {
		random := rand.New(rand.NewPCG(26, uint64(u)))
		var b bytes.Buffer
		for _, line := range lines {
			fields := strings.Split(line, ",")
			if v, err := strconv.ParseFloat(fields[0], 64); err == nil && v > 1000 {
				iso, err := strconv.ParseFloat(fields[2], 64)
				must(err)
				fields[2] = fmt.Sprintf("%.3f", iso+0.02*random.NormFloat64())
			}
			b.WriteString(strings.Replace(strings.Join(fields, ","), "0417", fmt.Sprintf("%04d", 5000+u), 1) + "\n")
		}
		must(os.WriteFile(filepath.Join(folder, "incoming", fmt.Sprintf("%04d.csv", 5000+u)), b.Bytes(), 0o666))
	}
	return folder
}

// regenerated runs the plan in folder and returns the last line it printed, how long it took, and the most memory
// that it and its workers held at once.
func regenerated(t testing.TB, program, folder string) (last string, took time.Duration, memory int) {
	t.Helper()
	var out bytes.Buffer
	c := exec.Command(program, "regenerate", "plan.toml")
	c.Dir, c.Stdout, c.Stderr = folder, &out, os.Stderr
	begun := time.Now()
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error)
	go func() { ended <- c.Wait() }()
	tick := time.NewTicker(500 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case err := <-ended:
			if status := c.ProcessState.ExitCode(); status != 0 && status != 1 {
				t.Fatalf("%v\n%s", err, out.String())
			}
			lines := strings.Split(strings.TrimSpace(out.String()), "\n")
			return lines[len(lines)-1], time.Since(begun), memory
		case <-tick.C:
			memory = max(memory, resident(c.Process.Pid))
		}
	}
}

// resident returns the most kilobytes that a process and each of its children have held so far, where the system tells
// (Linux).
func resident(pid int) int {
	total := 0
	status, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			fmt.Sscan(rest, &total)
		}
	}
	tasks, _ := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/children", pid))
	for _, task := range tasks {
		children, _ := os.ReadFile(task)
		for _, child := range strings.Fields(string(children)) {
			if n, err := strconv.Atoi(child); err == nil {
				total += resident(n)
			}
		}
	}
	return total
}

// soak is how many times a test does something: few, unless WEDGEWORK_SOAK=1 asks for many, or for a number of its own.
func soak(few, many int) int {
	switch n, err := strconv.Atoi(os.Getenv("WEDGEWORK_SOAK")); {
	case err != nil || n < 1:
		return few
	case n == 1:
		return many
	default:
		return n
	}
}

// bytesBelow is the size of all files below a folder.
func bytesBelow(folder string) (n int64) {
	filepath.WalkDir(folder, func(_ string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() {
			if info, err := d.Info(); err == nil {
				n += info.Size()
			}
		}
		return nil
	})
	return n
}

// TestThousandReports: a plan of a thousand units is made, made anew without making anything, and with one file changed
// makes one report. It takes minutes: WEDGEWORK_SOAK=1 asks for it, =10000 for ten thousand.
func TestThousandReports(t *testing.T) {
	n := soak(6, 1000)
	folder := units(t, n)
	expect := func(what, want string) {
		t.Helper()
		last, took, memory := regenerated(t, program(t), folder)
		t.Logf("%s: %s in %v, %d MB resident, %d MB of reports", what, last, took.Round(time.Millisecond), memory/1024,
			bytesBelow(filepath.Join(folder, "reports"))>>20)
		if !strings.HasPrefix(last, want) {
			t.Errorf("%s: %s, want %s", what, last, want)
		}
	}
	expect("first run", fmt.Sprintf("%d reports: %d made, 0 up to date, 0 failed", n, n))
	expect("second run", fmt.Sprintf("%d reports: 0 made, %d up to date, 0 failed", n, n))
	one := filepath.Join(folder, "incoming", "5003.csv")
	data, err := os.ReadFile(one)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(one, append([]byte("# remark: measured again\n"), data...), 0o666); err != nil {
		t.Fatal(err)
	}
	expect("one file changed", fmt.Sprintf("%d reports: 1 made, %d up to date, 0 failed", n, n-1))
}

// BenchmarkRegenerate makes the reports of a plan with two workers; a report/s and the memory of all its processes are
// what a schedule costs.
func BenchmarkRegenerate(b *testing.B) {
	dir := b.TempDir()
	path := filepath.Join(dir, "wedgework")
	if out, err := exec.Command("go", "build", "-o", path, "wedgework/cmd/wedgework").CombinedOutput(); err != nil {
		b.Fatalf("build: %v\n%s", err, out)
	}
	const n = 40
	var total time.Duration
	memory := 0
	for b.Loop() {
		folder := units(b, n)
		_, took, held := regenerated(b, path, folder)
		total += took
		memory = max(memory, held)
	}
	b.ReportMetric(float64(n*b.N)/total.Seconds(), "reports/s")
	b.ReportMetric(float64(memory)/1024, "MB-resident")
	b.ReportMetric(0, "ns/op")
}
