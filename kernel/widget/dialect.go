package widget

// dialect is how models are written for one generation of front ends: their modules and versions, and what differs
// among the states of the models. What a state leaves out takes the model's default.
type dialect struct {
	name           string // of the generation, for people
	protocol       int    // of the widgets' messages
	base, controls module
	// styles are the style models that go with a model; one that is not here has none.
	styles map[string]string
}

type module struct{ name, version string }

// The dialects, newest first. Sources: the model state tables of ipywidgets 8 and 7.5 (packages/schema,
// jupyterwidgetmodels), and the models of jupyter-js-widgets 2.1.4.
var (
	eight = &dialect{"ipywidgets 8", 2, module{"@jupyter-widgets/base", "2.0.0"},
		module{"@jupyter-widgets/controls", "2.0.0"}, map[string]string{"FloatSlider": "SliderStyle",
			"IntSlider": "SliderStyle", "Dropdown": "DescriptionStyle", "Checkbox": "CheckboxStyle"}}
	seven = &dialect{"ipywidgets 7", 2, module{"@jupyter-widgets/base", "1.2.0"},
		module{"@jupyter-widgets/controls", "1.5.0"}, map[string]string{"FloatSlider": "SliderStyle",
			"IntSlider": "SliderStyle", "Dropdown": "DescriptionStyle", "Checkbox": "DescriptionStyle"}}
	six = &dialect{"ipywidgets 6", 1, module{"jupyter-js-widgets", versionSix},
		module{"jupyter-js-widgets", versionSix}, map[string]string{"IntSlider": "SliderStyle"}}
)

// versionSix is the range of versions of the front end that the models of protocol 1 are for.
const versionSix = "~2.1.4"

// model is a model as it is sent: the whole of what is not the default.
type model struct {
	id    string
	name  string // without its ending, as in "FloatSlider"
	state map[string]any
}

// model writes a model of the controls.
func (d *dialect) model(id, name string, state map[string]any) model {
	return d.written(id, name, name+"View", d.controls, d.controls, state)
}

// style writes a style model, whose view every style shares.
func (d *dialect) style(id, name string, state map[string]any) model {
	return d.written(id, name, "StyleView", d.controls, d.base, state)
}

// layout writes a layout model.
func (d *dialect) layout(id string, state map[string]any) model {
	return d.written(id, "Layout", "LayoutView", d.base, d.base, state)
}

func (d *dialect) written(id, name, view string, of, viewOf module, own map[string]any) model {
	state := map[string]any{
		"_model_module": of.name, "_model_module_version": of.version, "_model_name": name + "Model",
		"_view_module": viewOf.name, "_view_module_version": viewOf.version, "_view_name": view,
	}
	if d.protocol == 1 {
		state["msg_throttle"] = 1
	}
	for key, v := range own {
		state[key] = v
	}
	return model{id, name, state}
}

// open is the message that makes a model in the front end.
func (d *dialect) open(m model) Message {
	if d.protocol == 1 {
		return Message{Type: Open, ID: m.id, Target: targetWidget, Data: m.state}
	}
	return Message{Type: Open, ID: m.id, Target: targetWidget,
		Data:     map[string]any{"state": m.state, "buffer_paths": []any{}},
		Metadata: map[string]any{"version": "2.1.0"}}
}

// update is the message that tells a front end of a state.
func (d *dialect) update(id string, state map[string]any) Message {
	data := map[string]any{"method": "update", "state": state}
	if d.protocol == 1 {
		data["buffers"] = []any{}
	} else {
		data["buffer_paths"] = []any{}
	}
	return Message{Type: Tell, ID: id, Data: data}
}

// reference is how one model names another.
func reference(id string) string { return "IPY_MODEL_" + id }
