package notebooks

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"wedgework/kernel/topics"
	"wedgework/reports/notebook"
	"wedgework/reports/require"
)

// blocks returns the fenced blocks of a topic of the help in one language.
func blocks(t *testing.T, topic, language string) []string {
	t.Helper()
	page, ok := topics.Named(topic)
	if !ok {
		t.Fatalf("there is no topic %s", topic)
	}
	var all []string
	for _, m := range regexp.MustCompile("(?s)```"+language+"\n(.*?)```").FindAllStringSubmatch(page.Text, -1) {
		all = append(all, m[1])
	}
	if len(all) == 0 {
		t.Fatalf("the topic %s has no %s block", topic, language)
	}
	return all
}

// isolators makes the folder that the plan of the help is for: the plan, its notebook, and the sweeps of two units.
func isolators(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	for from, to := range map[string]string{
		"verify-single-stage.ipynb":                "verify.ipynb",
		"../testdata/demo/lot-26-11-unit-0417.csv": "incoming/lot-26-11-unit-0417.csv",
		"../testdata/demo/lot-26-11-unit-0418.csv": "incoming/lot-26-11-unit-0418.csv",
	} {
		data, err := os.ReadFile(from)
		if err != nil {
			t.Fatal(err)
		}
		to = filepath.Join(folder, to)
		if err := errors.Join(os.MkdirAll(filepath.Dir(to), 0o777), os.WriteFile(to, data, 0o666)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(folder, "plan.toml"), []byte(blocks(t, "plan", "toml")[0]), 0o666); err != nil {
		t.Fatal(err)
	}
	return folder
}

// TestCronLine: the line of the help has five fields of time and a command, and the command makes the reports of the
// plan.
func TestCronLine(t *testing.T) {
	folder := isolators(t)
	line := strings.TrimSpace(blocks(t, "scheduling", "cron")[0])
	m := regexp.MustCompile(`^(?:[0-9*,/-]+ ){5}(.*)$`).FindStringSubmatch(line) // crontab(5)
	if m == nil || strings.Contains(m[1], "%") {                                 // which stands for a new line there
		t.Fatalf("%q is no line of cron", line)
	}
	command := strings.NewReplacer("/srv/isolators", folder, "/usr/local/bin/wedgework", program(t)).Replace(m[1])
	err := exec.Command("/bin/sh", "-c", command).Run()
	var ended *exec.ExitError
	if !errors.As(err, &ended) || ended.ExitCode() != 1 { // unit 0418 fails
		t.Errorf("the line ends with %v, want exit status 1", err)
	}
	log, err := os.ReadFile(filepath.Join(folder, "regenerate.log"))
	if err != nil || !strings.Contains(string(log),
		"3 reports: 3 made, 0 up to date, 0 failed; in 2, not every verdict passes") {
		t.Errorf("the log says %q, %v", log, err)
	}
	for _, name := range []string{"26-11/0417.pdf", "26-11/0418.pdf", "lots/26-11.pdf"} {
		if _, err := os.Stat(filepath.Join(folder, "reports", name)); err != nil {
			t.Error(err)
		}
	}
}

// TestTimer: systemd finds nothing wrong with the service and timer of the help.
func TestTimer(t *testing.T) {
	analyze := require.Tool(t, "systemd-analyze")
	folder := t.TempDir()
	var files []string
	for _, block := range blocks(t, "scheduling", "ini") {
		name := regexp.MustCompile(`^# (wedgework[\w-]*\.\w+)\n`).FindStringSubmatch(block)
		if name == nil {
			t.Fatalf("a block does not begin with the name of its file:\n%s", block)
		}
		block = strings.NewReplacer("/srv/isolators", folder, "/usr/local/bin/wedgework", program(t)).Replace(block)
		file := filepath.Join(folder, name[1])
		if err := os.WriteFile(file, []byte(block), 0o666); err != nil {
			t.Fatal(err)
		}
		files = append(files, file)
	}
	out, err := exec.Command(analyze, append([]string{"verify"}, files...)...).CombinedOutput()
	if err != nil || strings.Contains(string(out), "wedgework") {
		t.Errorf("systemd-analyze verify: %v\n%s", err, out)
	}
	// The service runs what the cron line runs, which TestCronLine has seen to work.
	if service := unit(t, "wedgework.service"); !strings.Contains(service,
		"ExecStart=/usr/local/bin/wedgework regenerate plan.toml\n") {
		t.Errorf("the service does not run the plan:\n%s", service)
	}
}

// unit is the help's unit of systemd with a name.
func unit(t *testing.T, name string) string {
	t.Helper()
	for _, block := range blocks(t, "scheduling", "ini") {
		if strings.HasPrefix(block, "# "+name+"\n") {
			return block
		}
	}
	t.Fatalf("the help has no unit %s", name)
	return ""
}

// TestWatchService: what the service of the help starts makes the reports of the plan, then one for a file that comes,
// writes the metrics, and ends without a failure when systemd asks it to.
func TestWatchService(t *testing.T) {
	folder := isolators(t)
	m := regexp.MustCompile(`(?m)^ExecStart=/usr/local/bin/wedgework (.*)$`).FindStringSubmatch(
		unit(t, "wedgework-watch.service"))
	if m == nil {
		t.Fatal("the service starts nothing of ours")
	}
	service := exec.Command(program(t), strings.Fields(m[1])...)
	service.Dir = folder
	var said bytes.Buffer
	service.Stdout, service.Stderr = &said, &said
	if err := service.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- service.Wait() }()
	comes := func(names ...string) {
		t.Helper()
		for _, name := range names {
			path := filepath.Join(folder, "reports", name)
			for began := time.Now(); ; time.Sleep(10 * time.Millisecond) {
				if _, err := os.Stat(path); err == nil {
					break
				}
				if time.Since(began) > 2*time.Minute { // far beyond what is meant, for busy machines
					service.Process.Kill()
					t.Fatalf("%s does not come: %v\n%s", name, <-ended, said.String())
				}
			}
		}
	}
	comes("26-11/0417.pdf", "26-11/0418.pdf", "lots/26-11.pdf", "index.html", "wedgework.prom")
	sweep, err := os.ReadFile("../testdata/demo/lot-26-11-unit-0419.csv")
	if err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	if err := os.WriteFile(filepath.Join(folder, "incoming/lot-26-11-unit-0419.csv"), sweep, 0o666); err != nil {
		t.Fatal(err)
	}
	comes("26-11/0419.pdf")
	t.Logf("the report is there %v after its file", time.Since(began).Round(time.Millisecond))
	if err := service.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := <-ended; err != nil {
		t.Errorf("ends with %v\n%s", err, said.String())
	}
}

