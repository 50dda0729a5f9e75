package regenerate

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/fileset"
)

// byContent names the reports by what the files say of themselves.
const byContent = `time = "1s"
memory = "300 MB"
[[report]]
notebook = "n.ipynb"
output = "out/{unit}.pdf"
data.sweep = "in/*.csv"
set.x = "1 "
`

func symlink(t *testing.T, folder, to, name string) {
	t.Helper()
	if err := os.Symlink(to, filepath.Join(folder, name)); err != nil {
		t.Skip(err)
	}
}

// within takes the folder of the test out of what is said.
func within(folder string, lines []string) []string {
	var all []string
	for _, l := range lines {
		all = append(all, strings.ReplaceAll(l, folder+"/", ""))
	}
	return all
}

// TestHostileNames: a loop of links, a name that is not UTF-8, a folder that cannot be read and a pipe fail their own
// reports, or are no files, and all others are made.
func TestHostileNames(t *testing.T) {
	folder := put(t, map[string]string{"plan.toml": strings.Replace(plan, "in/{unit}", "in/{lot}/{unit}", 1),
		"n.ipynb":    "n",
		"in/1/a.csv": "a", "in/1/d.csv": "d"})
	symlink(t, folder, "loop.csv", "in/1/loop.csv")
	symlink(t, folder, "round", "in/round")
	if err := os.WriteFile(filepath.Join(folder, "in/1/b\xff.csv"), []byte("b"), 0o666); err != nil {
		t.Skip(err) // a file system that takes no such names
	}
	if err := syscall.Mkfifo(filepath.Join(folder, "in/1/pipe.csv"), 0o666); err != nil {
		t.Skip(err)
	}
	want := []string{
		"a.pdf 0 new",
		"_.pdf 2 not made: plan.toml:6: data sweep: in/1/b?.csv: found a name that is not UTF-8, expected one that is",
		"d.pdf 0 new",
		"loop.pdf 2 not made: plan.toml:6: data sweep: in/1/loop.csv: too many levels of symbolic links",
		"_.pdf 2 not made: plan.toml:6: data sweep: in/round: too many levels of symbolic links",
	}
	if d := cmp.Diff(want, within(folder, regenerated(t, folder, Options{Workers: 1}))); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// TestUnreadableFolder: nothing is known of what lies in it, and the others are made.
func TestUnreadableFolder(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("root reads everything")
	}
	folder := put(t, map[string]string{"plan.toml": strings.Replace(plan, "in/{unit}", "in/{lot}/{unit}", 1),
		"n.ipynb":    "n",
		"in/1/a.csv": "a", "in/2/b.csv": "b"})
	if err := os.Chmod(filepath.Join(folder, "in/2"), 0); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(filepath.Join(folder, "in/2"), 0o777)
	want := []string{"a.pdf 0 new", "_.pdf 2 not made: plan.toml:6: data sweep: in/2: permission denied"}
	if d := cmp.Diff(want, within(folder, regenerated(t, folder, Options{}))); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// TestLookedIntoByWorkers: a file that eats memory or time when it is looked into fails its own report, and the process
// that runs the plan does not look itself.
func TestLookedIntoByWorkers(t *testing.T) {
	folder := put(t, map[string]string{"plan.toml": byContent, "n.ipynb": "n", "in/a.csv": "0417 1",
		"in/c.csv": "hang", "in/d.csv": "0418 1", "in/e.csv": "bad"})
	want := []string{
		"0417.pdf 0 new",
		"_.pdf 2 not made: took longer than the 1s that the plan allows: plan.toml:6: data sweep: context deadline " +
			"exceeded",
		"0418.pdf 0 new",
		"_.pdf 2 not made: plan.toml:6: data sweep: e.csv: no readings",
	}
	if d := cmp.Diff(want, within(folder, regenerated(t, folder, Options{Workers: 1}))); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	if runtime.GOOS != "linux" {
		t.Skip("a limit of memory that ends a process is there on Linux only")
	}
	write(t, folder, "in/c.csv", "eat memory")
	write(t, folder, "plan.toml", strings.Replace(byContent, `"1s"`, `"1m"`, 1))
	want[1] = "_.pdf 2 not made: took more than the 300 MB of memory that the plan allows"
	want[0], want[2] = "0417.pdf 0 fresh", "0418.pdf 0 fresh"
	if d := cmp.Diff(want, within(folder, regenerated(t, folder, Options{Workers: 1}))); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// TestLinksThatLeave: a link out of the folder of the plan is refused, in a pattern, for a notebook and for a folder
// that leads there, unless a root names where it leads.
func TestLinksThatLeave(t *testing.T) {
	elsewhere := put(t, map[string]string{"secret.csv": "s", "n.ipynb": "n", "in/c.csv": "c"})
	folder := put(t, map[string]string{"plan.toml": plan, "n.ipynb": "n", "in/a.csv": "a", "real/r.csv": "r"})
	symlink(t, folder, filepath.Join(elsewhere, "secret.csv"), "in/b.csv")
	symlink(t, folder, "../real/r.csv", "in/r.csv")
	refused := "in/b.csv: a link that leads outside the folders of the plan and its roots"
	want := []string{"a.pdf 0 new", "b.pdf 2 not made: plan.toml:6: data sweep: " + refused, "r.pdf 0 new"}
	if d := cmp.Diff(want, within(folder, regenerated(t, folder, Options{}))); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	write(t, folder, "plan.toml", "roots = ['"+elsewhere+"']\n"+plan)
	if got := regenerated(t, folder, Options{}); got[1] != "b.pdf 0 new" {
		t.Errorf("a root names it: %s", got[1])
	}
	// A folder that is a link, and a notebook.
	symlink(t, folder, filepath.Join(elsewhere, "in"), "linked")
	write(t, folder, "plan.toml", strings.Replace(plan, "in/{unit}", "linked/{unit}", 1))
	if got := within(folder, regenerated(t, folder, Options{})); !strings.Contains(got[0],
		"linked/c.csv: a link that leads outside") {
		t.Errorf("a folder that is a link: %s", got)
	}
	symlink(t, folder, filepath.Join(elsewhere, "n.ipynb"), "linked.ipynb")
	write(t, folder, "plan.toml", strings.Replace(plan, "n.ipynb", "linked.ipynb", 1))
	if got := within(folder, regenerated(t, folder, Options{})); !strings.Contains(got[0],
		"linked.ipynb: a link that leads outside") {
		t.Errorf("a notebook that is a link: %s", got)
	}
	// A folder that the plan itself names may be anywhere.
	write(t, folder, "plan.toml", strings.Replace(plan, "in/{unit}", elsewhere+"/in/{unit}", 1))
	if got := regenerated(t, folder, Options{}); len(got) != 1 || got[0] != "c.pdf 0 new" {
		t.Errorf("a folder that the plan names: %s", got)
	}
}

// TestFolderOfReports: a folder of reports that is a link is not followed, nor is one on the way to it; a ledger or a
// lock that is a link or a pipe is not opened. The other folders' reports are made.
func TestFolderOfReports(t *testing.T) {
	elsewhere := put(t, map[string]string{"x": ""})
	folder := put(t, map[string]string{"plan.toml": strings.Replace(plan, "out/{unit}", "out/{unit}/{unit}", 1),
		"n.ipynb":  "n",
		"in/a.csv": "a", "in/b.csv": "b", "in/c.csv": "c", "in/d.csv": "d", "out/c/x": "", "out/d/x": ""})
	symlink(t, folder, elsewhere, "out/b")
	symlink(t, folder, filepath.Join(elsewhere, "ledger"), "out/c/"+LedgerName)
	if err := syscall.Mkfifo(filepath.Join(folder, "out/d", LedgerName), 0o666); err != nil {
		t.Skip(err)
	}
	want := []string{
		"a.pdf 0 new",
		"b.pdf 2 not made: plan.toml:5: output: out/b: found a link, expected a folder of reports; a link is not " +
			"followed",
		"c.pdf 2 not made: plan.toml:5: output: out/c/" + LedgerName + ": found a link, expected a regular file",
		"d.pdf 2 not made: plan.toml:5: output: out/d/" + LedgerName + ": found a pipe, expected a regular file",
	}
	if d := cmp.Diff(want, within(folder, regenerated(t, folder, Options{}))); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	if names, err := os.ReadDir(elsewhere); err != nil || len(names) != 1 {
		t.Errorf("elsewhere are %v (%v), want what was there", names, err)
	}
}

// TestLedgerWhenCallsFail: whichever call of the operating system fails in the process that runs the plan, the next run
// finds every report whole and makes what is not up to date.
func TestLedgerWhenCallsFail(t *testing.T) {
	files := map[string]string{"plan.toml": plan, "n.ipynb": "n", "in/a.csv": "a", "in/b.csv": "b"}
	run := func(folder string, f fileset.Fault) ([]Outcome, error) {
		defer fileset.Inject(f)()
		return attempt(context.Background(), folder, Options{Workers: 1})
	}
	calls := 0
	folder := put(t, files)
	if _, err := run(folder, func(string, string) error { calls++; return nil }); err != nil {
		t.Fatal(err)
	}
	if calls < 5 {
		t.Errorf("%d calls: the test shows too little", calls)
	}
	for at := range calls {
		folder := put(t, files)
		n, failed := -1, ""
		_, _ = run(folder, func(call, path string) error {
			if n++; n == at {
				failed = call + " " + filepath.Base(path)
				return syscall.EIO
			}
			return nil
		})
		regenerated(t, folder, Options{Workers: 1})
		if d := cmp.Diff([]string{"a.pdf 0 fresh", "b.pdf 0 fresh"}, regenerated(t, folder,
			Options{Workers: 1})); d != "" {
			t.Errorf("after %s failed (-want +got):\n%s", failed, d)
		}
		for _, unit := range []string{"a", "b"} {
			if data, err := os.ReadFile(filepath.Join(folder, "out", unit+".pdf")); string(data) != "1 "+unit {
				t.Errorf("after %s failed: %s.pdf holds %q, %v", failed, unit, data, err)
			}
		}
	}
	t.Logf("%d calls", calls)
}
