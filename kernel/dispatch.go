package kernel

import (
	"fmt"
	"runtime/debug"

	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
	"wedgework/reports/notebook"
)

// request is a message that asks for something.
type request struct {
	*wire.Message
	channel transport.Channel
	shell   *shell // the line it came in; nil on control
	gone    bool   // its subshell is not there
	abort   bool   // a cell before it has failed
	after   func() // what nobody waits for: called when the request is answered; may be nil
}

// handler answers one type of request.
type handler struct {
	reply string                                   // the type of the reply; "" when the protocol has none
	shell bool                                     // only on shell, where one request comes after another
	other bool                                     // only on control
	run   func(k *Kernel, r *request) (any, error) // returns the content of the reply
}

// handlers is the table of requests. Each row has a file of its own.
func handlers() map[string]handler {
	return map[string]handler{
		"kernel_info_request": {reply: "kernel_info_reply", run: (*Kernel).kernelInfo},
		"execute_request":     {reply: "execute_reply", shell: true, run: (*Kernel).execute},
		"complete_request":    {reply: "complete_reply", run: (*Kernel).complete},
		"inspect_request":     {reply: "inspect_reply", run: (*Kernel).inspect},
		"is_complete_request": {reply: "is_complete_reply", run: (*Kernel).isComplete},
		"history_request":     {reply: "history_reply", run: (*Kernel).history},
		"comm_info_request":   {reply: "comm_info_reply", run: (*Kernel).commInfo},
		"comm_open":           {shell: true, run: (*Kernel).comm},
		"comm_msg":            {shell: true, run: (*Kernel).comm},
		"comm_close":          {shell: true, run: (*Kernel).comm},
		"interrupt_request":   {reply: "interrupt_reply", run: (*Kernel).interrupt},
		"shutdown_request":    {reply: "shutdown_reply", run: (*Kernel).shutdown},

		"create_subshell_request": {reply: "create_subshell_reply", other: true, run: (*Kernel).createSubshell},
		"delete_subshell_request": {reply: "delete_subshell_reply", other: true, run: (*Kernel).deleteSubshell},
		"list_subshell_request":   {reply: "list_subshell_reply", other: true, run: (*Kernel).listSubshells},
	}
}

// dispatch answers a request between busy and idle.
func (k *Kernel) dispatch(r *request) {
	k.publish(r, "status", status("busy"))
	defer func() {
		k.publish(r, "status", status("idle"))
		if r.after != nil {
			r.after()
		}
	}()
	h, known := k.handlers[r.Header.Type]
	if !known {
		k.Log(fmt.Sprintf("%s: %s is no request of protocol %s, or has no answer here", r.channel,
			printable(r.Header.Type), wire.Version))
		return
	}
	content, err := k.call(h, r)
	if err != nil {
		k.Log(fmt.Sprintf("%s: %v", r.channel, err))
		content = failure(&notebook.Error{Name: "RequestError", Value: err.Error(), Traceback: []string{err.Error()}})
	}
	if h.reply == "" {
		return
	}
	reply, err := k.Author.Reply(r.Message, h.reply, content)
	if err == nil {
		err = k.Sockets.Send(r.channel, reply)
	}
	if err != nil { // the client may be gone; nothing that it asked for is undone
		k.Log(err.Error())
	}
}

// call runs a handler. A fault of ours costs its request an answer, and no more than that.
func (k *Kernel) call(h handler, r *request) (content any, err error) {
	defer func() {
		if p := recover(); p != nil {
			k.Log(fmt.Sprintf("%s: %v\n%s", r.Header.Type, p, debug.Stack()))
			err = fmt.Errorf("%s: the kernel failed: %v", r.Header.Type, p)
		}
	}()
	if h.shell && r.channel != transport.Shell {
		return nil, fmt.Errorf("%s is a request for shell, it came in on %s", r.Header.Type, r.channel)
	}
	if h.other && r.channel != transport.Control {
		return nil, fmt.Errorf("%s is a request for control, it came in on %s", r.Header.Type, r.channel)
	}
	if r.gone {
		return nil, noSubshell(r.Header.Subshell)
	}
	return h.run(k, r)
}

// publish tells every subscriber; a nil request is for what none has caused.
func (k *Kernel) publish(r *request, msgType string, content any) {
	k.publishWith(r, msgType, content, nil)
}

// publishWith is publish for a message with metadata.
func (k *Kernel) publishWith(r *request, msgType string, content any, metadata map[string]any) {
	var parent *wire.Message
	if r != nil {
		parent = r.Message
	}
	m, err := k.Author.Publication(parent, msgType, content)
	if err == nil && metadata != nil {
		m.Metadata, err = wire.JSON(metadata)
	}
	if err == nil {
		err = k.Sockets.Publish(m)
	}
	if err != nil {
		k.Log(err.Error())
	}
}

func status(state string) map[string]any { return map[string]any{"execution_state": state} }

// failure is the content of a reply that tells of an error.
func failure(e *notebook.Error) map[string]any {
	return map[string]any{"status": "error", "ename": e.Name, "evalue": e.Value, "traceback": lines(e.Traceback)}
}

// lines is never null in JSON.
func lines(s []string) []string { return append([]string{}, s...) }

// printable is what a log may hold of a message.
func printable(s string) string { return fmt.Sprintf("%.60q", s) }
