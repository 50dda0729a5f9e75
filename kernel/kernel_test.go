package kernel_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"wedgework/kernel"
	"wedgework/kernel/kerneltest"
	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
)

// A request's whole life: what is sent about it, in order, and what the reply holds.
func TestRequests(t *testing.T) {
	for _, tt := range []struct {
		name, request, content string
		want                   string // the types, in order
		reply                  string // a piece of the reply's content
	}{
		{"kernel info", "kernel_info_request", `{}`, "busy kernel_info_reply idle", `"protocol_version":"5.5"`},
		{"value", "execute_request", `{"code":"value 6"}`, "busy execute_input execute_result execute_reply idle",
			`"execution_count":1,"payload":[],"status":"ok","user_expressions":{}`},
		{"outputs", "execute_request", `{"code":"print a\nshow\nclear\nshow x\nupdate x"}`,
			"busy execute_input stream display_data clear_output display_data update_display_data execute_reply idle",
			`"status":"ok"`},
		{"failure", "execute_request", `{"code":"fail no unit\nprint never"}`,
			"busy execute_input error execute_reply idle",
			`"ename":"Error","evalue":"no unit","execution_count":1,"payload":[],"status":"error","traceback":["Error: no unit"],"user_expressions":{}`},
		{"silent", "execute_request", `{"code":"print a\nvalue 6","silent":true}`, "busy execute_reply idle",
			`"status":"ok"`},
		{"silent failure", "execute_request", `{"code":"fail x","silent":true}`, "busy execute_reply idle",
			`"status":"error"`},
		{"blank", "execute_request", `{"code":" \n"}`, "busy execute_input execute_reply idle", `"status":"ok"`},
		{"user expressions", "execute_request", `{"code":"","user_expressions":{"a":"x","b":"bad"}}`,
			"busy execute_input execute_reply idle",
			`"user_expressions":{"a":{"data":{"text/plain":"(x)"},"metadata":{},"status":"ok"},"b":{"ename":"NameError","evalue":"undefined: bad","status":"error","traceback":["undefined: bad"]}}`},
		{"page", "execute_request", `{"code":"page"}`, "busy execute_input execute_reply idle",
			`"payload":[{"data":{"text/plain":"a text"},"source":"page","start":0}]`},
		{"page with nobody there", "execute_request", `{"code":"page","allow_stdin":false}`,
			"busy execute_input display_data execute_reply idle", `"payload":[]`},
		{"question", "execute_request", `{"code":"wedge?"}`, "busy execute_input execute_reply idle",
			`"data":{"text/plain":"wedge!!!!!"}`},
		{"question for more", "execute_request", `{"code":"wedge??"}`, "busy execute_input execute_reply idle",
			`"data":{"text/plain":"wedge!!!!!+"}`},
		{"question about nothing", "execute_request", `{"code":"blub?"}`, "busy execute_input execute_reply idle",
			`There is nothing to say about blub.`},
		{"broken interpreter", "execute_request", `{"code":"panic"}`, "busy execute_input execute_reply idle",
			`"ename":"RequestError","evalue":"execute_request: the kernel failed: the interpreter is broken"`},
		{"wrong content", "execute_request", `{"code":7}`, "busy execute_reply idle",
			`"evalue":"execute_request: content: code is a JSON number, want string"`},
		{"complete", "complete_request", `{"code":"w","cursor_pos":1}`, "busy complete_reply idle",
			`"cursor_end":1,"cursor_start":0,"matches":["wedge"],"metadata":{"_jupyter_types_experimental":[{"end":1,"signature":"a part","start":0,"text":"wedge","type":"function"}]}`},
		{"complete beyond the end", "complete_request", `{"code":"äw","cursor_pos":99}`, "busy complete_reply idle",
			`"cursor_end":2`},
		{"complete at the end", "complete_request", `{"code":"äw"}`, "busy complete_reply idle", `"cursor_end":2`},
		{"inspect", "inspect_request", `{"code":"wedge","cursor_pos":2,"detail_level":1}`, "busy inspect_reply idle",
			`"data":{"text/plain":"wedge!!+"},"found":true`},
		{"inspect nothing", "inspect_request", `{"code":"","cursor_pos":-3}`, "busy inspect_reply idle",
			`"data":{},"found":false`},
		{"complete cell", "is_complete_request", `{"code":"1"}`, "busy is_complete_reply idle",
			`{"status":"complete"}`},
		{"incomplete cell", "is_complete_request", `{"code":"def f():"}`, "busy is_complete_reply idle",
			`{"indent":"    ","status":"incomplete"}`},
		{"complete question", "is_complete_request", `{"code":"wedge?"}`, "busy is_complete_reply idle",
			`{"status":"complete"}`},
		{"no history", "history_request", `{"hist_access_type":"tail","n":5,"output":false,"raw":true}`,
			"busy history_reply idle", `{"history":[],"status":"ok"}`},
		{"odd history", "history_request", `{"hist_access_type":"all"}`, "busy history_reply idle", `"status":"error"`},
		{"comms", "comm_info_request", `{}`, "busy comm_info_reply idle",
			`{"comms":{"one":{"target_name":"a target"}},"status":"ok"}`},
		{"comm for nobody", "comm_open", `{"comm_id":"7","target_name":"x","data":{}}`, "busy comm_close idle", ""},
		{"comm message", "comm_msg", `{"comm_id":"7","data":{"value":1}}`, "busy update_display_data idle", ""},
		{"comm end", "comm_close", `{"comm_id":"7","data":{}}`, "busy idle", ""},
		{"interrupt of nothing", "interrupt_request", `{}`, "busy interrupt_reply idle", `{"status":"ok"}`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := start(t)
			about := b.ask(tt.request, json.RawMessage(tt.content))
			if got := kerneltest.Summary(about); got != tt.want {
				t.Errorf("sent\n%s\nwant\n%s", got, tt.want)
			}
			if tt.reply == "" {
				return
			}
			text, err := json.Marshal(reply(t, about))
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(string(text), tt.reply) {
				t.Errorf("replied\n%s\nwant in it\n%s", text, tt.reply)
			}
		})
	}
}

