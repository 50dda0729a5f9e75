package kernel

import (
	"errors"
	"fmt"
	"slices"

	"wedgework/kernel/wire"
)

// mostSubshells is how many subshells there are at a time. A front end asks for one for each kind of its controls,
// anew whenever a page is loaded, and may delete none: of more, the one that was asked last longest ago gives way. A
// choice.
const mostSubshells = 100

// line returns the line of requests with an id, nil when there is none.
func (k *Kernel) line(id string) *shell {
	if id == "" {
		return k.main
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	i := slices.IndexFunc(k.subshells, func(s *shell) bool { return s.id == id })
	if i < 0 {
		return nil
	}
	s := k.subshells[i] // to the end: that which was asked last
	k.subshells = append(slices.Delete(k.subshells, i, i+1), s)
	return s
}

// createSubshell begins a subshell.
func (k *Kernel) createSubshell(*request) (any, error) {
	s := newShell(wire.Random())
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.quitting.Err() != nil {
		return nil, errors.New("the kernel is ending")
	}
	if len(k.subshells) >= mostSubshells {
		k.subshells[0].delete()
		k.subshells = slices.Delete(k.subshells, 0, 1)
	}
	k.subshells = append(k.subshells, s)
	k.serving.Go(func() { k.serve(s) })
	return map[string]any{"status": "ok", "subshell_id": s.id}, nil
}

// deleteSubshell ends a subshell when what it was asked is answered.
func (k *Kernel) deleteSubshell(r *request) (any, error) {
	var q struct {
		ID string `json:"subshell_id"`
	}
	if err := r.Read(&q); err != nil {
		return nil, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	i := slices.IndexFunc(k.subshells, func(s *shell) bool { return s.id == q.ID })
	if i < 0 {
		return nil, noSubshell(q.ID)
	}
	k.subshells[i].delete()
	k.subshells = slices.Delete(k.subshells, i, i+1)
	return map[string]any{"status": "ok"}, nil
}

// listSubshells lists the subshells; the main shell is none.
func (k *Kernel) listSubshells(*request) (any, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	ids := []string{}
	for _, s := range k.subshells {
		ids = append(ids, s.id)
	}
	return map[string]any{"status": "ok", "subshell_id": ids}, nil
}

func noSubshell(id string) error {
	return fmt.Errorf("there is no subshell %s: it was deleted, or gave way to newer ones", printable(id))
}
