package transport

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-zeromq/zmq4"

	"wedgework/kernel/wire"
)

// The tests of what the transport stands run it in a process of its own: this test binary again, told by
// the environment to serve. So a test can see it die, count its descriptors and its processor time, and do all
// the same to the sockets of the bare library.
const serveEnv = "WEDGEWORK_TRANSPORT_SERVE" // "ours" or "bare"

func TestMain(m *testing.M) {
	if kind := os.Getenv(serveEnv); kind != "" {
		if err := serve(kind, os.Stdin, os.Stdout); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// echo is what a server does, whichever sockets it has: every request on shell is answered, with a message
// published before and after; what comes on the heartbeat goes back.
type echo interface {
	connection() wire.Connection
	publish(text []byte)
	exit() error // what is left to do before the process ends
}

// serve runs an echo, and does what it is told line by line until the input ends: it answers each line with
// one. The first line of the input is the connection, the first of the output is that which it has got.
func serve(kind string, in io.Reader, out io.Writer) error {
	lines := bufio.NewScanner(in)
	lines.Scan()
	var c wire.Connection
	if err := json.Unmarshal(lines.Bytes(), &c); err != nil {
		return err
	}
	start := map[string]func(wire.Connection) (echo, error){"ours": startOurs, "bare": startBare}[kind]
	e, err := start(c)
	if err != nil {
		return err
	}
	text, err := json.Marshal(e.connection())
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%s\n", text)
	for lines.Scan() {
		var count, size int
		switch line := lines.Text(); {
		case scan(line, "publish %d of %d", &count, &size):
			text := bytes.Repeat([]byte("x"), size)
			for range count {
				e.publish(text)
			}
			fmt.Fprintln(out, "done")
		case scan(line, "exit after %d of %d", &count, &size):
			text := bytes.Repeat([]byte("x"), size)
			for range count {
				e.publish(text)
			}
			return e.exit()
		default:
			answer, err := account(line)
			if err != nil {
				return err
			}
			fmt.Fprintln(out, answer)
		}
	}
	return e.exit()
}

func scan(line, format string, into ...any) bool {
	n, err := fmt.Sscanf(line, format, into...)
	return err == nil && n == len(into)
}

type ours struct {
	*Sockets
	author *wire.Author
}

func (o ours) connection() wire.Connection { return o.Sockets.Connection() }

func startOurs(c wire.Connection) (echo, error) {
	s, err := Open(c, Options{Log: func(line string) { fmt.Fprintln(os.Stderr, "log:", line) },
		Handshake: 2 * time.Second})
	if err != nil {
		return nil, err
	}
	o := ours{s, wire.NewAuthor("kernel")}
	go o.run()
	return o, nil
}

func (o ours) run() {
	for {
		channel, m, err := o.Receive(context.Background())
		if err != nil {
			return
		}
		o.about(m, "busy")
		var content any
		m.Read(&content)
		reply, err := o.author.Reply(m, "execute_reply", content)
		if err == nil {
			o.Send(channel, reply) // the peer may be gone: not our affair here
		}
		o.about(m, "idle")
	}
}

func (o ours) about(m *wire.Message, state string) {
	status, err := o.author.Publication(m, "status", map[string]any{"execution_state": state})
	if err == nil {
		o.Publish(status)
	}
}

func (o ours) publish(text []byte) {
	m, err := o.author.Publication(nil, "stream", map[string]any{"name": "stdout", "text": string(text)})
	if err != nil {
		panic(err)
	}
	if err := o.Publish(m); err != nil {
		panic(err)
	}
}

func (o ours) exit() error { return o.Close(context.Background()) }

// bare has the sockets of the library, used as its examples do.
type bare struct {
	c            wire.Connection
	shell, iopub zmq4.Socket
}

func (b bare) connection() wire.Connection { return b.c }

func startBare(c wire.Connection) (echo, error) {
	ctx := context.Background()
	b := bare{c: c, shell: zmq4.NewRouter(ctx), iopub: zmq4.NewPub(ctx)}
	heartbeat := zmq4.NewRep(ctx)
	for _, l := range []struct {
		sck  zmq4.Socket
		port *int
	}{{b.shell, &b.c.Shell}, {b.iopub, &b.c.IOPub}, {heartbeat, &b.c.Heartbeat}} {
		network, address := c.Address(*l.port)
		scheme := map[string]string{"tcp": "tcp://", "unix": "ipc://"}[network]
		if err := l.sck.Listen(scheme + address); err != nil {
			return nil, err
		}
		if network == "tcp" {
			_, text, _ := strings.Cut(l.sck.Addr().String(), ":")
			fmt.Sscan(text, l.port)
		}
	}
	go func() {
		for {
			m, err := b.shell.Recv()
			if err != nil {
				return
			}
			about := append([][]byte{[]byte("status")}, m.Frames[1:]...)
			b.iopub.Send(zmq4.NewMsgFrom(append(about[:len(about):len(about)], []byte("busy"))...))
			b.shell.Send(m)
			b.iopub.Send(zmq4.NewMsgFrom(append(about[:len(about):len(about)], []byte("idle"))...))
		}
	}()
	go func() {
		for {
			m, err := heartbeat.Recv()
			if err != nil {
				return
			}
			heartbeat.Send(m)
		}
	}()
	return b, nil
}

func (b bare) publish(text []byte) { b.iopub.Send(zmq4.NewMsgFrom([]byte("stream"), text)) }
func (b bare) exit() error         { return nil } // the library has nothing that waits

// server is a serving process.
type server struct {
	wire.Connection
	cmd    *exec.Cmd
	in     io.WriteCloser
	out    *bufio.Reader
	mu     sync.Mutex
	stderr bytes.Buffer
	ended  chan error // gets the end of the process
	over   bool
}

func (s *server) Write(p []byte) (int, error) { // its standard error
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.stderr.Write(p)
}

func (s *server) log() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.stderr.String()
}

// onTCP is a connection at free ports of this machine.
func onTCP() wire.Connection {
	return wire.Connection{Transport: "tcp", IP: "127.0.0.1", Key: testKey, Scheme: "hmac-sha256"}
}

// onIPC is a connection in a short folder of its own.
func onIPC(t testing.TB) wire.Connection {
	t.Helper()
	dir, err := os.MkdirTemp("", "w") // t.TempDir is too long for a socket with some test names
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return wire.Connection{Transport: "ipc", IP: filepath.Join(dir, "k"), Key: testKey, Scheme: "hmac-sha256",
		Shell: 1, IOPub: 2, Stdin: 3, Control: 4, Heartbeat: 5}
}

// start runs a server; the error holds what it wrote to standard error when it does not come up.
func start(t testing.TB, kind string, c wire.Connection) (*server, error) {
	t.Helper()
	s := &server{cmd: exec.Command(os.Args[0], "-test.run=^$"), ended: make(chan error, 1)}
	// The race detector sleeps for a second before it lets a process exit, unless told not to.
	s.cmd.Env = append(os.Environ(), serveEnv+"="+kind, "GORACE=atexit_sleep_ms=0 "+os.Getenv("GORACE"))
	s.cmd.Stderr = s
	var err error
	if s.in, err = s.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	s.out = bufio.NewReader(out)
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if !s.over {
			s.cmd.Process.Kill()
			s.cmd.Wait()
		}
	})
	text, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := s.tell(string(text))
	if err != nil {
		return nil, fmt.Errorf("the server does not start: %w", s.end())
	}
	if err := json.Unmarshal([]byte(answer), &s.Connection); err != nil {
		t.Fatal(err)
	}
	return s, nil
}

// tell gives the server a line and returns its answer.
func (s *server) tell(line string) (string, error) {
	if _, err := io.WriteString(s.in, line+"\n"); err != nil {
		return "", err
	}
	answer, err := s.out.ReadString('\n')
	return strings.TrimSpace(answer), err
}

// end ends the input of the server, unless it ends by itself, and waits for it to exit. The error is not nil
// unless it exits with status 0.
func (s *server) end() error {
	s.in.Close()
	io.Copy(io.Discard, s.out)
	s.over = true
	timer := time.AfterFunc(patience, func() { s.cmd.Process.Kill() })
	defer timer.Stop()
	if err := s.cmd.Wait(); err != nil {
		head, _, _ := strings.Cut(s.log(), "\n\n")
		return fmt.Errorf("%w: %.400s", err, head)
	}
	return nil
}