// TestOnSchedule: the plan that the notebook on schedules shows makes a report for each file and one for the lot, whole
// or in the two parts that it names, and nothing a second time.
func TestOnSchedule(t *testing.T) {
	source, err := os.ReadFile("on-schedule.ipynb")
	if err != nil {
		t.Fatal(err)
	}
	nb, err := notebook.Read(source)
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	for _, c := range nb.Cells {
		text.WriteString(c.Source + "\n")
	}
	plan := regexp.MustCompile("(?s)```toml\n(.*?)```").FindStringSubmatch(text.String())
	if plan == nil {
		t.Fatal("the notebook shows no plan")
	}
	for _, line := range []string{"regenerate plan.toml", "regenerate --watch plan.toml",
		"regenerate --shard 1/2 plan.toml", "regenerate --shard 2/2 plan.toml", "regenerate --slurm 8 plan.toml"} {
		if !strings.Contains(text.String(), "\nwedgework "+line+"\n") {
			t.Errorf("the notebook does not show %q", line)
		}
	}
	folder := isolators(t)
	if err := errors.Join(os.WriteFile(filepath.Join(folder, "on-schedule.ipynb"), source, 0o666),
		os.WriteFile(filepath.Join(folder, "plan.toml"), []byte(plan[1]), 0o666)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--shard", "1/2"}, "made"}, // how many depends on what each costs
		{[]string{"--shard", "2/2"}, "made"},
		{nil, "3 reports: 0 made, 3 up to date, 0 failed"},
	} {
		args := append(append([]string{"regenerate"}, c.args...), filepath.Join(folder, "plan.toml"))
		if _, printed := run(t, nil, args...); !strings.Contains(printed, c.want) {
			t.Errorf("%v: printed\n%s\nwant %q", c.args, printed, c.want)
		}
	}
	for _, name := range []string{"26-11/0417.pdf", "26-11/0418.pdf", "lots/26-11.pdf", "index.html"} {
		if _, err := os.Stat(filepath.Join(folder, "reports", name)); err != nil {
			t.Error(err)
		}
	}
}
