package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"path/filepath"
	"strconv"
	"strings"

	"wedgework/reports/files"
)

// Connection is what a connection file says: where the kernel listens and how messages are signed.
type Connection struct {
	Transport  string `json:"transport"` // "tcp" or "ipc"
	IP         string `json:"ip"`        // a host for tcp, the start of a path for ipc
	Shell      int    `json:"shell_port"`
	Control    int    `json:"control_port"`
	IOPub      int    `json:"iopub_port"`
	Stdin      int    `json:"stdin_port"`
	Heartbeat  int    `json:"hb_port"`
	Key        string `json:"key"`
	Scheme     string `json:"signature_scheme"`
	KernelName string `json:"kernel_name,omitempty"`
}

// longest is the most that is read of a connection file; real ones have a few hundred bytes.
const longest = 1 << 20

// ReadConnection reads a connection file. The error names the file and the field.
func ReadConnection(path string) (Connection, error) {
	data, err := files.ReadUpTo(path, longest)
	if err != nil {
		return Connection{}, fmt.Errorf("connection file: %w", err)
	}
	c, err := ParseConnection(data)
	if err == nil {
		err = c.unsigned(path)
	}
	if err != nil {
		return Connection{}, fmt.Errorf("connection file %s: %w", path, err)
	}
	return c, nil
}

// ParseConnection reads the text of a connection file and checks it. Fields it does not know are ignored, as
// front ends add their own; missing are only those with a default: transport (tcp), ip (127.0.0.1 for
// tcp) and signature_scheme (hmac-sha256).
func ParseConnection(data []byte) (Connection, error) {
	c := Connection{Transport: "tcp", Scheme: scheme}
	if err := json.Unmarshal(bytes.TrimPrefix(data, []byte("\ufeff")), &c); err != nil {
		var wrong *json.UnmarshalTypeError
		if errors.As(err, &wrong) && wrong.Field != "" {
			return Connection{}, fmt.Errorf("%s is a JSON %s, want %s", wrong.Field, wrong.Value,
				inWords[wrong.Type.Kind().String()])
		}
		return Connection{}, fmt.Errorf("not a JSON object: %w", err)
	}
	if c.IP == "" && c.Transport == "tcp" {
		c.IP = "127.0.0.1"
	}
	for _, p := range c.ports() {
		if p.number == 0 {
			return Connection{}, fmt.Errorf("%s is missing or 0, want the number of a port", p.name)
		}
	}
	return c, c.Check()
}

// unsigned refuses a connection without a key unless what leads to it is out of other users' reach: who can connect
// may run cells.
func (c Connection) unsigned(path string) error {
	if c.Key != "" {
		return nil
	}
	folders := []string{filepath.Dir(path)}
	if c.Transport == "ipc" {
		folders = append(folders, filepath.Dir(c.IP))
	}
	for _, folder := range folders {
		if !private(folder) {
			return fmt.Errorf("key is empty, and other users may look into %s: write a key into the file, or make "+
				"the folder private (chmod 700)", folder)
		}
	}
	return nil
}

var inWords = map[string]string{"int": "a whole number", "string": "text", "struct": "an object"}

type port struct {
	name   string
	number int
}

func (c Connection) ports() []port {
	return []port{
		{"shell_port", c.Shell}, {"control_port", c.Control}, {"iopub_port", c.IOPub},
		{"stdin_port", c.Stdin}, {"hb_port", c.Heartbeat},
	}
}

// Check reports what is wrong with a connection, if anything. A port of 0 passes: over tcp it stands for
// any that is free. An empty key passes on the machine itself only: anyone who reaches the
// ports may run cells. ReadConnection asks for more.
func (c Connection) Check() error {
	if c.Transport != "tcp" && c.Transport != "ipc" {
		return fmt.Errorf("transport is %q, want \"tcp\" or \"ipc\"", c.Transport)
	}
	if err := checkScheme(c.Scheme); err != nil {
		return err
	}
	highest := 65535
	if c.Transport == "ipc" {
		highest = 1<<31 - 1 // a port is only the end of a file name there
		if c.IP == "" || strings.ContainsRune(c.IP, 0) {
			return fmt.Errorf("ip is %q, want the start of a path for ipc", c.IP)
		}
	}
	taken := map[int]string{}
	for _, p := range c.ports() {
		if p.number < 0 || p.number > highest {
			return fmt.Errorf("%s is %d, want a port from 1 to %d", p.name, p.number, highest)
		}
		if other, twice := taken[p.number]; twice && p.number != 0 {
			return fmt.Errorf("%s and %s are both %d", other, p.name, p.number)
		}
		taken[p.number] = p.name
	}
	if c.Key == "" && c.Transport == "tcp" && !local(c.IP) {
		return fmt.Errorf("key is empty while ip is %q: without signatures only this machine may connect, want a key "+
			"or 127.0.0.1", c.IP)
	}
	return nil
}

func local(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// Address returns network and address of one of the ports, as package net takes them.
func (c Connection) Address(port int) (network, address string) {
	if c.Transport == "ipc" {
		return "unix", c.IP + "-" + strconv.Itoa(port)
	}
	host := c.IP
	if host == "*" {
		host = ""
	}
	return "tcp", net.JoinHostPort(host, strconv.Itoa(port))
}
