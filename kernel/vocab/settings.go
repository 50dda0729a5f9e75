package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
)

// settingsKey is the thread-local key of the settings of a session.
const settingsKey = "wedgework settings"

// settings are what given() has given in a session, by name, and how many displays were named in it.
type settings struct {
	values   map[string]starlark.Value
	moved    map[string]starlark.Value // those that explore() has in its hands while its function runs
	displays int
}

func newSettings() *settings { return &settings{values: map[string]starlark.Value{}} }

// settingsOf returns those of the session of a thread; in a session without any, they last as long as the call.
func settingsOf(t *starlark.Thread) *settings {
	if s, ok := t.Local(settingsKey).(*settings); ok {
		return s
	}
	return newSettings()
}

// move gives settings other values, for given() and for the names of the session that hold them, until the returned
// function is called; names keep them.
func (s *settings) move(t *starlark.Thread, values map[string]starlark.Value) (back func(), err error) {
	before := s.moved
	s.moved = values
	for name, v := range values {
		if s.values[name] == nil {
			continue
		}
		s.values[name] = v
		if session.Assigned(t, name) != nil {
			if err := session.Assign(t, name, v); err != nil {
				return nil, err
			}
		}
	}
	return func() { s.moved = before }, nil
}

// newDisplay names a display that no other of the session has.
func newDisplay(t *starlark.Thread) string {
	s := settingsOf(t)
	s.displays++
	return fmt.Sprintf("exploration-%d", s.displays)
}
