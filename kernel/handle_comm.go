package kernel

// Comms are channels between front end and kernel that live beside the cells, each with a target on the other side. No
// word of ours has one: outputs that change carry a display_id instead, which every front end knows and an
// executed notebook keeps.

// commInfo lists the open comms.
func (k *Kernel) commInfo(*request) (any, error) {
	return map[string]any{"status": "ok", "comms": map[string]any{}}, nil
}

// commOpen closes what is opened for a target that is not here, as the protocol asks.
func (k *Kernel) commOpen(r *request) (any, error) {
	var q struct {
		ID string `json:"comm_id"`
	}
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	k.publish(r, "comm_close", map[string]any{"comm_id": q.ID, "data": map[string]any{}})
	return nil, nil
}

// commMessage does nothing: the front end has been told that its comm is closed.
func (k *Kernel) commMessage(*request) (any, error) { return nil, nil }

// commClose does nothing: no comm is open.
func (k *Kernel) commClose(*request) (any, error) { return nil, nil }
