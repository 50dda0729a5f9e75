package main

import (
	"os"
	"os/exec"
	"strings"
	"testing"
	"unicode/utf8"
)

// Every module in the program must have its notice, in the version that is linked: a newer version may
// come under other terms. When this fails, run go generate ./cmd/wedgework.
func TestNoticesNameEveryModule(t *testing.T) {
	list := exec.Command("go", "list", "-deps", "-f",
		"{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}{{end}}{{end}}", ".")
	list.Stderr = os.Stderr
	out, err := list.Output()
	if err != nil {
		t.Fatal(err)
	}
	modules := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(modules) < 10 {
		t.Fatalf("go list names %d lines of modules, want those of the whole program", len(modules))
	}
	for _, m := range modules {
		if m != "" && !strings.Contains(notices, "\n"+m+" (") {
			t.Errorf("no notice for %s: run go generate ./cmd/wedgework", m)
		}
	}
}

func TestNoticesHoldTheTexts(t *testing.T) {
	for _, want := range []string{
		"Apache License\n                           Version 2.0, January 2004",
		"SIL OPEN FONT LICENSE Version 1.1",
		"Copyright 2009 The Go Authors.",
		"Attribution 4.0 International",
		"the Go standard library go1.",
	} {
		if !strings.Contains(notices, want) {
			t.Errorf("the notices lack %q", want)
		}
	}
	if !utf8.ValidString(notices) {
		t.Error("the notices are not in UTF-8")
	}
	for _, machine := range []string{"/pkg/mod/", "/usr/"} {
		if strings.Contains(notices, machine) {
			t.Errorf("the notices hold the path %s of the machine they were made on", machine)
		}
	}
}
