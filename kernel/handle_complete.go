package kernel

import "unicode/utf8"

// cursorRequest is what complete_request and inspect_request have in common.
type cursorRequest struct {
	Code   string `json:"code"`
	Cursor *int   `json:"cursor_pos"`
	Detail int    `json:"detail_level"`
}

// cursor is the place asked about in code points, within the code; the end when none is given.
func (q cursorRequest) cursor() int {
	end := utf8.RuneCountInString(q.Code)
	if q.Cursor == nil {
		return end
	}
	return max(0, min(*q.Cursor, end))
}

// complete proposes what may stand at the cursor.
func (k *Kernel) complete(r *request) (any, error) {
	var q cursorRequest
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	c := k.Interpreter.Complete(q.Code, q.cursor())
	matches, kinds := []string{}, []any{}
	for _, m := range c.Matches {
		matches = append(matches, m.Text)
		kinds = append(kinds, map[string]any{
			"start": c.Start, "end": c.End, "text": m.Text, "type": m.Kind, "signature": m.Detail,
		})
	}
	return map[string]any{
		"status": "ok", "matches": matches, "cursor_start": c.Start, "cursor_end": c.End,
		// outside the protocol, and understood by front ends that show what kind of thing a match is
		"metadata": map[string]any{"_jupyter_types_experimental": kinds},
	}, nil
}
