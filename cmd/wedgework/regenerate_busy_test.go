package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/gofrs/flock"

	"wedgework/reports/regenerate"
)

// TestRunsThatOverlap: while another run of a plan is at work, a second one is no failure: it says so, does nothing, and
// has an exit status of its own, so that a timer that comes too soon raises no alarm.
func TestRunsThatOverlap(t *testing.T) {
	folder := t.TempDir()
	t.Chdir(folder)
	plan := "[[report]]\nnotebook = \"n.ipynb\"\ndata.sweep = \"in/{unit}.csv\"\noutput = \"out/{unit}.pdf\"\n"
	for name, text := range map[string]string{"plan.toml": plan, "in/7.csv": "wavelength [nm]\n",
		"n.ipynb": `{"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}`} {
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir("out", 0o755); err != nil {
		t.Fatal(err)
	}
	other := flock.New(filepath.Join("out", regenerate.LockName))
	if held, err := other.TryLock(); err != nil || !held {
		t.Fatalf("the lock: %v, %v", held, err)
	}
	var out, said bytes.Buffer
	if status := run(t.Context(), []string{"regenerate", "plan.toml"}, strings.NewReader(""), &out, &said); status != 3 ||
		!strings.Contains(out.String()+said.String(), "nothing was done") {
		t.Errorf("beside another run: exit status %d\n%s%s", status, &out, &said)
	}
	if all, err := os.ReadDir("out"); err != nil || len(all) != 1 {
		t.Errorf("the folder has %v (%v), want the lock alone", all, err)
	}
}
