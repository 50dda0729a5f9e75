package kernel

import (
	"time"

	"wedgework/kernel/transport"
)

// shutdown ends the kernel: the running cell is interrupted and answered, what waits behind it is not run any more. The
// reply goes to every subscriber too, for other clients of this kernel to know.
func (k *Kernel) shutdown(r *request) (any, error) {
	var q struct {
		Restart bool `json:"restart"`
	}
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	k.restart.Store(q.Restart)
	k.quit()
	if r.channel != transport.Shell { // which would wait for itself
		select {
		case <-k.shellDone:
		case <-time.After(patience):
		}
	}
	content := map[string]any{"status": "ok", "restart": q.Restart}
	k.publish(r, "shutdown_reply", content)
	return content, nil
}
