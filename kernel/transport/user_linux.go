package transport

import (
	"bufio"
	"net"
	"os"
	"strconv"
	"strings"
	"syscall"
)

// users tells which user of this machine is at the other end of a connection.
type users struct {
	own     uint64
	byPorts map[[2]int]uint64 // of connections over tcp, by the port there and the port here
}

// usersOf reads whose the connections to a listener are. What cannot be told is nobody's.
func usersOf(l net.Listener) users {
	u := users{own: uint64(os.Getuid()), byPorts: map[[2]int]uint64{}}
	if _, ok := l.Addr().(*net.TCPAddr); ok {
		for _, file := range []string{"/proc/net/tcp", "/proc/net/tcp6"} {
			u.read(file)
		}
	}
	return u
}

// read takes in a table of the kernel, see proc(5): the addresses are hexadecimal, HOST:PORT, and the eighth column is
// the user.
func (u *users) read(file string) {
	f, err := os.Open(file)
	if err != nil {
		return
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		columns := strings.Fields(lines.Text())
		if len(columns) < 8 {
			continue
		}
		from, okFrom := portOf(columns[1])
		to, okTo := portOf(columns[2])
		user, err := strconv.ParseUint(columns[7], 10, 32)
		if okFrom && okTo && err == nil {
			u.byPorts[[2]int{from, to}] = user
		}
	}
}

func portOf(address string) (int, bool) {
	_, port, _ := strings.Cut(address, ":")
	n, err := strconv.ParseUint(port, 16, 16)
	return int(n), err == nil
}

// foreign reports whether a connection is known to be that of another user.
func (u users) foreign(conn net.Conn) bool {
	switch c := conn.(type) {
	case *net.UnixConn:
		raw, err := c.SyscallConn()
		if err != nil {
			return false
		}
		var credentials *syscall.Ucred
		controlled := raw.Control(func(fd uintptr) {
			credentials, err = syscall.GetsockoptUcred(int(fd), syscall.SOL_SOCKET, syscall.SO_PEERCRED)
		})
		return controlled == nil && err == nil && uint64(credentials.Uid) != u.own
	case *net.TCPConn:
		there, _ := c.RemoteAddr().(*net.TCPAddr)
		here, _ := c.LocalAddr().(*net.TCPAddr)
		if there == nil || here == nil {
			return false
		}
		user, known := u.byPorts[[2]int{there.Port, here.Port}]
		return known && user != u.own
	}
	return false
}
