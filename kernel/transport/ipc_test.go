package transport

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"wedgework/kernel/wire"
)

// ipcRows are what goes wrong before a server is up.
var ipcRows = []struct {
	name, bare string
	check      func(t *testing.T, kind string) error
}{
	{"the socket file of a process that was killed", "listen fails: address already in use", staleSocket},
	{"a path longer than a socket can have", "listen fails: invalid argument, which says nothing", longSocket},
}

func TestStandsIPC(t *testing.T) {
	for _, r := range ipcRows {
		t.Run(r.name, func(t *testing.T) {
			if err := r.check(t, "ours"); err != nil {
				t.Error(err)
			}
			if !*bareFlag {
				return
			}
			err := r.check(t, "bare")
			if err == nil {
				t.Fatalf("the library stands this; the row says: %s", r.bare)
			}
			t.Logf("%v\nthe row says: %s", err, r.bare)
		})
	}
}

// staleSocket kills a server and starts another at the same place.
func staleSocket(t *testing.T, kind string) error {
	c := onIPC(t)
	first, err := start(t, kind, c)
	if err != nil {
		return err
	}
	first.cmd.Process.Kill()
	first.end()
	if _, err := os.Lstat(c.IP + "-1"); err != nil {
		return fmt.Errorf("the killed process leaves no file: %w", err)
	}
	second, err := start(t, kind, c)
	if err != nil {
		return err
	}
	if err := askAnew(second.Connection, "second"); err != nil {
		return err
	}
	if err := second.end(); err != nil {
		return err
	}
	if left, err := os.ReadDir(c.IP[:strings.LastIndexByte(c.IP, '/')]); err != nil || len(left) > 0 {
		return fmt.Errorf("%d files left and %v, want none", len(left), err)
	}
	return nil
}

// longSocket wants to be told the length.
func longSocket(t *testing.T, kind string) error {
	at := func(length int) wire.Connection {
		c := onIPC(t)
		c.IP += strings.Repeat("x", length-len(c.IP)-len("-1"))
		return c
	}
	s, err := start(t, kind, at(longestPath()))
	if err != nil {
		return fmt.Errorf("the longest path that works: %w", err)
	}
	if err := askAnew(s.Connection, "at the longest path"); err != nil {
		return err
	}
	if err := s.end(); err != nil {
		return err
	}
	_, err = start(t, kind, at(longestPath()+1))
	if err == nil {
		return errors.New("a path too long for a socket is accepted")
	}
	if want := fmt.Sprintf("the ipc path has %d bytes, more than the %d that a socket can have", longestPath()+1,
		longestPath()); !strings.Contains(err.Error(), want) {
		return fmt.Errorf("the error is %q, want %q", err, want)
	}
	return nil
}