// What the protocol has no name for is answered by busy and idle, and the next request as if nothing had been.
func TestUnknownRequest(t *testing.T) {
	b := start(t)
	m, err := b.client.Send(transport.Shell, "make_coffee", map[string]any{})
	if err != nil {
		t.Fatal(err)
	}
	if got := kerneltest.Summary(b.run("value 1")); !strings.Contains(got, "execute_result") {
		t.Errorf("afterwards sent %q", got)
	}
	if got := kerneltest.Summary(b.About(m)); got != "busy idle" {
		t.Errorf("sent %q, want busy and idle", got)
	}
}

// A cell on control would run beside the one on shell.
func TestCellOnControl(t *testing.T) {
	b := start(t)
	r := reply(t, b.askOn(transport.Control, "execute_request", map[string]any{"code": "value 1"}))
	if r["status"] != "error" || len(b.fake.ran) != 0 {
		t.Errorf("replied %v, ran %q; want an error", r, b.fake.ran)
	}
}

func TestCount(t *testing.T) {
	b := start(t)
	for _, tt := range []struct {
		content string
		want    string
	}{
		{`{"code":"value 1"}`, "1"},
		{`{"code":"value 1","store_history":false}`, "2"}, // the number that it does not take
		{`{"code":"fail x"}`, "2"},
		{`{"code":"","store_history":true}`, "3"},
		{`{"code":"value 1","silent":true,"store_history":true}`, "3"},
		{`{"code":"wedge?"}`, "3"},
		{`{"code":"value 1"}`, "4"},
	} {
		r := reply(t, b.ask("execute_request", json.RawMessage(tt.content)))
		if got := fmt.Sprint(r["execution_count"]); got != tt.want {
			t.Errorf("%s: count %s, want %s", tt.content, got, tt.want)
		}
	}
}

