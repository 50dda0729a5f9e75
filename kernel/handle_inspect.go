package kernel

// inspect describes what is at the cursor.
func (k *Kernel) inspect(r *request) (any, error) {
	var q cursorRequest
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	data := k.Interpreter.Inspect(q.Code, q.cursor(), q.Detail)
	found := data != nil
	if !found {
		data = map[string]any{}
	}
	return map[string]any{"status": "ok", "found": found, "data": data, "metadata": map[string]any{}}, nil
}
