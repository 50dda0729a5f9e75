package widget

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
)

// generations are the rows of testdata/states.csv for each dialect.
var generations = map[*dialect]string{six: "6.0.0", seven: "7.5", eight: "8 "}

// states reads the keys and defaults of the models of a generation.
func states(t *testing.T, generation string) map[string]map[string]string {
	t.Helper()
	f, err := os.Open("testdata/states.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]map[string]string{}
	for _, r := range rows[1:] {
		if !strings.HasPrefix(r[0], generation) {
			continue
		}
		if all[r[1]] == nil {
			all[r[1]] = map[string]string{}
		}
		all[r[1]][r[2]] = strings.Trim(r[3], `'"`)
	}
	if len(all) == 0 {
		t.Fatalf("no models of %s", generation)
	}
	return all
}

// panel has a control of each kind.
func panel() *Panel {
	return &Panel{Controls: []*Control{
		{Label: "apex [deg]", Kind: Slider, Min: 3, Max: 8, Step: 0.05, Decimals: 2, Value: 5},
		{Label: "n", Kind: Whole, Min: 1, Max: 4, Step: 1, Value: 2},
		{Label: "crystal", Kind: Choice, Options: []string{"YVO4", "LiNbO3"}, Index: 1},
		{Label: "grid", Kind: Check, On: true},
	}}
}

// speaking returns a manager with a front end of a dialect.
func speaking(t *testing.T, d *dialect) *Manager {
	t.Helper()
	n := 0
	m := NewManager(func() string { n++; return fmt.Sprint("id", n) })
	switch d {
	case six:
		a, err := m.Take(Message{Type: Open, ID: "v", Target: "jupyter.widget.version"})
		if err != nil || len(a.Messages) != 1 || a.Messages[0].Data["version"] != "~2.1.4" {
			t.Fatalf("the version is answered with %v, %v", a, err)
		}
		if _, err := m.Take(Message{Type: Tell, ID: "v", Data: map[string]any{"validated": true,
			"frontend_version": "2.1.4"}}); err != nil {
			t.Fatal(err)
		}
	case seven:
		m.Comms("jupyter.widget")
	case eight:
		if _, err := m.Take(Message{Type: Open, ID: "c", Target: "jupyter.widget.control"}); err != nil {
			t.Fatal(err)
		}
	}
	return m
}

// TestStates compares what a panel sends with the published keys and defaults of the models of each generation: every
// model and key is known, the modules and versions are those of the table, and every reference leads to a model that
// was sent before.
func TestStates(t *testing.T) {
	for d, generation := range generations {
		t.Run(d.name, func(t *testing.T) {
			known := states(t, generation)
			v, ok := speaking(t, d).Show(panel())
			if !ok {
				t.Fatal("the panel is not shown")
			}
			sent, kinds := map[string]bool{}, map[string]int{}
			for _, m := range v.Messages {
				if m.Type != Open {
					continue
				}
				state := m.Data
				if d.protocol == 2 {
					if m.Metadata["version"] != "2.1.0" {
						t.Errorf("metadata %v, want the version 2.1.0 of the protocol", m.Metadata)
					}
					state = m.Data["state"].(map[string]any)
				} else if _, there := m.Data["state"]; there {
					t.Error("protocol 1 has the state itself as data")
				}
				name := state["_model_name"].(string)
				kinds[name]++
				for key, v := range state {
					standard, there := known[name][key]
					if !there {
						t.Errorf("%s has no key %s", name, key)
					}
					if strings.HasPrefix(key, "_model") || strings.HasPrefix(key, "_view") {
						if v != standard {
							t.Errorf("%s: %s is %v, want %s", name, key, v, standard)
						}
					}
					for _, s := range texts(v) {
						if id, ok := strings.CutPrefix(s, "IPY_MODEL_"); ok && !sent[id] {
							t.Errorf("%s: %s refers to %s, which was not sent before", name, key, id)
						}
					}
				}
				sent[m.ID] = true
			}
			for _, name := range []string{"FloatSliderModel", "IntSliderModel", "DropdownModel", "CheckboxModel",
				"VBoxModel"} {
				if kinds[name] != 1 {
					t.Errorf("%d of %s were sent, want one", kinds[name], name)
				}
			}
			view := v.Data[mimeView].(map[string]any)
			if !sent[view["model_id"].(string)] {
				t.Errorf("the display shows %v, which was not sent", view["model_id"])
			}
			last := v.Messages[len(v.Messages)-1]
			if d.protocol == 1 && (last.Type != Tell || last.Data["method"] != "display" || last.ID != view["model_id"]) {
				t.Errorf("the last message is %v, want that the box is displayed", last)
			}
		})
	}
}

// texts are the texts of a value of a state.
func texts(v any) []string {
	switch v := v.(type) {
	case string:
		return []string{v}
	case []any:
		var all []string
		for _, e := range v {
			all = append(all, texts(e)...)
		}
		return all
	}
	return nil
}

// ids are the models of the controls of a panel that was shown, by the names of the models.
func ids(v View) map[string]string {
	all := map[string]string{}
	for _, m := range v.Messages {
		state := m.Data
		if s, ok := m.Data["state"].(map[string]any); ok {
			state = s
		}
		if name, ok := state["_model_name"].(string); ok {
			all[name] = m.ID
		}
	}
	return all
}

// TestMoves moves the controls as front ends of each generation do.
func TestMoves(t *testing.T) {
	for d, generation := range generations {
		m := speaking(t, d)
		p := panel()
		v, _ := m.Show(p)
		models := ids(v)
		move := func(model, key string, value any) Answer {
			t.Helper()
			data := map[string]any{"method": "update", "state": map[string]any{key: value}, "buffer_paths": []any{}}
			if d.protocol == 1 {
				data = map[string]any{"method": "backbone", "sync_data": map[string]any{key: value}, "buffer_keys": []any{}}
			}
			a, err := m.Take(Message{Type: Tell, ID: models[model], Data: data})
			if err != nil {
				t.Errorf("%s: %s: %v", generation, model, err)
			}
			return a
		}
		a := move("FloatSliderModel", "value", json.Number("6.1249"))
		if a.Moved != p || m.Values(p)[0].Value != 6.1 {
			t.Errorf("%s: the slider stands at %v, want 6.1, the next of its steps", generation, m.Values(p)[0].Value)
		}
		if d.protocol == 2 && (len(a.Messages) != 1 || a.Messages[0].Data["method"] != "echo_update") {
			t.Errorf("%s: answered with %v, want an echo", generation, a.Messages)
		}
		move("FloatSliderModel", "value", json.Number("99"))
		move("IntSliderModel", "value", json.Number("3"))
		if d.protocol == 1 {
			move("DropdownModel", "value", "YVO4")
		} else {
			move("DropdownModel", "index", json.Number("0"))
		}
		move("CheckboxModel", "value", false)
		now := m.Values(p)
		if now[0].Value != 8 || now[1].Value != 3 || now[2].Index != 0 || now[3].On {
			t.Errorf("%s: the controls stand at %+v", generation, now)
		}
		if a := move("CheckboxModel", "value", false); a.Moved != nil {
			t.Errorf("%s: a control that stays where it is has moved", generation)
		}
		if a := move("CheckboxModel", "description", "x"); a.Moved != nil {
			t.Errorf("%s: a change of another key has moved a control", generation)
		}
		// A page that is loaded again asks for the state.
		asked, err := m.Take(Message{Type: Tell, ID: models["IntSliderModel"],
			Data: map[string]any{"method": "request_state"}})
		if err != nil || len(asked.Messages) != 1 {
			t.Fatalf("%s: request_state is answered with %v, %v", generation, asked, err)
		}
		if state := asked.Messages[0].Data["state"].(map[string]any); state["value"] != 3 {
			t.Errorf("%s: the state has the value %v, want 3", generation, state["value"])
		}
		if got := m.Comms("jupyter.widget"); len(got) != len(p.all) || got[models["VBoxModel"]] != "jupyter.widget" {
			t.Errorf("%s: open comms %v, want the %d models", generation, got, len(p.all))
		}
	}
}

// TestRefusals sends what is no value of a control: it stays where it is.
func TestRefusals(t *testing.T) {
	m := speaking(t, eight)
	p := panel()
	v, _ := m.Show(p)
	models, before := ids(v), m.Values(p)
	for _, c := range []struct {
		model, key string
		value      any
		want       string
	}{
		{"FloatSliderModel", "value", "six", "expected a number"},
		{"FloatSliderModel", "value", nil, "expected a number"},
		{"DropdownModel", "index", json.Number("2"), "expected 0 to 1"},
		{"DropdownModel", "index", json.Number("0.5"), "expected 0 to 1"},
		{"DropdownModel", "index", nil, "expected 0 to 1"},
		{"DropdownModel", "value", "rutile", "expected one of"},
		{"CheckboxModel", "value", json.Number("1"), "expected true or false"},
	} {
		a, err := m.Take(Message{Type: Tell, ID: models[c.model], Data: map[string]any{"method": "update",
			"state": map[string]any{c.key: c.value}}})
		if err == nil || !strings.Contains(err.Error(), c.want) || a.Moved != nil {
			t.Errorf("%s %s=%v: got %v, want an error with %q", c.model, c.key, c.value, err, c.want)
		}
	}
	if now := m.Values(p); !slices.EqualFunc(now, before, func(a, b Control) bool {
		return a.Value == b.Value && a.Index == b.Index && a.On == b.On
	}) {
		t.Errorf("the controls stand at %+v, want %+v", now, before)
	}
}

// TestWithoutWidgets shows nothing where no front end has widgets, nor where its version is another.
func TestWithoutWidgets(t *testing.T) {
	m := NewManager(func() string { return "id" })
	if _, ok := m.Show(panel()); ok || m.Attended() {
		t.Error("a panel is shown to nobody")
	}
	a, _ := m.Take(Message{Type: Open, ID: "x", Target: "a target of somebody else"})
	if len(a.Messages) != 1 || a.Messages[0].Type != Close || a.Messages[0].ID != "x" {
		t.Errorf("a comm for nobody is answered with %v, want that it is closed", a)
	}
	m = speaking(t, six)
	if _, err := m.Take(Message{Type: Tell, ID: "v", Data: map[string]any{"validated": false,
		"frontend_version": "3.0.0"}}); err == nil || !strings.Contains(err.Error(), "3.0.0") {
		t.Errorf("another version: %v", err)
	}
	if _, ok := m.Show(panel()); ok {
		t.Error("a panel is shown to a front end of another version")
	}
}

// TestOlderFrontEnd closes the first model, as a front end of ipywidgets 7 does that cannot make one of 8: the panel
// is written again for it, and what is shown later is for it at once.
func TestOlderFrontEnd(t *testing.T) {
	m := speaking(t, eight)
	p := panel()
	v, _ := m.Show(p)
	a, err := m.Take(Message{Type: Close, ID: ids(v)["FloatSliderModel"]})
	if err != nil || len(a.Again) != 1 || a.Again[0] != p {
		t.Fatalf("got %v, %v, want the panel to be shown again", a, err)
	}
	again := m.View(p)
	state := again.Messages[0].Data["state"].(map[string]any)
	if state["_model_module_version"] != "1.2.0" || maps.Equal(ids(v), ids(again)) {
		t.Errorf("the panel is written again as %v", state)
	}
	later, _ := m.Show(panel())
	if s := later.Messages[0].Data["state"].(map[string]any); s["_model_module_version"] != "1.2.0" {
		t.Errorf("a later panel is of version %v, want 1.2.0", s["_model_module_version"])
	}
	if a, _ := m.Take(Message{Type: Close, ID: ids(again)["VBoxModel"]}); a.Again != nil {
		t.Error("a panel that is closed for good is shown again")
	}
	if got := m.Comms("jupyter.widget"); len(got) != len(p.all) {
		t.Errorf("%d comms are open, want those of the later panel, %d", len(got), len(p.all))
	}
}

// TestManyPanels shows more than are kept: the first ones are closed.
func TestManyPanels(t *testing.T) {
	m := speaking(t, eight)
	first, _ := m.Show(panel())
	for range mostPanels {
		v, _ := m.Show(panel())
		if len(v.Messages) > 2*len(first.Messages) {
			t.Fatalf("%d messages, more than of two panels", len(v.Messages))
		}
	}
	if got, want := len(m.Comms("")), mostPanels*len(first.Messages)+1; got != want {
		t.Errorf("%d comms are open, want %d", got, want)
	}
}

// TestStatesForLater asks for all states as a front end of ipywidgets 8 does that connects later.
func TestStatesForLater(t *testing.T) {
	m := speaking(t, eight)
	v, _ := m.Show(panel())
	a, err := m.Take(Message{Type: Tell, ID: "c", Data: map[string]any{"method": "request_states"}})
	if err != nil || len(a.Messages) != 1 || a.Messages[0].ID != "c" || a.Messages[0].Data["method"] != "update_states" {
		t.Fatalf("got %v, %v", a, err)
	}
	all := a.Messages[0].Data["states"].(map[string]any)
	if len(all) != len(v.Messages) {
		t.Errorf("%d states, want %d", len(all), len(v.Messages))
	}
	box := all[ids(v)["VBoxModel"]].(map[string]any)
	if box["model_name"] != "VBoxModel" || box["model_module"] != "@jupyter-widgets/controls" ||
		box["model_module_version"] != "2.0.0" {
		t.Errorf("the box is %v", box)
	}
}
