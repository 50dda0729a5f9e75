package wire

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

const file = `{"shell_port": 50001, "iopub_port": 50002, "stdin_port": 50003, "control_port": 50004, "hb_port": 50005,
	"ip": "127.0.0.1", "key": "a0436f6c", "transport": "tcp", "signature_scheme": "hmac-sha256", "kernel_name": "wedgework",
	"jupyter_session": "x.ipynb"}`

func TestParseConnection(t *testing.T) {
	c, err := ParseConnection([]byte(file))
	if err != nil {
		t.Fatal(err)
	}
	want := Connection{Transport: "tcp", IP: "127.0.0.1", Shell: 50001, IOPub: 50002, Stdin: 50003, Control: 50004,
		Heartbeat: 50005,
		Key:       "a0436f6c", Scheme: "hmac-sha256", KernelName: "wedgework"}
	if c != want {
		t.Errorf("got %+v, want %+v", c, want)
	}
	with := func(old, new string) string {
		if !strings.Contains(file, old) {
			t.Fatalf("no %q to replace", old)
		}
		return strings.Replace(file, old, new, 1)
	}
	for _, tt := range []struct{ name, text, want string }{
		{"as it is", file, ""},
		{"byte order mark", "\ufeff" + file, ""},
		{"defaults", `{"shell_port":1,"iopub_port":2,"stdin_port":3,"control_port":4,"hb_port":5,"key":"k"}`, ""},
		{"ipc", with(`"127.0.0.1", "key": "a0436f6c", "transport": "tcp"`,
			`"/run/kernel", "key": "", "transport": "ipc"`), ""},
		{"any address, with a key", with("127.0.0.1", "*"), ""},
		{"IPv6 without a key", with(`"127.0.0.1", "key": "a0436f6c"`, `"::1", "key": ""`), ""},
		{"no key anywhere", with(`"127.0.0.1", "key": "a0436f6c"`, `"0.0.0.0", "key": ""`),
			`key is empty while ip is "0.0.0.0": without signatures only this machine may connect, want a key or 127.0.0.1`},
		{"empty", "", "not a JSON object: unexpected end of JSON input"},
		{"a list", "[]", "not a JSON object: json: cannot unmarshal array into Go value of type wire.Connection"},
		{"no port", with(`"shell_port": 50001, `, ""), "shell_port is missing or 0, want the number of a port"},
		{"port as text", with("50001", `"50001"`), "shell_port is a JSON string, want a whole number"},
		{"port of a fraction", with("50001", `1.5`), "shell_port is a JSON number 1.5, want a whole number"},
		{"great port", with("50001", "65536"), "shell_port is 65536, want a port from 1 to 65535"},
		{"negative port", with("50005", "-1"), "hb_port is -1, want a port from 1 to 65535"},
		{"port twice", with("50005", "50002"), "iopub_port and hb_port are both 50002"},
		{"transport", with(`"tcp"`, `"udp"`), `transport is "udp", want "tcp" or "ipc"`},
		{"scheme", with("hmac-sha256", "hmac-sha512"), `signature_scheme is "hmac-sha512", want "hmac-sha256"`},
		{"key of a number", with(`"a0436f6c"`, `7`), "key is a JSON number, want text"},
		{"ipc without a path", with(`"127.0.0.1", "key": "a0436f6c", "transport": "tcp"`,
			`"", "key": "", "transport": "ipc"`),
			`ip is "", want the start of a path for ipc`},
	} {
		_, err := ParseConnection([]byte(tt.text))
		if tt.want == "" && err != nil || tt.want != "" && fmt.Sprint(err) != tt.want {
			t.Errorf("%s: error %v, want %q", tt.name, err, tt.want)
		}
	}
}

func TestReadConnection(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "kernel.json")
	write := func(text string) {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(file)
	if c, err := ReadConnection(path); err != nil || c.Shell != 50001 {
		t.Errorf("got %+v and %v, want shell 50001", c, err)
	}
	write("{}")
	if _, err := ReadConnection(path); fmt.Sprint(err) != "connection file "+path+": shell_port is missing or 0, "+
		"want the number of a port" {
		t.Errorf("error %v, want one that names file and field", err)
	}
	write(strings.Repeat(" ", longest+1))
	if _, err := ReadConnection(path); err == nil || !strings.Contains(err.Error(), "more than 1 MB") {
		t.Errorf("error %v, want one about the length", err)
	}
	if _, err := ReadConnection(filepath.Join(dir, "none")); err == nil || !strings.HasPrefix(err.Error(),
		"connection file: ") {
		t.Errorf("error %v, want one about a missing file", err)
	}
}

func TestAddress(t *testing.T) {
	for _, tt := range []struct {
		c    Connection
		want string
	}{
		{Connection{Transport: "tcp", IP: "127.0.0.1"}, "tcp 127.0.0.1:7"},
		{Connection{Transport: "tcp", IP: "::1"}, "tcp [::1]:7"},
		{Connection{Transport: "tcp", IP: "*"}, "tcp :7"},
		{Connection{Transport: "ipc", IP: "/run/k"}, "unix /run/k-7"},
	} {
		network, address := tt.c.Address(7)
		if got := network + " " + address; got != tt.want {
			t.Errorf("%+v: got %q, want %q", tt.c, got, tt.want)
		}
	}
}

// Without a key whoever reaches the sockets may run cells: the folder must be the user's own.
func TestEmptyKey(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("folders have no permissions here")
	}
	for _, tt := range []struct {
		name, transport, ip string
		file, sockets       os.FileMode
		want                string
	}{
		{"private", "tcp", "127.0.0.1", 0o700, 0o700, ""},
		{"for the group", "tcp", "127.0.0.1", 0o750, 0o700, "key is empty"},
		{"for all", "tcp", "127.0.0.1", 0o755, 0o700, "key is empty"},
		{"ipc, private", "ipc", "", 0o700, 0o700, ""},
		{"ipc, sockets for all", "ipc", "", 0o700, 0o755, "key is empty"},
		{"ipc, file for all", "ipc", "", 0o711, 0o700, "key is empty"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			folder, sockets := t.TempDir(), t.TempDir()
			ip := tt.ip
			if ip == "" {
				ip = filepath.Join(sockets, "kernel")
			}
			for dir, mode := range map[string]os.FileMode{folder: tt.file, sockets: tt.sockets} {
				if err := os.Chmod(dir, mode); err != nil {
					t.Fatal(err)
				}
			}
			path := filepath.Join(folder, "kernel.json")
			for key, want := range map[string]string{"": tt.want, "a0436f6c": ""} {
				text := fmt.Sprintf(`{"transport": %q, "ip": %q, "shell_port": 1, "control_port": 2, "iopub_port": 3, "stdin_port": 4, "hb_port": 5, "key": %q}`,
					tt.transport, ip, key)
				if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
				_, err := ReadConnection(path)
				if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
					t.Errorf("key %q: got %v, want %q", key, err, want)
				}
			}
		})
	}
}
