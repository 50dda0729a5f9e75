package kernel

// interrupt ends the running cell; the session keeps what the cell has assigned. The reply does not wait for
// the cell's end.
func (k *Kernel) interrupt(*request) (any, error) {
	k.Interrupt()
	return map[string]any{"status": "ok"}, nil
}
