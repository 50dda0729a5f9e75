package kernel

import (
	"fmt"

	"wedgework/kernel/history"
)

// historyRequest is the content of a history_request.
type historyRequest struct {
	Output  bool   `json:"output"`
	Type    string `json:"hist_access_type"`
	Session int    `json:"session"`
	Start   int    `json:"start"`
	Stop    *int   `json:"stop"`
	N       *int   `json:"n"`
	Pattern string `json:"pattern"`
	Unique  bool   `json:"unique"`
}

// history returns cells of this session and of earlier ones. The source is always as it was written, raw or not.
func (k *Kernel) history(r *request) (any, error) {
	var q historyRequest
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	if k.History == nil {
		return map[string]any{"status": "ok", "history": []any{}}, nil
	}
	var entries []history.Entry
	var err error
	switch q.Type {
	case "range":
		entries, err = k.History.Range(q.Session, q.Start, orAll(q.Stop))
	case "tail":
		entries, err = k.History.Tail(orAll(q.N))
	case "search":
		pattern := q.Pattern
		if pattern == "" {
			pattern = "*"
		}
		entries, err = k.History.Search(pattern, orAll(q.N), q.Unique)
	default:
		err = fmt.Errorf("history_request: content: hist_access_type is %s, want range, tail or search",
			printable(q.Type))
	}
	if err != nil {
		return nil, err
	}
	rows := make([]any, 0, len(entries))
	for _, e := range entries {
		var cell any = e.Source
		if q.Output {
			var result any // null when the cell had none
			if e.Result != "" {
				result = e.Result
			}
			cell = []any{e.Source, result}
		}
		rows = append(rows, []any{e.Session, e.Line, cell})
	}
	return map[string]any{"status": "ok", "history": rows}, nil
}

// orAll is n, or history.All when it is left out.
func orAll(n *int) int {
	if n == nil {
		return history.All
	}
	return *n
}
