package kernel

import (
	"encoding/json"

	"wedgework/reports/notebook"
)

// Comms are channels between front end and kernel that live beside the cells: the controls of explore() move on them.

// commContent is the content of the messages on comms.
type commContent struct {
	ID     string         `json:"comm_id"`
	Target string         `json:"target_name,omitempty"`
	Data   map[string]any `json:"data"`
}

// commInfo lists the open comms.
func (k *Kernel) commInfo(r *request) (any, error) {
	var q struct {
		Target *string `json:"target_name"`
	}
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	target := ""
	if q.Target != nil {
		target = *q.Target
	}
	comms := map[string]any{}
	for id, t := range k.Interpreter.Comms(target) {
		comms[id] = map[string]any{"target_name": t}
	}
	return map[string]any{"status": "ok", "comms": comms}, nil
}

// comm hands a message on a comm to the interpreter. What it moves is drawn before the kernel is idle again: front
// ends send their next move then, and those that do not wait are overtaken by their own latest one.
func (k *Kernel) comm(r *request) (any, error) {
	var q commContent
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	m := Comm{Type: r.Header.Type, ID: q.ID, Target: q.Target, Data: q.Data}
	if len(r.Metadata) > 0 {
		if err := json.Unmarshal(r.Metadata, &m.Metadata); err != nil {
			return nil, err
		}
	}
	ctx, cancel := k.interruptible()
	defer cancel()
	out := Outlet{
		Emit: func(o notebook.Output) { k.output(r, o) },
		Comm: func(m Comm) { k.sendComm(r, m) },
	}
	return nil, k.Interpreter.Comm(ctx, m, r.shell.comms(), out)
}

// sendComm sends a message on a comm to every front end.
func (k *Kernel) sendComm(r *request, m Comm) {
	content := commContent{ID: m.ID, Target: m.Target, Data: m.Data}
	if content.Data == nil {
		content.Data = map[string]any{}
	}
	k.publishWith(r, m.Type, content, m.Metadata)
}

// comms lists the comms of the messages that wait.
func (s *shell) comms() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	var ids []string
	for _, q := range s.waiting {
		var c commContent
		if q.message.Header.Type == "comm_msg" && q.message.Read(&c) == nil {
			ids = append(ids, c.ID)
		}
	}
	return ids
}
