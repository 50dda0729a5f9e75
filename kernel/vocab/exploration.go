package vocab

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/kernel/widget"
	"wedgework/reports/document"
	"wedgework/reports/nearest"
	"wedgework/reports/notebook"
)

// Exploring is a Host whose front end may have controls.
type Exploring interface {
	Host
	// Explore shows the controls of an exploration in the running cell. It reports whether the front end has any.
	Explore(t *starlark.Thread, e *Exploration) (shown bool, err error)
}

// Exploration is what explore() shows: a function, and what its arguments may be.
type Exploration struct {
	opaque
	names   []string
	choices []choices
	draw    func(t *starlark.Thread, values []starlark.Value) (starlark.Value, error)

	values []starlark.Value // of the moment
	result starlark.Value   // what draw has returned last
	panel  *widget.Panel
	id     string           // of the display that is redrawn
	in     *starlark.Thread // of the cell that shows it
}

var (
	_ session.ShownIn = (*Exploration)(nil)
	_ shower          = (*Exploration)(nil)
)

var explorationType = newType("exploration", methodSet[*Exploration]{},
	valueAttr("values", "dict", "values of the moment, by name", func(e *Exploration) (starlark.Value, error) {
		return frozen(dictOf(e.names, e.values))
	}),
	valueAttr("result", "", "what the function has returned for them", func(e *Exploration) (starlark.Value, error) {
		return e.result, nil
	}).notJSON(),
)

func (e *Exploration) String() string { return "<exploration of " + strings.Join(e.names, ", ") + ">" }

// Attr returns a field.
func (e *Exploration) Attr(name string) (starlark.Value, error) { return explorationType.attr(e, name) }

// AttrNames lists them.
func (e *Exploration) AttrNames() []string { return explorationType.names(e) }

// ShownIn reports whether the cell of a thread shows the exploration already.
func (e *Exploration) ShownIn(t *starlark.Thread) bool { return e.in == t }

func (e *Exploration) blocks() []document.Block { return []document.Block{document.Plain(e.note())} }

// note says what is shown and what can move.
func (e *Exploration) note() string {
	var parts []string
	for i, name := range e.names {
		parts = append(parts, fmt.Sprintf("%s = %s (%s)", name, shortText(e.values[i]), e.choices[i].note()))
	}
	return "Shown for " + strings.Join(parts, "; ") + ". The values in parentheses can be chosen where the notebook " +
		"is open with Jupyter widgets."
}

// Panel is the controls.
func (e *Exploration) Panel() *widget.Panel {
	if e.panel == nil {
		e.panel = &widget.Panel{Of: e}
		for i, c := range e.choices {
			e.panel.Controls = append(e.panel.Controls, c.control(e.names[i]))
		}
	}
	return e.panel
}

// DisplayID names a display of the exploration.
func (e *Exploration) DisplayID(of string) string { return e.id + "-" + of }

// Redraw draws the exploration at what the controls stand at, in the place where it is shown. What the function
// refuses is shown there too; the error is that of the context, or of what cannot be shown.
func (e *Exploration) Redraw(t *starlark.Thread, controls []widget.Control) error {
	values := make([]starlark.Value, len(e.choices))
	for i, c := range e.choices {
		values[i] = c.value(&controls[i])
	}
	e.values = values
	outputs, err := e.run(t)
	blocks := blocksOf(outputs)
	if err != nil {
		if session.ContextOf(t).Err() != nil {
			return err
		}
		blocks = append(blocks, document.Caution{Text: plainError(err)})
	}
	return e.show(t, blocks, notebook.UpdateOutput)
}

// plainError is what a call that failed says, without the calls on the way.
func plainError(err error) string {
	var e *starlark.EvalError
	if errors.As(err, &e) {
		return e.Msg
	}
	return err.Error()
}

// run draws the exploration at its values and returns what that shows.
func (e *Exploration) run(t *starlark.Thread) ([]notebook.Output, error) {
	outputs, err := session.Gather(t, func() error {
		v, err := e.draw(t, e.values)
		if err != nil {
			return err
		}
		if e.result = v; v == starlark.None {
			return nil
		}
		return session.Show(t, "", v)
	})
	return cleared(outputs), err
}

// cleared leaves out what was cleared.
func cleared(outputs []notebook.Output) []notebook.Output {
	var left []notebook.Output
	for _, o := range outputs {
		if o.Type == notebook.ClearOutput {
			left = nil
			continue
		}
		left = append(left, o)
	}
	return left
}

// show shows blocks with the note, as a display or the update of one.
func (e *Exploration) show(t *starlark.Thread, blocks []document.Block, as notebook.OutputType) error {
	blocks = append(blocks, e.blocks()...)
	for i, b := range blocks {
		if f, ok := b.(document.Figure); ok {
			f.Still = true
			blocks[i] = f
		}
	}
	data, err := session.Bundle(t, blocks)
	if err != nil {
		return err
	}
	return session.Emit(t, notebook.Output{Type: as, DisplayID: e.DisplayID("drawing"), Data: data, Blocks: blocks})
}

