package main

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// The code of a start-up leaves the memory, and what is called afterwards works.
func TestReleaseStartup(t *testing.T) {
	before := residentFiles(t)
	releaseStartup()
	if after := residentFiles(t); after >= before {
		t.Errorf("%d kB of files are resident, as many as the %d kB before", after, before)
	}
	if info := kernelInfo(); info.Name == "" {
		t.Error("the kernel has no name")
	}
}

// residentFiles is how much of the process's memory is pages of files, the program's own among them, in kB.
func residentFiles(t *testing.T) (n int) {
	t.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip("this system does not tell what is resident")
	}
	_, line, found := strings.Cut(string(text), "RssFile:")
	if !found {
		t.Skip("this system does not tell which pages are of files")
	}
	if _, err := fmt.Sscan(line, &n); err != nil {
		t.Fatal(err)
	}
	return n
}
