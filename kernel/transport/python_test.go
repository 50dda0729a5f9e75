package transport

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/kernel/wire"
	"wedgework/reports/require"
)

// python runs a script of testdata with the system's own Python, the one that Debian's packages belong to, and
// returns what it prints.
func python(t *testing.T, module, script string, args ...string) string {
	t.Helper()
	const program = "/usr/bin/python3"
	if err := exec.Command(program, "-c", "import "+module).Run(); err != nil {
		require.Missing(t, program+" has no module "+module)
	}
	var stderr strings.Builder
	cmd := exec.Command(program, append([]string{filepath.Join("testdata", script)}, args...)...)
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Errorf("%s: %v\n%s", script, err, stderr.String())
	}
	return strings.TrimSpace(string(out))
}

// libzmq disconnects a peer that does not answer its heartbeats; the library alone hands them on as messages, and
// its peers lose their connection every 0.3 s of this test.
func TestHeartbeatsOfLibzmq(t *testing.T) {
	for name, c := range map[string]wire.Connection{"tcp": onTCP(), "ipc": onIPC(t)} {
		t.Run(name, func(t *testing.T) {
			s, j := open(t, c, Options{})
			go ours{s, wire.NewAuthor("kernel")}.run()
			if got, want := python(t, "zmq", "heartbeats.py", zmqAddress(s, Shell), zmqAddress(s, IOPub), testKey),
				"0 disconnected"; got != want {
				t.Errorf("got %q, want %q; the log: %q", got, want, j.all())
			}
		})
	}
}

// zmqAddress is the address of a channel as ZeroMQ spells it.
func zmqAddress(s *Sockets, channel Channel) string {
	network, address := s.connection.Address(*s.port(channel))
	return map[string]string{"tcp": "tcp://", "unix": "ipc://"}[network] + address
}

// The client library of the front ends finds the kernel, and is told everything about its first request although its
// subscription comes after the reply. At the end the last message arrives although we close at once.
func TestClientLibrary(t *testing.T) {
	for name, c := range map[string]wire.Connection{"tcp": onTCP(), "ipc": onIPC(t)} {
		t.Run(name, func(t *testing.T) {
			s, j := open(t, c, Options{})
			file := filepath.Join(t.TempDir(), "kernel.json")
			text, err := json.Marshal(s.Connection())
			must(t, err)
			must(t, os.WriteFile(file, text, 0o600))
			done := make(chan error, 1)
			go func() { done <- kernelFor(s) }()
			got := python(t, "jupyter_client", "client.py", file)
			if want := "replied\npublished\nready\nasked\nanswered\nlast"; got != want {
				t.Errorf("got\n%s\nwant\n%s\nthe log: %q", got, want, j.all())
				return
			}
			if err := <-done; err != nil {
				t.Error(err)
			}
			if lines := j.all(); len(lines) > 0 {
				t.Errorf("a well-behaved client fills the log: %q", lines)
			}
		})
	}
}

// kernelFor is the least kernel that a client gets along with.
func kernelFor(s *Sockets) error {
	o := ours{s, wire.NewAuthor("kernel")}
	for {
		channel, m, err := s.Receive(context.Background(), Control, Shell)
		if errors.Is(err, ErrClosed) {
			return nil
		}
		if err != nil {
			return err
		}
		o.about(m, "busy")
		content := map[string]any{"status": "ok", "protocol_version": wire.Version, "implementation": "test",
			"language_info": map[string]any{}}
		if m.Header.Type == "execute_request" {
			ask, err := o.author.Reply(m, "input_request", map[string]any{"prompt": "", "password": false})
			if err != nil {
				return err
			}
			if err := s.Send(Stdin, ask); err != nil {
				return err
			}
			_, answer, err := s.Receive(context.Background(), Stdin)
			if err != nil {
				return err
			}
			var input struct {
				Value string `json:"value"`
			}
			if err := answer.Read(&input); err != nil {
				return err
			}
			content["value"] = input.Value
		}
		r, err := o.author.Reply(m, strings.Replace(m.Header.Type, "_request", "_reply", 1), content)
		if err != nil {
			return err
		}
		if err := s.Send(channel, r); err != nil {
			return err
		}
		o.about(m, "idle")
		if m.Header.Type == "shutdown_request" {
			last, err := o.author.Publication(m, "last", map[string]any{})
			if err != nil {
				return err
			}
			if err := s.Publish(last); err != nil {
				return err
			}
			return s.Close(context.Background())
		}
	}
}
