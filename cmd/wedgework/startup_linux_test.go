package main

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// The code of a start-up leaves the memory, and what is called afterwards works.
func TestReleaseStartup(t *testing.T) {
	before := resident(t, "RssFile:")
	releaseStartup()
	if after := resident(t, "RssFile:"); after >= before {
		t.Errorf("%d kB of files are resident, as many as the %d kB before", after, before)
	}
	if info := kernelInfo(); info.Name == "" {
		t.Error("the kernel has no name")
	}
}

var held []byte

// What a large cell has taken goes back to the system.
func TestGiveBack(t *testing.T) {
	held = make([]byte, 256<<20)
	for i := 0; i < len(held); i += 4096 {
		held[i] = 1
	}
	full := resident(t, "RssAnon:")
	held = nil
	giveBack()
	if back := full - resident(t, "RssAnon:"); back < 250<<10 {
		t.Errorf("%d kB went back, want the 256 MiB that are garbage", back)
	}
}

// resident is how much of the process's memory is of a kind that the system tells of, in kB.
func resident(t *testing.T, kind string) (n int) {
	t.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip("this system does not tell what is resident")
	}
	_, line, found := strings.Cut(string(text), kind)
	if !found {
		t.Skip("this system does not tell what is resident of each kind")
	}
	if _, err := fmt.Sscan(line, &n); err != nil {
		t.Fatal(err)
	}
	return n
}
