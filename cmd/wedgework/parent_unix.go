//go:build unix

package main

import (
	"context"
	"errors"
	"os"
	"strconv"
	"syscall"
	"time"
)

// watchParent calls orphaned when the front end that started the kernel is gone without asking for its end:
// nobody would ever end it otherwise. Front ends name themselves in JPY_PARENT_PID; a kernel started by hand
// belongs to nobody.
func watchParent(ctx context.Context, orphaned func()) {
	pid, err := strconv.Atoi(os.Getenv("JPY_PARENT_PID"))
	if err != nil || pid <= 1 {
		return
	}
	child := os.Getppid() == pid
	t := time.NewTicker(time.Second)
	defer t.Stop()
	for {
		// A child is handed on to another process when its parent ends. Where a script stands between, the
		// parent's number must still be somebody's.
		if child && os.Getppid() != pid || !child && errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
			orphaned()
			return
		}
		select {
		case <-ctx.Done():
			return
		case <-t.C:
		}
	}
}
