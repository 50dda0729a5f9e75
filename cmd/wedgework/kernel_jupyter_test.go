package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/kernel/kernelspec"
	"wedgework/reports/notebook"
	"wedgework/reports/require"
)

// jupyter is a place of its own for Jupyter's programs, with the kernel installed.
type jupyter struct {
	t   testing.TB
	dir string
	env []string
}

// installed installs the kernel as a person would, but where nobody else looks. The modules are those of the
// system's Python that the test needs.
func installed(t testing.TB, modules ...string) jupyter {
	t.Helper()
	const python = "/usr/bin/python3"
	for _, m := range modules {
		if err := exec.Command(python, "-c", "import "+m).Run(); err != nil {
			require.Missing(t, python+" has no module "+m)
		}
	}
	j := jupyter{t: t, dir: t.TempDir()}
	j.env = append(os.Environ(),
		"JUPYTER_PATH="+filepath.Join(j.dir, "prefix", "share", "jupyter"),
		"JUPYTER_DATA_DIR="+filepath.Join(j.dir, "data"),
		"JUPYTER_CONFIG_DIR="+filepath.Join(j.dir, "config"),
		"JUPYTER_RUNTIME_DIR="+filepath.Join(j.dir, "runtime"),
		"XDG_STATE_HOME="+filepath.Join(j.dir, "state"),
		"IPYTHONDIR="+filepath.Join(j.dir, "ipython"),
		"HOME="+j.dir, "PYTHONDONTWRITEBYTECODE=1",
		"GORACE=atexit_sleep_ms=0 "+os.Getenv("GORACE"),
	)
	j.run("", "wedgework", "kernel", "install", "--prefix", filepath.Join(j.dir, "prefix"))
	return j
}

// run runs a program, which must succeed, and returns what it prints.
func (j jupyter) run(stdin, program string, args ...string) string {
	j.t.Helper()
	var stderr strings.Builder
	cmd := exec.Command(program, args...)
	cmd.Env, cmd.Stderr, cmd.Stdin = j.env, &stderr, strings.NewReader(stdin)
	out, err := cmd.Output()
	if err != nil {
		j.t.Fatalf("%s: %v\n%s\n%s", program, err, out, stderr.String())
	}
	return string(out)
}

func (j jupyter) python(script string, args ...string) string {
	j.t.Helper()
	return j.run("", "/usr/bin/python3", append([]string{filepath.Join("testdata", "jupyter", script)}, args...)...)
}

// The test suite of the protocol: package jupyter_kernel_test 0.4.5 of Debian 12, all of its parts.
func TestConformance(t *testing.T) {
	require.Thorough(t, "the tests of the protocol take seven seconds")
	j := installed(t, "jupyter_kernel_test")
	if got, want := strings.TrimSpace(j.python("conformance.py")), "12 run, 0 failed, 0 skipped"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// The kernel's process: interrupts, restarts, ends of every kind, and what the next process says about them.
func TestProcess(t *testing.T) {
	require.Thorough(t, "a kernel that is killed and restarted by a front end takes ten seconds")
	j := installed(t, "jupyter_client")
	restarts := "3"
	if os.Getenv("WEDGEWORK_SOAK") == "1" {
		restarts = "1000" // about ten minutes
	}
	const restarted = "The kernel was restarted: it stopped while cell 2 was running, "
	const cell = " All names are lost; rerun the cells you need. The cell:\n    "
	want := []string{
		"ok | 42",
		"message: Interrupted",
		"signal: Interrupted ok | 42",
		"restarted: ok | 2",
		"after a kill: ok | stderr: " + restarted + "killed from outside or for an unknown reason." + cell +
			"y = 1\n    print('begun')\n    while True:\n        pass\n | 2",
		"and then: ok | 2",
		"ended: True",
		"restarts over tcp: 0 socket files, 1 file",
		"restarts over ipc: 5 socket files, 1 file",
		"terminated: status 0",
		"out of memory: ok | stderr: " + restarted + "because it needed more memory than the limit of 512 MiB." + cell +
			"big = [str(i) * 4000000 for i in range(100)]\n | 2",
		"orphan: gone",
	}
	got := j.python("process.py", restarts)
	if want := strings.Join(want, "\n") + "\n"; got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestNbconvert(t *testing.T) {
	require.Thorough(t, "nbconvert takes six seconds")
	j := installed(t, "nbconvert", "nbclient")
	path := filepath.Join(j.dir, "in.ipynb")
	writeNotebook(t, path, "x = 1550*nm\nprint('hello')", "x + 1*nm", "crystal('YVO4')")
	page := j.run("", require.Tool(t, "jupyter-nbconvert"), "--execute", "--to", "html", "--stdout", path)
	for _, want := range []string{"hello", "1551 nm", "birefringence", "highlight"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page has no %q", want)
		}
	}
	out := filepath.Join(j.dir, "out.ipynb")
	j.run("", require.Tool(t, "jupyter-nbconvert"), "--execute", "--to", "notebook", "--output", out, path)
	data, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	nb, err := notebook.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	if c := nb.Cells[1]; c.Count != 2 || len(c.Outputs) != 1 || c.Outputs[0].Data["text/plain"] != "1551 nm" {
		t.Errorf("the second cell: %+v", c)
	}
	if got := nb.Language(); got != "starlark" {
		t.Errorf("language %q, want starlark", got)
	}
}

func writeNotebook(t testing.TB, path string, cells ...string) {
	t.Helper()
	writeKernelNotebook(t, path, kernelspec.Name, cells...)
}

// writeKernelNotebook writes a notebook for any kernel.
func writeKernelNotebook(t testing.TB, path, kernel string, cells ...string) {
	t.Helper()
	language := "python"
	if kernel == kernelspec.Name {
		language = "starlark"
	}
	nb := &notebook.Notebook{Minor: 5, Metadata: map[string]any{
		"kernelspec": map[string]any{"name": kernel, "display_name": kernel, "language": language},
	}}
	for i, source := range cells {
		nb.Cells = append(nb.Cells, notebook.Cell{ID: fmt.Sprint("cell", i), Type: notebook.CodeCell, Source: source})
	}
	data, err := nb.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

// The console writes errors to another stream of its terminal; see conformance.py for those.
func TestConsole(t *testing.T) {
	j := installed(t, "jupyter_console")
	got := j.run("x = 1550*nm\nx + 1*nm\nretarder?\nquit\n", require.Tool(t, "jupyter-console"), "--kernel",
		"wedgework", "--simple-prompt")
	for _, want := range []string{
		"Wedgework ", "Out[2]: 1551 nm",
		"wave plate, given by its retardance",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("the console shows no %q; it shows\n%s", want, got)
		}
	}
}
