package kernel

// isComplete tells whether a cell is ready to run as it stands.
func (k *Kernel) isComplete(r *request) (any, error) {
	var q struct {
		Code string `json:"code"`
	}
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	if _, _, ok := question(q.Code); ok {
		return map[string]any{"status": "complete"}, nil
	}
	state, indent := k.Interpreter.IsComplete(q.Code)
	content := map[string]any{"status": state}
	if state == "incomplete" {
		content["indent"] = indent
	}
	return content, nil
}
