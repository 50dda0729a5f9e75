package transport

import (
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"runtime"
	"syscall"
	"time"
)

// listen is net.Listen, except that it clears away the socket file of a process that is gone, and says what is
// wrong with a path that no socket can have.
func listen(network, address string) (net.Listener, error) {
	if network == "unix" {
		if longest := longestPath(); len(address) > longest {
			return nil, fmt.Errorf("the ipc path has %d bytes, more than the %d that a socket can have: %s",
				len(address), longest, address)
		}
		if err := clearStale(address); err != nil {
			return nil, err
		}
	}
	return net.Listen(network, address)
}

// longestPath is the length of sun_path less the closing zero, see unix(7).
func longestPath() int {
	if runtime.GOOS == "linux" || runtime.GOOS == "windows" {
		return 107
	}
	return 103
}

// clearStale removes the socket file at path when nobody listens there any more. It leaves any other kind of
// file alone.
func clearStale(path string) error {
	info, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if info.Mode()&fs.ModeSocket == 0 {
		return fmt.Errorf("ipc: %s exists and is not a socket", path)
	}
	conn, err := net.DialTimeout("unix", path, time.Second)
	if err == nil {
		conn.Close()
		return fmt.Errorf("ipc: another process listens at %s", path)
	}
	if !errors.Is(err, syscall.ECONNREFUSED) {
		return fmt.Errorf("ipc: cannot tell whether %s is in use: %w", path, err)
	}
	return os.Remove(path)
}