// Cells that wait behind one that fails are not run: those that its client had sent by then.
func TestAbort(t *testing.T) {
	b := start(t)
	other := b.Client("other")
	send := func(c *kerneltest.Client, msgType string, content map[string]any) *wire.Message {
		m, err := c.Send(transport.Shell, msgType, content)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	cell := func(code string) map[string]any { return map[string]any{"code": code} }
	first := send(b.client, "execute_request", cell("fail x"))
	second := send(b.client, "execute_request", cell("value 2"))
	info := send(b.client, "kernel_info_request", map[string]any{})
	others := send(other, "execute_request", cell("value others"))
	last := send(b.client, "execute_request", cell("value last"))
	for _, m := range []*wire.Message{first, second, info, others, last} {
		b.about(transport.Shell, m)
	}
	for _, tt := range []struct {
		m    *wire.Message
		want string
	}{
		{first, "busy execute_input error execute_reply idle"},
		{second, "busy execute_reply idle"},
		{info, "busy kernel_info_reply idle"},
		{others, "busy execute_input execute_result execute_reply idle"},
		{last, "busy execute_reply idle"},
	} {
		if got := kerneltest.Summary(b.About(tt.m)); got != tt.want {
			t.Errorf("%s: sent %q, want %q", tt.m.Content, got, tt.want)
		}
	}
	r := reply(t, b.About(second))
	if r["status"] != "error" || r["ename"] != "Aborted" {
		t.Errorf("replied %v, want the error Aborted", r)
	}
	if _, counted := r["execution_count"]; counted {
		t.Errorf("a cell that was not run has the count %v", r["execution_count"])
	}
	// What comes after the reply is a new beginning.
	if got := kerneltest.Summary(b.run("value 3")); !strings.Contains(got, "execute_result") {
		t.Errorf("afterwards sent %q", got)
	}
}

func TestNoAbortWhenAskedNotTo(t *testing.T) {
	b := start(t)
	m, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "fail x",
		"stop_on_error": false})
	if err != nil {
		t.Fatal(err)
	}
	next := b.run("value 1")
	b.about(transport.Shell, m)
	if got := kerneltest.Summary(next); !strings.Contains(got, "execute_result") {
		t.Errorf("sent %q, want a result", got)
	}
}

func TestInterrupt(t *testing.T) {
	b := start(t)
	m, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "print begun\nwait"})
	if err != nil {
		t.Fatal(err)
	}
	b.begun(m)
	b.askOn(transport.Control, "interrupt_request", map[string]any{})
	if r := reply(t, b.about(transport.Shell, m)); r["ename"] != "Interrupted" {
		t.Errorf("replied %v, want Interrupted", r)
	}
	b.run("value 1") // as usable as before
}

// begun waits for the first output of a cell.
func (b *bench) begun(m *wire.Message) {
	b.t.Helper()
	if err := b.Wait(func(log []kerneltest.Record) bool {
		return strings.Contains(kerneltest.Summary(kerneltest.About(log, m)), "stream")
	}); err != nil {
		b.t.Fatal(err)
	}
}

// Control is served beside shell.
func TestControlWhileACellRuns(t *testing.T) {
	b := start(t)
	m, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "print begun\nwait"})
	if err != nil {
		t.Fatal(err)
	}
	b.begun(m)
	b.askOn(transport.Control, "kernel_info_request", map[string]any{})
	if kerneltest.Done(b.About(m)) {
		t.Error("the cell is over")
	}
	b.kernel.Interrupt()
	b.about(transport.Shell, m)
}

