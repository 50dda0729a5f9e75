package main

import (
	"bufio"
	"fmt"
	"os"
	"reflect"
	"syscall"
)

// firstHeap is what a process that makes one report comes to use, and hugePages what Linux calls MADV_HUGEPAGE.
const (
	firstHeap = 48 << 20
	hugePages = 14
)

// askForLargePages asks the system to give the heap that a report will need in pages of 2 MiB, where they are to be had
// for the asking. In small ones a short process pays for 7,000 of them one by one, a seventh of all its work. The
// runtime is made to map that much, which nothing has touched yet, and gets it back with the next collection.
func askForLargePages() {
	room := make([]byte, firstHeap)
	_ = syscall.Madvise(room, hugePages) // a system without them goes on as before
}

// unmapCode takes the program's code out of the process's memory, from where it comes back page by page as it is
// called: most of what a start-up calls is never called again. The pages belong to the file and are never written to,
// so nothing is lost. Where the system does not tell where the code is, it stays.
func unmapCode() {
	maps, err := os.Open("/proc/self/maps")
	if err != nil {
		return
	}
	defer maps.Close()
	here := reflect.ValueOf(unmapCode).Pointer()
	for s := bufio.NewScanner(maps); s.Scan(); {
		var start, end uintptr
		var mode string
		if _, err := fmt.Sscanf(s.Text(), "%x-%x %s", &start, &end, &mode); err != nil {
			return
		}
		if start <= here && here < end && mode == "r-xp" {
			syscall.Syscall(syscall.SYS_MADVISE, start, end-start, syscall.MADV_DONTNEED)
			return
		}
	}
}
