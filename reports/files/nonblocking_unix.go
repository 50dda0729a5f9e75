//go:build unix

package files

import "syscall"

// nonBlocking keeps an open from waiting for the other end of a pipe that has taken the place of a file.
const nonBlocking = syscall.O_NONBLOCK