func TestShutdown(t *testing.T) {
	for _, channel := range []transport.Channel{transport.Control, transport.Shell} {
		for _, restart := range []bool{true, false} {
			t.Run(fmt.Sprint(channel, restart), func(t *testing.T) {
				b := start(t)
				about := b.askOn(channel, "shutdown_request", map[string]any{"restart": restart})
				if got, want := kerneltest.Summary(about), "busy shutdown_reply shutdown_reply idle"; got != want {
					t.Errorf("sent %q, want %q: one for everybody, one for who asked", got, want)
				}
				if err := <-b.ended; err != nil || b.again != restart {
					t.Errorf("ended with restart %v and %v, want %v", b.again, err, restart)
				}
			})
		}
	}
}

// The end of the kernel interrupts the cell that runs, and answers it.
func TestShutdownWhileACellRuns(t *testing.T) {
	b := start(t)
	m, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "print begun\nwait"})
	if err != nil {
		t.Fatal(err)
	}
	b.begun(m)
	b.askOn(transport.Control, "shutdown_request", map[string]any{"restart": false})
	if r := reply(t, b.about(transport.Shell, m)); r["ename"] != "Interrupted" {
		t.Errorf("replied %v, want Interrupted", r)
	}
	if err := <-b.ended; err != nil {
		t.Error(err)
	}
}

// A cell that nothing can stop does not keep the kernel from its end. Time is that of the test.
func TestShutdownWhileACellHangs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := start(t)
		defer func() { // the cell then writes its history, into a folder that goes away with the test
			close(b.fake.release)
			synctest.Wait()
		}()
		m, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "print begun\nhang"})
		if err != nil {
			t.Fatal(err)
		}
		b.begun(m)
		began := time.Now()
		b.askOn(transport.Control, "shutdown_request", map[string]any{"restart": false})
		if err := <-b.ended; err != nil {
			t.Error(err)
		}
		if took := time.Since(began); took > 5*time.Second {
			t.Errorf("the end took %v", took)
		}
	})
}

func TestClosedSockets(t *testing.T) {
	b := start(t)
	b.run("value 1")
	b.Close()
	if err := <-b.ended; err == nil || !strings.Contains(err.Error(), "the sockets are closed") {
		t.Errorf("ended with %v, want that the sockets are closed", err)
	}
}

func TestEndOfContext(t *testing.T) {
	b := start(t)
	m, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "print begun\nwait"})
	if err != nil {
		t.Fatal(err)
	}
	b.begun(m)
	b.end()
	if err := <-b.ended; err != nil || b.again {
		t.Errorf("ended with restart %v and %v", b.again, err)
	}
	b.about(transport.Shell, m)
}

// The first to run a cell is told of what happened before, once.
func TestNotice(t *testing.T) {
	b := start(t, func(c *kernel.Config) { c.Notice = "cell 7 ended the kernel" })
	b.ask("execute_request", map[string]any{"code": "value 1", "silent": true})
	if got, want := kerneltest.Summary(b.run("value 1")),
		"busy execute_input stream execute_result execute_reply idle"; got != want {
		t.Errorf("sent %q, want %q", got, want)
	}
	if got, want := kerneltest.Summary(b.run("value 1")),
		"busy execute_input execute_result execute_reply idle"; got != want {
		t.Errorf("then sent %q, want %q", got, want)
	}
}

// watch notes what it is told.
type watch struct{ told []string }

func (w *watch) Begin(n int, source string) { w.told = append(w.told, fmt.Sprint(n, " ", source)) }
func (w *watch) End()                       { w.told = append(w.told, "end") }

func TestWatch(t *testing.T) {
	w := &watch{}
	b := start(t, func(c *kernel.Config) { c.Watch = w })
	b.run("value 1")
	b.run("fail x")
	if got, want := strings.Join(w.told, ", "), "1 value 1, end, 2 fail x, end"; got != want {
		t.Errorf("told %q, want %q", got, want)
	}
}

