package kernel

import (
	"context"
	"maps"
	"slices"
	"strings"
	"time"

	"wedgework/kernel/history"
	"wedgework/reports/notebook"
)

// executeRequest is the content of an execute_request. Absent fields take the values that the protocol gives.
type executeRequest struct {
	Code            string            `json:"code"`
	Silent          bool              `json:"silent"`
	StoreHistory    *bool             `json:"store_history"`
	UserExpressions map[string]string `json:"user_expressions"`
	StopOnError     *bool             `json:"stop_on_error"`
	AllowStdin      *bool             `json:"allow_stdin"`
}

// flushEvery is how long printed text may wait before front ends get it: soon enough to look alive, and few
// enough messages that a chatty cell cannot drown a client. A choice.
const flushEvery = 50 * time.Millisecond

// execute runs a cell. Its number counts the cells that are stored; one that is not stored shows the number
// that it does not take. A subshell evaluates one expression, beside the cells, and stores nothing.
func (k *Kernel) execute(r *request) (any, error) {
	var q executeRequest
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	if r.abort {
		return abortedReply(), nil
	}
	cell := Cell{
		Number: int(k.count.Load()) + 1, Silent: q.Silent, Source: q.Code, Aside: r.shell.subshell(),
		Comm: func(m Comm) { k.sendComm(r, m) },
	}
	cell.Stored = orTrue(q.StoreHistory) && !q.Silent && !cell.Aside && strings.TrimSpace(q.Code) != ""
	if cell.Stored {
		k.count.Add(1)
	}
	if !q.Silent {
		k.publish(r, "execute_input", map[string]any{"code": q.Code, "execution_count": cell.Number})
	}
	if !q.Silent && !cell.Aside {
		k.notice(r)
	}
	payload := []any{}
	page := func(data map[string]any) {
		payload = append(payload, map[string]any{"source": "page", "start": 0, "data": data})
	}
	var failed *notebook.Error
	if answer := k.page(q.Code); answer != nil {
		page(answer)
	} else {
		if orTrue(q.AllowStdin) { // where nobody could answer, nobody reads; such clients keep outputs, and no pages
			cell.Page = page
		}
		failed = k.run(r, cell)
	}
	var content map[string]any
	if failed != nil {
		content = failure(failed)
		if orTrue(q.StopOnError) {
			k.abortQueued(r)
		}
	} else {
		content = map[string]any{"status": "ok"}
	}
	content["execution_count"] = cell.Number
	content["payload"] = payload
	content["user_expressions"] = k.values(q.UserExpressions, failed)
	return content, nil
}

func orTrue(b *bool) bool { return b == nil || *b }

// notice shows once what the user must know about the process before this one.
func (k *Kernel) notice(r *request) {
	if k.Notice != "" && !k.noticed {
		k.noticed = true
		k.output(r, notebook.Output{Type: notebook.StreamOutput, Stream: "stderr", Text: strings.TrimRight(k.Notice,
			"\n") + "\n"})
	}
}

// run runs a cell with its outputs published, and has it stored.
func (k *Kernel) run(r *request, cell Cell) *notebook.Error {
	if k.Watch != nil && !cell.Aside { // there is one note, of the cell that runs
		k.Watch.Begin(cell.Number, cell.Source)
		defer k.Watch.End()
	}
	ctx, cancel := k.interruptible()
	defer cancel()
	stop := func() {}
	if !cell.Aside {
		stop = k.flushing()
	}
	var result string
	failed := k.Interpreter.Run(ctx, cell, func(o notebook.Output) {
		if text, ok := o.Data["text/plain"].(string); ok && o.Type == notebook.ResultOutput {
			result = text
		}
		if !cell.Silent {
			o.Count = cell.Number
			k.output(r, o)
		}
	})
	stop()
	if cell.Stored && k.History != nil {
		r.after = func() {
			if err := k.History.Append(history.Entry{Line: cell.Number, Source: cell.Source,
				Result: result}); err != nil {
				k.Log("history: " + err.Error())
			}
		}
	}
	return failed
}

// interruptible returns the context of a cell or an aside, which Interrupt and the end of the kernel end.
func (k *Kernel) interruptible() (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancel(k.quitting)
	k.mu.Lock()
	defer k.mu.Unlock()
	k.last++
	key := k.last
	k.cancels[key] = cancel
	return ctx, func() {
		k.mu.Lock()
		delete(k.cancels, key)
		k.mu.Unlock()
		cancel()
	}
}

// flushing flushes what the cell prints now and then, until the returned function is called.
func (k *Kernel) flushing() (stop func()) {
	done := make(chan struct{})
	first := time.AfterFunc(flushEvery, func() {
		t := time.NewTicker(flushEvery)
		defer t.Stop()
		for {
			k.Interpreter.Flush()
			select {
			case <-done:
				return
			case <-t.C:
			}
		}
	})
	return func() {
		first.Stop()
		close(done)
	}
}

// values evaluates the user expressions of a request, in the order of their names; after a failure none is.
func (k *Kernel) values(expressions map[string]string, failed *notebook.Error) map[string]any {
	out := map[string]any{}
	if failed != nil {
		return out
	}
	for _, name := range slices.Sorted(maps.Keys(expressions)) {
		ctx, cancel := k.interruptible()
		data, err := k.Interpreter.Value(ctx, expressions[name])
		cancel()
		if err != nil {
			out[name] = failure(err)
			continue
		}
		out[name] = map[string]any{"status": "ok", "data": data, "metadata": map[string]any{}}
	}
	return out
}
