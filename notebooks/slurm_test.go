package notebooks

import (
	"bytes"
	"fmt"
	"io/fs"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wedgework/reports/require"
)

// slurm starts a controller and a node of Slurm on this machine and returns the environment in which its commands find
// them. It needs root, for the node's daemon, and munge.
func slurm(t *testing.T) []string {
	t.Helper()
	for _, tool := range []string{"sbatch", "squeue", "sinfo", "munged", "slurmctld", "slurmd"} {
		require.Tool(t, tool)
	}
	if os.Geteuid() != 0 {
		require.Missing(t, "the node of a scheduler is started by root")
	}
	if _, err := os.Stat("/run/munge/munge.socket.2"); err != nil {
		start := "mkdir -p /run/munge && chown munge:munge /run/munge && su -s /bin/sh munge -c /usr/sbin/munged"
		if out, err := exec.Command("/bin/sh", "-c", start).CombinedOutput(); err != nil {
			require.Missing(t, fmt.Sprintf("munged does not start: %v: %s", err, out))
		}
		t.Cleanup(func() { exec.Command("/bin/sh", "-c", "kill $(cat /run/munge/munged.pid)").Run() })
	}
	folder := t.TempDir()
	text := `ClusterName=test
SlurmctldHost=localhost
AuthType=auth/munge
AuthInfo=cred_expire=5
CredType=cred/munge
MpiDefault=none
ProctrackType=proctrack/linuxproc
ReturnToService=2
SlurmctldPort=` + port(t) + `
SlurmdPort=` + port(t) + `
SlurmctldPidFile=DIR/ctld.pid
SlurmdPidFile=DIR/d.pid
SlurmdSpoolDir=DIR/spool
StateSaveLocation=DIR/state
SlurmUser=root
SwitchType=switch/none
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_Core
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
SlurmctldLogFile=DIR/ctld.log
SlurmdLogFile=DIR/d.log
NodeName=localhost CPUs=2 RealMemory=1000 State=UNKNOWN
PartitionName=main Nodes=ALL Default=YES MaxTime=INFINITE State=UP
`
	conf := filepath.Join(folder, "slurm.conf")
	if err := os.WriteFile(conf, []byte(strings.ReplaceAll(text, "DIR", folder)), 0o644); err != nil {
		t.Fatal(err)
	}
	env := append(os.Environ(), "SLURM_CONF="+conf)
	for _, daemon := range [][]string{{"slurmctld", "-D"}, {"slurmd", "-D", "-N", "localhost"}} {
		c := exec.Command(daemon[0], daemon[1:]...)
		c.Env = env
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Process.Kill(); c.Wait() })
	}
	until(t, "a node that is idle", func() bool {
		return strings.Contains(output(env, "sinfo", "-h", "-o", "%T"),
			"idle")
	})
	return env
}

// port is one that nobody listens at.
func port(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "localhost:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	_, number, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	return number
}

func output(env []string, command string, args ...string) string {
	c := exec.Command(command, args...)
	c.Env = env
	out, err := c.Output()
	if err != nil {
		return "error: " + err.Error()
	}
	return string(out)
}

// until waits; two minutes are far beyond what is meant, for busy machines.
func until(t *testing.T, what string, is func() bool) {
	t.Helper()
	for began := time.Now(); !is(); time.Sleep(100 * time.Millisecond) {
		if time.Since(began) > 2*time.Minute {
			t.Fatalf("two minutes without %s", what)
		}
	}
}

// TestSlurm runs plans on a real Slurm.
func TestSlurm(t *testing.T) {
	require.Thorough(t, "a Slurm of one's own takes ten seconds")
	env := slurm(t)
	t.Run("parts", func(t *testing.T) { partsOnSlurm(t, env) })
	t.Run("a node that is lost", func(t *testing.T) { nodeLost(t, env) })
}

