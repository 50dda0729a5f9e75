package widget

import (
	"fmt"
	"sync"
)

// mostPanels is how many panels can be moved at a time (a choice): of more, those shown first stand still.
const mostPanels = 100

// mostOthers bounds the comms that front ends hold open: each has one (a choice).
const mostOthers = 1000

// Manager is the widgets of one kernel. Its methods may be called from any goroutine.
type Manager struct {
	newID func() string

	mu      sync.Mutex
	dialect *dialect // nil while no front end has widgets
	moved   bool     // a control of this dialect has been moved: the front end understands it
	panels  []*Panel
	others  map[string]string // comms that front ends opened, with their targets
}

// NewManager returns a manager without widgets. NewID makes an identifier that no other comm has.
func NewManager(newID func() string) *Manager {
	return &Manager{newID: newID, others: map[string]string{}}
}

// Attended reports whether a front end is there that draws widgets.
func (m *Manager) Attended() bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.dialect != nil
}

// Show takes in a panel and returns how it is shown; ok is false when no front end draws widgets.
func (m *Manager) Show(p *Panel) (v View, ok bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.dialect == nil {
		return View{}, false
	}
	p.write(m.dialect, m.newID)
	m.panels = append(m.panels, p)
	v = p.view()
	if len(m.panels) > mostPanels {
		v.Messages = append(closing(m.panels[0]), v.Messages...)
		m.panels = append([]*Panel{}, m.panels[1:]...)
	}
	return v, true
}

// closing ends the models of a panel.
func closing(p *Panel) []Message {
	var all []Message
	for _, one := range p.all {
		all = append(all, Message{Type: Close, ID: one.id, Data: map[string]any{}})
	}
	return all
}

// Comms lists the open comms of a target with the target of each, all of them when target is empty. A front end of
// ipywidgets 7 asks for those of the widgets when it loads: it is known by that.
func (m *Manager) Comms(target string) map[string]string {
	m.mu.Lock()
	defer m.mu.Unlock()
	if target == targetWidget && m.dialect == nil {
		m.dialect = seven
	}
	all := map[string]string{}
	for id, t := range m.others {
		if target == "" || target == t {
			all[id] = t
		}
	}
	if target == "" || target == targetWidget {
		for _, p := range m.panels {
			for _, one := range p.all {
				all[one.id] = targetWidget
			}
		}
	}
	return all
}

// Answer is what comes of a message of a front end.
type Answer struct {
	Messages []Message // for the front ends
	Moved    *Panel    // one of its controls has another value
	Again    []*Panel  // are to be shown anew: the front end could not draw them
}

// Take takes a message of a front end. An error says why the message means nothing.
func (m *Manager) Take(q Message) (Answer, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	switch q.Type {
	case Open:
		return m.opened(q), nil
	case Close:
		return m.closed(q), nil
	}
	switch m.others[q.ID] {
	case targetVersion:
		if valid, there := q.Data["validated"].(bool); there && !valid && m.dialect == six {
			m.dialect = nil
			return Answer{}, fmt.Errorf("the front end has widgets of version %v, this kernel draws those of %s",
				q.Data["frontend_version"], versionSix)
		}
		return Answer{}, nil
	case targetControl:
		if q.Data["method"] == "request_states" {
			return Answer{Messages: []Message{m.states(q.ID)}}, nil
		}
		return Answer{}, nil
	}
	return m.told(q)
}

// opened answers a comm that a front end opens; one about anything but widgets is closed, as the protocol asks.
func (m *Manager) opened(q Message) Answer {
	if len(m.others) >= mostOthers {
		return Answer{Messages: []Message{{Type: Close, ID: q.ID, Data: map[string]any{}}}}
	}
	switch q.Target {
	case targetVersion:
		m.speak(six)
		m.others[q.ID] = q.Target
		return Answer{Messages: []Message{{Type: Tell, ID: q.ID, Data: map[string]any{"version": versionSix}}}}
	case targetControl:
		if m.dialect != seven || !m.moved { // a front end of 7 that was found out stays one
			m.speak(eight)
		}
		m.others[q.ID] = q.Target
		return Answer{}
	}
	return Answer{Messages: []Message{{Type: Close, ID: q.ID, Data: map[string]any{}}}}
}

// speak takes up the dialect of the front end that came last.
func (m *Manager) speak(d *dialect) {
	if m.dialect != d {
		m.dialect, m.moved = d, false
	}
}

// closed forgets a comm. A front end that closes a model which nobody has moved yet could not make it: those of
// ipywidgets 7 open the same comm as those of 8 when they load, and refuse models of 8. Its panel is written anew
// in the older dialect.
func (m *Manager) closed(q Message) Answer {
	delete(m.others, q.ID)
	for i, p := range m.panels {
		for _, one := range p.all {
			if one.id != q.ID {
				continue
			}
			if p.dialect == eight && !m.moved {
				m.dialect, m.moved = seven, true
				var again []*Panel
				for _, p := range m.panels {
					if p.dialect == eight {
						p.write(seven, m.newID)
						again = append(again, p)
					}
				}
				return Answer{Again: again}
			}
			m.panels = append(append([]*Panel{}, m.panels[:i]...), m.panels[i+1:]...)
			return Answer{}
		}
	}
	return Answer{}
}

// Values returns the controls of a panel as they stand now.
func (m *Manager) Values(p *Panel) []Control {
	m.mu.Lock()
	defer m.mu.Unlock()
	now := make([]Control, len(p.Controls))
	for i, c := range p.Controls {
		now[i] = *c
	}
	return now
}

// View is how a panel of Answer.Again is shown.
func (m *Manager) View(p *Panel) View {
	m.mu.Lock()
	defer m.mu.Unlock()
	return p.view()
}

// told takes a message to a model.
func (m *Manager) told(q Message) (Answer, error) {
	for _, p := range m.panels {
		for _, one := range p.all {
			if one.id == q.ID && q.Data["method"] == "request_state" {
				return Answer{Messages: []Message{p.dialect.update(one.id, p.state(one))}}, nil
			}
		}
		for i, id := range p.ids {
			if id != q.ID {
				continue
			}
			changes := q.changes()
			moved, err := p.Controls[i].set(changes)
			if err != nil {
				return Answer{}, err
			}
			var a Answer
			if changes != nil {
				m.moved = true
			}
			if p.dialect.protocol > 1 && len(changes) > 0 { // other front ends of this kernel see the move too
				echo := p.dialect.update(id, changes)
				echo.Data["method"] = "echo_update"
				a.Messages = append(a.Messages, echo)
			}
			if moved {
				a.Moved = p
			}
			return a, nil
		}
	}
	return Answer{}, nil // of a panel that is gone, or a model that does not move
}

// states is the state of every model, for a front end that comes later.
func (m *Manager) states(control string) Message {
	states := map[string]any{}
	for _, p := range m.panels {
		for _, one := range p.all {
			state := p.state(one)
			states[one.id] = map[string]any{"model_name": state["_model_name"], "model_module": state["_model_module"],
				"model_module_version": state["_model_module_version"], "state": state}
		}
	}
	return Message{Type: Tell, ID: control, Data: map[string]any{"method": "update_states", "states": states,
		"buffer_paths": []any{}}}
}
