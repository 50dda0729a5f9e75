package kernel

import (
	"context"
	"testing"
	"testing/synctest"

	"wedgework/kernel/wire"
)

// What waits for one shell is bounded by its bytes: the next request is added when one was taken, or never where the
// shell is deleted or the context ends. One that is larger than the bound passes alone.
func TestWaitingIsBoundedByBytes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		large := queued{message: &wire.Message{Content: make([]byte, mostWaitingBytes/2+1)}}
		for name, end := range map[string]func(*shell, context.CancelFunc){
			"taken":   func(s *shell, _ context.CancelFunc) { s.next(context.Background()) },
			"deleted": func(s *shell, _ context.CancelFunc) { s.delete() },
		} {
			s := newShell("a")
			ctx, cancel := context.WithCancel(t.Context())
			if !s.add(ctx, large) {
				t.Fatalf("%s: the first is refused", name)
			}
			var added *bool
			go func() {
				ok := s.add(ctx, large)
				added = &ok
			}()
			synctest.Wait()
			if added != nil {
				t.Errorf("%s: the second was added beyond the bound", name)
			}
			end(s, cancel)
			synctest.Wait()
			if added == nil || *added != (name == "taken") {
				t.Errorf("%s: the second is still waiting, or was added to what is gone", name)
			}
			cancel()
		}
	})
}
