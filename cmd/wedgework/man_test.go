package main

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"wedgework/reports/require"
)

// TestManPages: every command has a manual page that man reads without a complaint. WEDGEWORK_MAN=DIR keeps them there,
// for a package.
func TestManPages(t *testing.T) {
	folder := os.Getenv("WEDGEWORK_MAN")
	if folder == "" {
		folder = t.TempDir()
	}
	a := &app{out: io.Discard, err: io.Discard}
	root := a.root()
	root.DisableAutoGenTag = true // the date of the day, which would make every package another
	for _, c := range root.Commands() {
		c.DisableAutoGenTag = true
	}
	head := &doc.GenManHeader{Section: "1", Source: "wedgework " + release, Manual: "Wedgework"}
	if err := doc.GenManTree(root, head, folder); err != nil {
		t.Fatal(err)
	}
	var want []string
	var name func(c *cobra.Command)
	name = func(c *cobra.Command) {
		if c.IsAvailableCommand() || c == root {
			want = append(want, strings.ReplaceAll(c.CommandPath(), " ", "-")+".1")
		}
		for _, sub := range c.Commands() {
			name(sub)
		}
	}
	name(root)
	for _, page := range want {
		file := filepath.Join(folder, page)
		if _, err := os.Stat(file); err != nil {
			t.Error(err)
			continue
		}
		if groff, err := exec.LookPath("groff"); err == nil {
			out, err := exec.Command(groff, "-man", "-Tutf8", "-ww", "-z", file).CombinedOutput()
			if err != nil || len(out) > 0 {
				t.Errorf("%s: %v\n%s", page, err, out)
			}
		}
	}
	if _, err := exec.LookPath("groff"); err != nil {
		require.Missing(t, "the program groff is not installed")
	}
}

// TestShellCompletion: the script for bash is one that bash reads, and the program answers what it asks.
func TestShellCompletion(t *testing.T) {
	bash := require.Tool(t, "bash")
	var script, answers strings.Builder
	if status := run(t.Context(), []string{"completion", "bash"}, strings.NewReader(""), &script, io.Discard); status != 0 {
		t.Fatalf("exit status %d", status)
	}
	if !strings.Contains(script.String(), "complete -o default -F __start_wedgework wedgework") {
		t.Errorf("the script does not set the completion of wedgework up: %.200q", script.String())
	}
	check := exec.Command(bash, "-n")
	check.Stdin = strings.NewReader(script.String())
	if out, err := check.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
	run(t.Context(), []string{"__complete", "re"}, strings.NewReader(""), &answers, io.Discard)
	for _, want := range []string{"regenerate", "report", "reproduce"} {
		if !strings.Contains(answers.String(), want+"\t") {
			t.Errorf("re completes to %q, want %s among them", answers.String(), want)
		}
	}
}
