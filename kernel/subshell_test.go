package kernel_test

import (
	"fmt"
	"strings"
	"testing"

	"wedgework/kernel/kerneltest"
	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
)

// subshell creates a subshell and returns its id.
func (b *bench) subshell() string {
	b.t.Helper()
	r := reply(b.t, b.askOn(transport.Control, "create_subshell_request", map[string]any{}))
	id, _ := r["subshell_id"].(string)
	if r["status"] != "ok" || id == "" {
		b.t.Fatalf("replied %v, want the id of a subshell", r)
	}
	return id
}

// in sends a request to a subshell and waits until it is answered.
func (b *bench) in(subshell, msgType string, content any) []kerneltest.Record {
	b.t.Helper()
	m, err := b.client.SendTo(transport.Shell, subshell, msgType, content)
	if err != nil {
		b.t.Fatal(err)
	}
	return b.about(transport.Shell, m)
}

// The life of subshells, by protocol 5.5: created, listed and deleted on control, unknown ones refused.
func TestSubshells(t *testing.T) {
	b := start(t)
	list := func() string {
		t.Helper()
		return fmt.Sprint(reply(t, b.askOn(transport.Control, "list_subshell_request", map[string]any{}))["subshell_id"])
	}
	if got := list(); got != "[]" {
		t.Errorf("at first there are %s", got)
	}
	one, two := b.subshell(), b.subshell()
	if got, want := list(), fmt.Sprintf("[%s %s]", one, two); got != want {
		t.Errorf("there are %s, want %s", got, want)
	}
	about := b.in(one, "kernel_info_request", map[string]any{})
	if got := fmt.Sprint(reply(t, about)["supported_features"]); got != "[kernel subshells]" {
		t.Errorf("supported features %s", got)
	}
	for _, r := range about {
		if r.Parent.Subshell != one {
			t.Errorf("%s: the parent header names subshell %q, want %q", r.Header.Type, r.Parent.Subshell, one)
		}
		if r.Header.Subshell != "" {
			t.Errorf("%s: a message of the kernel names a subshell of its own", r.Header.Type)
		}
	}
	gone := map[string]any{"subshell_id": one}
	if r := reply(t, b.askOn(transport.Control, "delete_subshell_request", gone)); r["status"] != "ok" {
		t.Errorf("deleting replied %v", r)
	}
	if got, want := list(), fmt.Sprintf("[%s]", two); got != want {
		t.Errorf("there are %s, want %s", got, want)
	}
	for name, about := range map[string][]kerneltest.Record{
		"deleted twice":      b.askOn(transport.Control, "delete_subshell_request", gone),
		"a deleted one":      b.in(one, "kernel_info_request", map[string]any{}),
		"one that never was": b.in("7", "execute_request", map[string]any{"code": "value 1"}),
		"created on shell":   b.ask("create_subshell_request", map[string]any{}),
	} {
		if r := reply(t, about); r["status"] != "error" {
			t.Errorf("%s: replied %v, want an error", name, r)
		}
	}
	if got := kerneltest.Summary(b.run("value 1")); !strings.Contains(got, "execute_result") {
		t.Errorf("afterwards the main shell sent %q", got)
	}
}

// While a cell runs a subshell answers, one request after another; the cell keeps its number and its history.
func TestSubshellWhileACellRuns(t *testing.T) {
	b := start(t)
	id := b.subshell()
	m, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "print begun\nwait"})
	if err != nil {
		t.Fatal(err)
	}
	b.begun(m)
	behind, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "value 3"})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		request string
		content map[string]any
		want    string
	}{
		{"comm_msg", map[string]any{"comm_id": "one", "data": map[string]any{"value": 1}},
			"busy update_display_data idle"},
		{"complete_request", map[string]any{"code": "w", "cursor_pos": 1}, "busy complete_reply idle"},
		{"inspect_request", map[string]any{"code": "wedge", "cursor_pos": 1}, "busy inspect_reply idle"},
		{"execute_request", map[string]any{"code": "value 2", "user_expressions": map[string]any{"x": "1"}},
			"busy execute_input execute_result execute_reply idle"},
	} {
		if got := kerneltest.Summary(b.in(id, tt.request, tt.content)); got != tt.want {
			t.Errorf("%s: sent %q, want %q", tt.request, got, tt.want)
		}
	}
	if kerneltest.Done(b.About(m)) || len(b.About(behind)) > 0 {
		t.Error("the cell is over, or that behind it has begun")
	}
	b.askOn(transport.Control, "interrupt_request", map[string]any{})
	b.about(transport.Shell, m)
	b.about(transport.Shell, behind)
	r := reply(t, b.ask("history_request", map[string]any{"hist_access_type": "tail", "n": 5}))
	if got, want := fmt.Sprint(r["history"]), "[[1 1 print begun\nwait]]"; got != want {
		t.Errorf("history %s, want %s: nothing of the subshell, and nothing that was not run", got, want)
	}
}

// An interruption ends what subshells do too, and so does the end of the kernel.
func TestSubshellEnds(t *testing.T) {
	for _, request := range []string{"interrupt_request", "shutdown_request"} {
		b := start(t)
		m, err := b.client.SendTo(transport.Shell, b.subshell(), "execute_request", map[string]any{
			"code": "print begun\nwait"})
		if err != nil {
			t.Fatal(err)
		}
		b.begun(m)
		b.askOn(transport.Control, request, map[string]any{"restart": false})
		if r := reply(t, b.about(transport.Shell, m)); r["ename"] != "Interrupted" {
			t.Errorf("%s: replied %v, want Interrupted", request, r)
		}
	}
}

// Of too many subshells the one that was asked last longest ago gives way; what it was asked is still answered.
func TestMostSubshells(t *testing.T) {
	const most = 100
	b := start(t)
	first, second := b.subshell(), b.subshell()
	for range most - 2 {
		b.subshell()
	}
	b.in(first, "kernel_info_request", map[string]any{})
	b.subshell()
	for id, want := range map[string]string{first: "ok", second: "error"} {
		if r := reply(t, b.in(id, "kernel_info_request", map[string]any{})); r["status"] != want {
			t.Errorf("subshell %s replied %v, want %s", id, r, want)
		}
	}
}

// What waits for one shell is bounded by count: the rest stays with the sockets, and all of it is answered in the end.
func TestManyWait(t *testing.T) {
	const many = 4096 + 200
	b := start(t)
	hold, err := b.client.Send(transport.Shell, "execute_request", map[string]any{"code": "print begun\nhang"})
	if err != nil {
		t.Fatal(err)
	}
	b.begun(hold)
	var last *wire.Message
	for i := range many {
		if last, err = b.client.Send(transport.Shell, "comm_close", map[string]any{"comm_id": fmt.Sprint(i),
			"data": map[string]any{}}); err != nil {
			t.Fatal(err)
		}
	}
	close(b.fake.release)
	b.about(transport.Shell, last)
}
