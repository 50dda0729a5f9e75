package widget

import (
	"encoding/json"
)

// Types of Message, as the messaging protocol names them.
const (
	Open  = "comm_open"
	Tell  = "comm_msg"
	Close = "comm_close"
)

// Targets of comms: what each is about.
const (
	targetWidget  = "jupyter.widget"         // a model
	targetControl = "jupyter.widget.control" // opened by front ends of protocol 2
	targetVersion = "jupyter.widget.version" // opened by front ends of protocol 1
)

// Message is a message on a comm, to a front end or from one.
type Message struct {
	Type     string // Open, Tell or Close
	ID       string // of the comm; that of a model is the model's
	Target   string // of an Open
	Data     map[string]any
	Metadata map[string]any // of the message; nil: none
}

// changes returns the part of a model's state that a front end sends: {"method": "update", "state": ...} in protocol
// 2, {"method": "backbone", "sync_data": ...} in protocol 1; nil for any other message.
func (m Message) changes() map[string]any {
	switch m.Data["method"] {
	case "update":
		state, _ := m.Data["state"].(map[string]any)
		return state
	case "backbone":
		state, _ := m.Data["sync_data"].(map[string]any)
		return state
	}
	return nil
}

// number reads a number of a message.
func number(v any) (float64, bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case int:
		return float64(v), true
	case json.Number:
		f, err := v.Float64()
		return f, err == nil
	}
	return 0, false
}
