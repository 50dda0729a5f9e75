package widget

import (
	"maps"
	"slices"
	"strings"
)

// Panel is the controls of one thing to explore, one below the other.
type Panel struct {
	Controls []*Control
	// Of is what the panel belongs to: whoever shows it knows it by this when it has moved.
	Of any

	id      string   // of the box around the controls
	ids     []string // of the controls, in their order
	all     []model  // of what was sent, in the order in which one refers to another
	dialect *dialect
}

// write makes the models of the panel, those first that others refer to.
func (p *Panel) write(d *dialect, newID func() string) {
	p.dialect, p.all, p.ids = d, nil, nil
	add := func(m model) string {
		p.all = append(p.all, m)
		return m.id
	}
	row := map[string]any{"width": "38em"} // a choice: a slider of a hundred steps can be set to each of them
	layouts := map[bool]string{false: add(d.layout(newID(), row)), true: add(d.layout(newID(), map[string]any{}))}
	children := []any{}
	for _, c := range p.Controls {
		style := ""
		if name, ok := d.styles[names[c.Kind]]; ok {
			own := map[string]any{}
			if d.protocol > 1 {
				own["description_width"] = "12em"
			}
			style = add(d.style(newID(), name, own))
		}
		id := add(d.control(newID(), c, layouts[c.Kind == Check], style))
		p.ids = append(p.ids, id)
		children = append(children, reference(id))
	}
	p.id = add(d.model(newID(), "VBox", map[string]any{"children": children, "layout": reference(layouts[true])}))
}

// Holds reports whether the id is that of one of the controls.
func (p *Panel) Holds(id string) bool { return slices.Contains(p.ids, id) }

// state is the present state of a model of the panel, for the caller to keep.
func (p *Panel) state(m model) map[string]any {
	state := maps.Clone(m.state)
	for i, id := range p.ids {
		if id == m.id {
			maps.Copy(state, p.dialect.position(p.Controls[i]))
		}
	}
	return state
}

// View is how a panel is shown: the messages before the display, and the display's data by MIME type.
type View struct {
	Messages []Message
	Data     map[string]any
}

// view shows the panel.
func (p *Panel) view() View {
	var v View
	for _, m := range p.all {
		v.Messages = append(v.Messages, p.dialect.open(model{m.id, m.name, p.state(m)}))
	}
	shown := map[string]any{"model_id": p.id, "version_major": p.dialect.protocol, "version_minor": 0}
	v.Data = map[string]any{mimeView: shown}
	if p.dialect.protocol == 1 {
		v.Messages = append(v.Messages, Message{Type: Tell, ID: p.id, Data: map[string]any{"method": "display"}})
		return v // a text would stand above the controls
	}
	var labels []string
	for _, c := range p.Controls {
		labels = append(labels, c.Label)
	}
	v.Data["text/plain"] = "controls: " + strings.Join(labels, ", ")
	return v
}

const mimeView = "application/vnd.jupyter.widget-view+json"
