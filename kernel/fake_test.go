package kernel_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"wedgework/kernel"
	"wedgework/kernel/history"
	"wedgework/kernel/kerneltest"
	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
	"wedgework/reports/notebook"
)

// fake is an interpreter whose language has a few commands, one a line.
type fake struct {
	mu    sync.Mutex
	ran   []string // sources, in order
	flush int

	release chan struct{} // ends what nothing else can
}

func (f *fake) Run(ctx context.Context, c kernel.Cell, emit func(notebook.Output)) *notebook.Error {
	f.mu.Lock()
	f.ran = append(f.ran, c.Source)
	f.mu.Unlock()
	fail := func(name, value string) *notebook.Error {
		e := &notebook.Error{Name: name, Value: value, Traceback: []string{name + ": " + value}}
		emit(notebook.Output{Type: notebook.ErrorOutput, Error: e})
		return e
	}
	data := map[string]any{"text/plain": "a text"}
	for line := range strings.SplitSeq(c.Source, "\n") {
		word, rest, _ := strings.Cut(line, " ")
		switch word {
		case "print":
			emit(notebook.Output{Type: notebook.StreamOutput, Stream: "stdout", Text: rest + "\n"})
		case "show":
			emit(notebook.Output{Type: notebook.DisplayOutput, Data: data, DisplayID: rest})
		case "update":
			emit(notebook.Output{Type: notebook.UpdateOutput, Data: data, DisplayID: rest})
		case "clear":
			emit(notebook.Output{Type: notebook.ClearOutput, Wait: rest == "wait"})
		case "value":
			emit(notebook.Output{Type: notebook.ResultOutput, Data: map[string]any{"text/plain": rest}})
		case "page":
			if c.Page == nil {
				emit(notebook.Output{Type: notebook.DisplayOutput, Data: data})
			} else {
				c.Page(data)
			}
		case "fail":
			return fail("Error", rest)
		case "panic":
			panic("the interpreter is broken")
		case "wait":
			<-ctx.Done()
			return fail("Interrupted", "interrupted")
		case "hang":
			<-f.release
		}
	}
	return nil
}

func (f *fake) Flush() {
	f.mu.Lock()
	f.flush++
	f.mu.Unlock()
}

func (f *fake) Value(_ context.Context, expression string) (map[string]any, *notebook.Error) {
	if expression == "bad" {
		return nil, &notebook.Error{Name: "NameError", Value: "undefined: bad", Traceback: []string{"undefined: bad"}}
	}
	return map[string]any{"text/plain": "(" + expression + ")"}, nil
}

func (f *fake) IsComplete(source string) (status, indent string) {
	if strings.HasSuffix(source, ":") {
		return "incomplete", "    "
	}
	return "complete", ""
}

func (f *fake) Complete(source string, cursor int) kernel.Completion {
	return kernel.Completion{Start: cursor - 1, End: cursor, Matches: []kernel.Match{{Text: "wedge", Kind: "function",
		Detail: "a part"}}}
}

// Comm answers what it is told, but for what is overtaken.
func (f *fake) Comm(_ context.Context, m kernel.Comm, waiting []string, out kernel.Outlet) error {
	switch {
	case m.Type == "comm_open" && m.Target != "a target":
		out.Comm(kernel.Comm{Type: "comm_close", ID: m.ID})
	case m.Type == "comm_msg" && !slices.Contains(waiting, m.ID):
		out.Emit(notebook.Output{Type: notebook.UpdateOutput, DisplayID: m.ID,
			Data: map[string]any{"text/plain": fmt.Sprint(m.Data["value"])}})
	}
	return nil
}

func (f *fake) Comms(target string) map[string]string {
	return map[string]string{"one": "a target"}
}

func (f *fake) Inspect(source string, cursor, detail int) map[string]any {
	if !strings.HasPrefix(source, "wedge") {
		return nil
	}
	return map[string]any{"text/plain": source + strings.Repeat("!", cursor) + strings.Repeat("+", detail)}
}

// bench is a kernel on a table.
type bench struct {
	*kerneltest.Sockets
	t      *testing.T
	fake   *fake
	kernel *kernel.Kernel
	client *kerneltest.Client
	end    context.CancelFunc
	ended  chan error
	again  bool // what Serve reported
}

// start serves a kernel until the test ends.
func start(t *testing.T, change ...func(*kernel.Config)) *bench {
	t.Helper()
	b := &bench{Sockets: kerneltest.NewSockets(), t: t, fake: &fake{release: make(chan struct{})},
		ended: make(chan error, 1)}
	b.client = b.Client("client")
	config := kernel.Config{
		Sockets: b.Sockets, Author: wire.NewAuthor("kernel"), Interpreter: b.fake,
		History: history.New(t.TempDir() + "/history"),
		Info:    kernel.Info{Name: "test", Version: "1", Language: map[string]any{"name": "test"}},
		Log:     func(line string) { t.Log("log:", line) },
	}
	for _, c := range change {
		c(&config)
	}
	b.kernel = kernel.New(config)
	ctx, end := context.WithCancel(context.Background())
	b.end = end
	done := make(chan struct{})
	go func() {
		defer close(done)
		again, err := b.kernel.Serve(ctx)
		b.again = again
		b.ended <- err
	}()
	t.Cleanup(func() {
		end()
		<-done
	})
	return b
}

// ask asks on shell and checks the exchange.
func (b *bench) ask(msgType string, content any) []kerneltest.Record {
	b.t.Helper()
	return b.askOn(transport.Shell, msgType, content)
}

func (b *bench) askOn(channel transport.Channel, msgType string, content any) []kerneltest.Record {
	b.t.Helper()
	m, err := b.client.Send(channel, msgType, content)
	if err != nil {
		b.t.Fatal(err)
	}
	return b.about(channel, m)
}

func (b *bench) about(channel transport.Channel, m *wire.Message) []kerneltest.Record {
	b.t.Helper()
	if err := b.Wait(func(log []kerneltest.Record) bool {
		return kerneltest.Done(kerneltest.About(log,
			m))
	}); err != nil {
		b.t.Fatal(err)
	}
	about := b.About(m)
	if err := kerneltest.Check(about, []kerneltest.Request{{Message: m, Channel: channel}}, true); err != nil {
		b.t.Error(err)
	}
	return about
}

// run runs a cell.
func (b *bench) run(code string) []kerneltest.Record {
	b.t.Helper()
	return b.ask("execute_request", map[string]any{"code": code})
}

// reply is the content of the reply among records, "" when there is none.
func reply(t *testing.T, about []kerneltest.Record) map[string]any {
	t.Helper()
	for _, r := range about {
		if r.Channel != transport.IOPub {
			return content(t, r)
		}
	}
	return nil
}

func content(t *testing.T, r kerneltest.Record) map[string]any {
	t.Helper()
	var c map[string]any
	if err := r.Read(&c); err != nil {
		t.Fatal(err)
	}
	return c
}