// blocksOf puts outputs into one.
func blocksOf(outputs []notebook.Output) []document.Block {
	var blocks []document.Block
	printed := ""
	flush := func() {
		if printed != "" {
			blocks = append(blocks, document.Code{Text: strings.TrimRight(printed, "\n")})
			printed = ""
		}
	}
	for _, o := range outputs {
		switch text, _ := o.Data["text/plain"].(string); {
		case o.Type == notebook.StreamOutput:
			printed += o.Text
		case len(o.Blocks) > 0:
			flush()
			blocks = append(blocks, o.Blocks...)
		case text != "":
			flush()
			blocks = append(blocks, document.Code{Text: text})
		}
	}
	flush()
	return blocks
}

// explore is the word.
func explore(t *starlark.Thread, a Args) (starlark.Value, error) {
	host, err := hostOf(t)
	if err != nil {
		return nil, err
	}
	e := &Exploration{opaque: opaque{"exploration"}, id: newDisplay(t), in: t, result: starlark.None}
	if err := e.choose(a); err != nil {
		return nil, err
	}
	settings, err := e.drawing(t, host, a)
	if err != nil {
		return nil, err
	}
	outputs, err := e.first(t, settings)
	if err != nil {
		if err := session.Release(t, outputs); err != nil { // what came before the error
			return nil, err
		}
		return nil, err
	}
	if x, ok := host.(Exploring); ok {
		shown, err := x.Explore(t, e)
		if err != nil {
			return nil, err
		}
		if shown {
			return e, e.show(t, blocksOf(outputs), notebook.DisplayOutput)
		}
	}
	if err := session.Release(t, outputs); err != nil {
		return nil, err
	}
	return e, show(t, session.Shown{Blocks: e.blocks()})
}

// choose reads what may move.
func (e *Exploration) choose(a Args) error {
	add := func(name string, v starlark.Value) error {
		if problem := choicesKind.problem(v); problem != "" {
			return fmt.Errorf("%s %s", name, problem)
		}
		if slices.Contains(e.names, name) {
			return fmt.Errorf("%s is given twice", name)
		}
		c, ok := v.(choices)
		if !ok {
			c = checkBox(v.(starlark.Bool))
		}
		e.names, e.choices = append(e.names, name), append(e.choices, c)
		return nil
	}
	if d := arg[*starlark.Dict](a, "paths"); d != nil {
		for _, kv := range d.Items() {
			name, ok := starlark.AsString(kv[0])
			if !ok {
				return fmt.Errorf("the keys of paths= are texts such as \"wedge1.apex\", got %s", describe(kv[0]))
			}
			if err := add(name, kv[1]); err != nil {
				return err
			}
		}
	}
	for _, kv := range a.Others() {
		if err := add(string(kv[0].(starlark.String)), kv[1]); err != nil {
			return err
		}
	}
	if len(e.names) == 0 {
		return errors.New("nothing moves: give what may change, as in apex=between(3*deg, 8*deg)")
	}
	return nil
}

// begin sets a choice to a value it may take, unless the call says where it begins.
func (e *Exploration) begin(t *starlark.Thread, i int, v starlark.Value) error {
	if _, set := e.choices[i].start(); set || v == nil {
		return nil
	}
	c, err := e.choices[i].starting(session.LookOf(t), v)
	if err != nil {
		return fmt.Errorf("%s: %w; say where to begin with value=", e.names[i], err)
	}
	e.choices[i] = c
	return nil
}

// parameterNames lists what a function can be given by name; all is true for one that takes any name.
func parameterNames(f starlark.Callable) (names []string, defaults map[string]starlark.Value, all bool) {
	defaults = map[string]starlark.Value{}
	switch f := f.(type) {
	case *starlark.Function:
		n := f.NumParams()
		if f.HasKwargs() {
			n--
			all = true
		}
		if f.HasVarargs() {
			n--
		}
		for i := range n {
			name, _ := f.Param(i)
			names = append(names, name)
			if v := f.ParamDefault(i); v != nil {
				defaults[name] = v
			}
		}
	case *callable:
		for _, p := range f.word.Params {
			names = append(names, p.Name)
			all = all || p.Mode == Others
		}
	default:
		all = true
	}
	return names, defaults, all
}

// unknownChoice is the error of a name that is neither an argument nor a setting.
func unknownChoice(name string, f starlark.Callable, names []string) error {
	if near := nearest.To(name, names); near != "" {
		return fmt.Errorf("%s() has no argument %s=; did you mean %s=?", f.Name(), name, near)
	}
	return fmt.Errorf("%s() has no argument %s=, and there is no setting given(%q, ...)", f.Name(), name, name)
}