// The kernel tidies up when nobody has asked for anything for a while, once, and never while a cell runs.
func TestRest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var rests atomic.Int32
		b := start(t, func(c *kernel.Config) { c.Rest = func() { rests.Add(1) } })
		after := func(what string, wait time.Duration, want int32) {
			t.Helper()
			time.Sleep(wait)
			synctest.Wait()
			if got := rests.Load(); got != want {
				t.Errorf("%s: rested %d times, want %d", what, got, want)
			}
		}
		after("nothing was asked", time.Minute, 0)
		b.run("value 1")
		after("a moment later", 4*time.Second, 0)
		after("a while later", 2*time.Second, 1)
		after("a minute later", time.Minute, 1)
		m, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "wait"})
		if err != nil {
			t.Fatal(err)
		}
		after("while a cell runs", time.Minute, 1)
		b.kernel.Interrupt()
		b.about(transport.Shell, m)
		after("after it", 6*time.Second, 2)
	})
}

// What a cell prints is flushed while it runs.
func TestFlush(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := start(t)
		m, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "print begun\nwait"})
		if err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Second)
		b.fake.mu.Lock()
		if got := b.fake.flush; got < 15 || got > 25 {
			t.Errorf("flushed %d times in a second, want 20", got)
		}
		b.fake.mu.Unlock()
		b.kernel.Interrupt()
		b.about(transport.Shell, m)
	})
}

func TestHistory(t *testing.T) {
	b := start(t)
	for _, c := range []string{"value 1", "value 12", "print x", "value 1"} {
		b.run(c)
	}
	b.ask("execute_request", map[string]any{"code": "value hidden", "store_history": false})
	for _, tt := range []struct{ content, want string }{
		{`{"hist_access_type":"tail","n":2}`, `[[1,3,"print x"],[1,4,"value 1"]]`},
		{`{"hist_access_type":"tail","n":2,"output":true}`, `[[1,3,["print x",null]],[1,4,["value 1","1"]]]`},
		{`{"hist_access_type":"range","session":0,"start":2,"stop":4}`, `[[1,2,"value 12"],[1,3,"print x"]]`},
		{`{"hist_access_type":"range","session":1,"start":3}`, `[[1,3,"print x"],[1,4,"value 1"]]`},
		{`{"hist_access_type":"range","session":-1,"start":1}`, `[]`},
		{`{"hist_access_type":"search","pattern":"value*"}`, `[[1,1,"value 1"],[1,2,"value 12"],[1,4,"value 1"]]`},
		{`{"hist_access_type":"search","pattern":"value*","unique":true}`, `[[1,2,"value 12"],[1,4,"value 1"]]`},
		{`{"hist_access_type":"search","pattern":"value*","n":1}`, `[[1,4,"value 1"]]`},
		{`{"hist_access_type":"search"}`, `[[1,1,"value 1"],[1,2,"value 12"],[1,3,"print x"],[1,4,"value 1"]]`},
	} {
		r := reply(t, b.ask("history_request", json.RawMessage(tt.content)))
		got, err := json.Marshal(r["history"])
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != tt.want {
			t.Errorf("%s: got %s, want %s", tt.content, got, tt.want)
		}
	}
}

// A message on a comm says what waits behind it: of several on one comm only the last is drawn.
func TestOvertaken(t *testing.T) {
	b := start(t)
	hold, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "hang"})
	if err != nil {
		t.Fatal(err)
	}
	var all []*wire.Message
	for i := range 3 {
		m, err := b.client.Send(transport.Shell, "comm_msg", map[string]any{"comm_id": "one",
			"data": map[string]any{"value": i}})
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, m)
	}
	close(b.fake.release)
	b.about(transport.Shell, hold)
	for i, m := range all {
		want := "busy idle"
		if i == len(all)-1 {
			want = "busy update_display_data idle"
		}
		if got := kerneltest.Summary(b.about(transport.Shell, m)); got != want {
			t.Errorf("message %d: %s, want %s", i+1, got, want)
		}
	}
}
