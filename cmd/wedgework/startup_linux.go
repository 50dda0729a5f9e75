package main

import (
	"bufio"
	"fmt"
	"os"
	"reflect"
	"syscall"
)

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