// partsOnSlurm: the parts of a plan, and the run that takes them together, leave the files of a single run, byte by byte,
// the index among them.
func partsOnSlurm(t *testing.T, env []string) {
	single, parts := isolators(t), isolators(t)
	run := func(folder string, args ...string) {
		t.Helper()
		c := exec.Command(program(t), append(append([]string{"regenerate"}, args...), "plan.toml")...)
		c.Dir, c.Env = folder, env
		out, err := c.CombinedOutput()
		if err != nil && c.ProcessState.ExitCode() != 1 { // unit 0418 fails
			t.Fatalf("%v: %s", err, out)
		}
	}
	run(single)
	run(parts, "--slurm", "3")
	until(t, "an empty queue", func() bool { return output(env, "squeue", "-h") == "" })
	var logs strings.Builder
	names, err := filepath.Glob(filepath.Join(parts, "slurm-*.out"))
	if err != nil || len(names) != 4 {
		t.Errorf("%d logs (%v), want those of three parts and of the run that takes them together", len(names), err)
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		logs.Write(data)
	}
	if n := strings.Count(logs.String(), ": new; "); n != 3 {
		t.Errorf("%d reports made, want each of three once:\n%s", n, logs.String())
	}
	if compared := sameReports(t, single, parts); compared != 15 {
		t.Errorf("%d files compared, want four of each report and three of the index", compared)
	}
}

// sameReports compares the files of two folders of reports byte by byte, without those that runs keep for themselves, and
// returns how many they are.
func sameReports(t *testing.T, wanted, got string) (compared int) {
	t.Helper()
	err := filepath.WalkDir(filepath.Join(wanted, "reports"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasPrefix(d.Name(), ".") {
			return err
		}
		rel, err := filepath.Rel(wanted, path)
		if err != nil {
			return err
		}
		want, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if got, err := os.ReadFile(filepath.Join(got, rel)); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not that of a single run (%v)", rel, err)
		}
		compared++
		return nil
	})
	if err != nil {
		t.Error(err)
	}
	return compared
}

// nodeLost: the node is lost while both parts of a plan are at work and comes back; the scheduler starts them
// anew, each makes what it had not made, and the reports are those of a single run. (A job that is requeued waits until its
// credential has expired: slurm.conf(5), AuthInfo.)
func nodeLost(t *testing.T, env []string) {
	const n = 16
	single, parts := units(t, n), units(t, n)
	run := func(folder string, args ...string) {
		t.Helper()
		c := exec.Command(program(t), append(append([]string{"regenerate"}, args...), "plan.toml")...)
		c.Dir, c.Env = folder, env
		if out, err := c.CombinedOutput(); err != nil && c.ProcessState.ExitCode() != 1 {
			t.Fatalf("%v: %s", err, out)
		}
	}
	made := func() int {
		all, err := filepath.Glob(filepath.Join(parts, "reports", "*.pdf"))
		if err != nil {
			t.Fatal(err)
		}
		return len(all)
	}
	node := func(state ...string) {
		t.Helper()
		args := append([]string{"update", "NodeName=localhost"}, state...)
		if out := output(env, "scontrol", args...); strings.HasPrefix(out, "error") {
			t.Fatalf("scontrol %s: %s", strings.Join(args, " "), out)
		}
	}
	run(single)
	run(parts, "--slurm", "2", "--jobs", "1")
	until(t, "a few reports", func() bool { return made() >= 3 })
	node("State=DOWN", "Reason=lost")
	before := made()
	until(t, "parts that wait", func() bool {
		return !strings.Contains(output(env, "squeue", "-h", "-o", "%T"), "RUNNING") &&
			!strings.Contains(output(env, "squeue", "-h", "-o", "%T"), "COMPLETING")
	})
	if strings.Contains(output(env, "sinfo", "-h", "-o", "%T"), "down") { // it may have come back by itself
		node("State=RESUME")
	}
	if before >= n {
		t.Fatalf("all %d reports were made before the node was lost: nothing is tried", n)
	}
	until(t, "an empty queue", func() bool { return output(env, "squeue", "-h") == "" })
	names, err := filepath.Glob(filepath.Join(parts, "slurm-*_*.out"))
	if err != nil || len(names) != 2 {
		t.Fatalf("%d logs (%v), want those of two parts", len(names), err)
	}
	times := map[string]int{}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(data)) {
			if report, _, found := strings.Cut(line, ": new; "); found {
				times[report]++
			}
		}
		t.Logf("%s", data)
	}
	for report, k := range times {
		if k > 1 {
			t.Errorf("%s was made %d times", report, k)
		}
	}
	if compared := sameReports(t, single, parts); compared != 4*n+3 {
		t.Errorf("%d files compared, want %d", compared, 4*n+3)
	}
}
