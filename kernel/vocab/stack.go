package vocab

import (
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/element"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/nearest"
)

// Stack is an assembled stack as a cell holds it.
type Stack struct {
	opaque
	stack *stack.Stack
}

var stackKind = instance[*Stack]("a stack such as stack(w1, gap(1*mm), r, gap(1*mm), w2, beam=...)")

// newStack wraps a stack.
func newStack(s *stack.Stack) *Stack { return &Stack{opaque{"stack"}, s} }

func (s *Stack) String() string {
	return fmt.Sprintf("<stack of %s>", count(len(s.stack.Spec().Elements), "element"))
}

// Attr returns a field or a method.
func (s *Stack) Attr(name string) (starlark.Value, error) { return stackType.attr(s, name) }

// AttrNames lists them.
func (s *Stack) AttrNames() []string { return stackType.names(s) }

var stackType = newType("stack", stackMethods,
	tupleAttr("elements", "elements in the order in which forward light passes them", func(s *Stack) []*Element {
		var all []*Element
		for _, e := range s.stack.Spec().Elements {
			all = append(all, &Element{opaque{e.Kind()}, e})
		}
		return all
	}),
	valueAttr("beam", "collimator", "pair of collimators", func(s *Stack) (starlark.Value, error) {
		return &Collimator{opaque{"collimator"}, s.stack.Spec().Beam}, nil
	}),
	tupleAttr("ports", "ports and where they stand, the launching and the receiving collimator first",
		func(s *Stack) []*Port {
			var all []*Port
			for _, p := range s.stack.Ports() {
				all = append(all, &Port{opaque: opaque{"port"}, port: p})
			}
			return all
		}),
	valueAttr("parameters", "dict", "all adjustable numbers, by path \"element.parameter\"",
		func(s *Stack) (starlark.Value, error) {
			var paths []string
			var all []starlark.Value
			for _, p := range s.stack.Parameters() {
				paths, all = append(paths, p.Path), append(all, fromQuantity(p.Value))
			}
			return frozen(dictOf(paths, all))
		}),
	textsAttr("cautions", "warnings of the model about this stack",
		func(s *Stack) []string { return s.stack.Cautions() }).work(),
)

func texts(list []string) starlark.Tuple {
	t := make(starlark.Tuple, len(list))
	for i, s := range list {
		t[i] = starlark.String(s)
	}
	return t
}

func (s *Stack) blocks() []document.Block {
	spec := s.stack.Spec()
	t := elementTable("Stack, in the order in which forward light passes it", spec.Elements)
	beam := Collimator{pair: spec.Beam}
	t.Rows = append(t.Rows, []string{"beam", "", parameterList(namesOf(spec.Beam.Parameters()), beam.Attr)})
	for end, name := range element.CollimatorNames {
		if spec.Beam.Pigtails.Known() {
			t.Rows = append(t.Rows, []string{name, "", pigtailText(&spec.Beam.Pigtails, end)})
		}
	}
	t.Note = fmt.Sprintf("aligned at %s, %s", inNanometres(spec.AlignAt), inCelsius(spec.AlignTemperature))
	if w := s.stack.Linewidth(); w > 0 {
		t.Note += fmt.Sprintf("; source linewidth %s", written(quantity.FromSI(w, quantity.MustNamed("GHz"))))
	}
	return append([]document.Block{t}, cautions(s.stack.Cautions())...)
}

// elementTable has a row for each part: its name or else its kind, its material, its numbers.
func elementTable(caption string, parts []element.Element) document.Table {
	t := document.Table{Caption: caption, Columns: []document.Column{{Head: "element"}, {Head: "made of"},
		{Head: "parameters"}}}
	for _, e := range parts {
		v := Element{opaque{e.Kind()}, e}
		name := e.Label()
		if name == "" {
			name = e.Kind()
		}
		t.Rows = append(t.Rows, []string{name, madeOf(e), parameterList(namesOf(e.Parameters()), v.Attr)})
	}
	return t
}

func namesOf(ps []element.Parameter) []string {
	names := make([]string, len(ps))
	for i, p := range ps {
		names[i] = p.Path
	}
	return names
}

// parameterList writes "apex 5 deg, thickness 0.5 mm", leaving out zeros.
func parameterList(names []string, attr func(string) (starlark.Value, error)) string {
	out := ""
	for _, n := range names {
		v, err := attr(n)
		q, ok := toQuantity(v)
		if err != nil || !ok || q.Value == 0 {
			continue
		}
		if out != "" {
			out += ", "
		}
		out += strings.ReplaceAll(n, "_", " ") + " " + written(q)
	}
	return out
}

// known checks a path of a call against the parameters of the stack, and the dimension of its values.
func (s *Stack) known(path string, values ...quantity.Quantity) error {
	var paths []string
	for _, p := range s.stack.Parameters() {
		if p.Path == path {
			for _, q := range values {
				if p.Value.Dimension() != q.Dimension() || q.Absolute() {
					return fmt.Errorf("%s must be %s such as %s, got %s",
						path, article(noun(p.Value)), spelled(fromQuantity(p.Value)), describe(fromQuantity(q)))
				}
			}
			return nil
		}
		paths = append(paths, p.Path)
	}
	if near := nearest.To(path, paths); near != "" {
		return fmt.Errorf("the stack has no parameter %q; did you mean %q?", path, near)
	}
	return fmt.Errorf("the stack has no parameter %q; .parameters lists all", path)
}

// quantities reads a dict of parameter paths and quantities.
func (s *Stack) quantities(d *starlark.Dict) (map[string]quantity.Quantity, error) {
	m := make(map[string]quantity.Quantity, d.Len())
	for _, kv := range d.Items() {
		path, ok := starlark.AsString(kv[0])
		if !ok {
			return nil, fmt.Errorf("a path is a text such as \"wedge2.axis\", got %s", describe(kv[0]))
		}
		q, ok := toQuantity(kv[1])
		if !ok {
			return nil, fmt.Errorf("%s must be a quantity, got %s", path, describe(kv[1]))
		}
		for _, one := range (tolerance.Vary{Path: path}).Paths() {
			if err := s.known(one, q); err != nil {
				return nil, err
			}
			m[one] = q
		}
	}
	return m, nil
}

// respond computes the response of one direction at the conditions of a call.
func (s *Stack) respond(t *starlark.Thread, d stack.Direction, a Args) (starlark.Value, error) {
	at, err := conditionsOf(a)
	if err != nil {
		return nil, err
	}
	ctx, work := working(t, d.String()+" response")
	defer work.End()
	r, err := session.Apart(t, func() (*stack.Response, error) {
		return s.stack.Over(ctx, d, at.wavelengths, at.temperatures)
	})
	if err != nil {
		return nil, err
	}
	if err := s.about(t, at.wavelengths, at.temperatures); err != nil {
		return nil, err
	}
	at.ctx = nil // which ends with this cell; the response lives on
	return &Response{opaque{"response"}, s, at, r}, nil
}

const exampleStack = `c = crystal("YVO4")
w1 = wedge(c, apex=5*deg, thickness=0.5*mm, axis=22.5*deg, slanted="front")
r = rotator(garnet("Bi:RIG"), angle=45*deg, at=1550*nm)
w2 = wedge(c, apex=5*deg, thickness=0.5*mm, axis=67.5*deg, slanted="back")
s = stack(w1, gap(0.5*mm), r, gap(0.5*mm), w2, beam=collimator(waist=200*um, working_distance=10*mm))
`

var stackMethods = newMethods("stack", append([]method[*Stack]{
	{Word{
		Name:    "forward",
		Summary: "response to light from the launching to the receiving collimator",
		Params:  []Param{wavelengthParam, temperatureParam},
		Returns: "a response with .insertion_loss, .insertion_loss_min, .insertion_loss_max, .pdl, .dgd, .matrix, " +
			".mueller, .return_loss and .paths; between polarization-maintaining fibres also .extinction_ratio, " +
			".insertion_loss_slow and .insertion_loss_fast",
		Errors:  "a wavelength or temperature is outside the range of a material",
		Example: exampleStack + "s.forward(1550*nm).insertion_loss",
		Source: "sum over the paths of polarized light, each an overlap integral; figures by IEC 61300-3-4 and IEC " +
			"61300-3-2",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) {
		return s.respond(t, stack.Forward, a)
	}},
	{Word{
		Name:    "backward",
		Summary: "response to light from the receiving to the launching collimator",
		Params:  []Param{wavelengthParam, temperatureParam},
		Returns: "a response with .isolation, .isolation_mean, .pdl, .dgd, .matrix, .mueller, .return_loss and .paths",
		Errors:  "a wavelength or temperature is outside the range of a material",
		Example: exampleStack + "s.backward(sweep(1530*nm, 1565*nm, 5*nm)).isolation.min()",
		Source:  "sum over the paths of polarized light, each an overlap integral; isolation by IEC 61202-1",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) {
		return s.respond(t, stack.Backward, a)
	}},
	{Word{
		Name:    "assemble",
		Summary: "turns an element about the device axis until a figure peaks, as in assembly",
		Params: []Param{
			{Name: "turn", Kind: textKind, Mode: Keyword, Suggest: turnable, Doc: "name of the element"},
			{Name: "peak", Kind: choice("isolation", "transmission"), Mode: Keyword,
				Default: starlark.String("isolation"),
				Doc:     "the figure to maximize"},
			{Name: "at", Kind: wavelengthKind, Mode: Keyword, Doc: "the vacuum wavelength"},
			{Name: "temperature", Kind: temperatureKind, Mode: Keyword, Default: room, Doc: "the temperature"},
		},
		Returns: "an assembly with .stack, .turn, .before, .after and .cost, the added insertion loss",
		Errors:  "the stack has no such element, or turning it changes nothing",
		Detail:  "The element is turned by up to 10° in either direction; the receiver is realigned at every step.",
		Example: exampleStack + `s.adjusted({"rotator1.angle": 44.4*deg}).assemble(turn="wedge2", at=1550*nm).turn`,
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) {
		return s.assemble(t, a)
	}},
	{Word{
		Name:    "return_loss",
		Summary: "return loss of a port: all faces of the stack, fibre end and lens of both collimators, and scatter",
		Params: []Param{
			wavelengthParam, temperatureParam,
			portParam,
			{Name: "coherent", Kind: boolKind, Mode: Keyword, Default: starlark.False,
				Doc: "True: reflections interfere, those between faces included, within the coherence given by " +
					"linewidth= of the stack; False: each face is counted once, and powers add"},
		},
		Returns: "a level, a series over a sweep, or a grid over two",
		Example: exampleStack + "s.return_loss(1550*nm)",
		Source: "IEC 61300-3-6; by the highest power over polarization, and no better than the floor that scatter " +
			"leaves; coherent: Airy's formula and its extension to many faces (R. Redheffer, 1962)",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) {
		return s.returnLoss(t, a)
	}},
	{Word{
		Name:    "reflections",
		Summary: "return loss of each face, of the fibre end and lens of either collimator, and scatter alone",
		Params: []Param{{Name: "wavelength", Kind: wavelengthKind,
			Doc: "the vacuum wavelength"}, {Name: "temperature", Kind: temperatureKind, Default: room,
			Doc: "the temperature"}, portParam},
		Returns: "a dict of return losses by face; faces that reflect nothing into the fibre are omitted",
		Errors:  "the wavelength or temperature is outside the range of a material",
		Example: exampleStack + "table(s.reflections(1550*nm))",
		Source:  "IEC 61300-3-6, one face at a time; return_loss sums them up",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) {
		return s.reflections(t, a)
	}},
	{Word{
		Name:    "adjusted",
		Summary: "a copy of the stack with other parameter values, realigned",
		Params: []Param{{Name: "values", Kind: dictKind,
			Doc: `new values by path "element.parameter"; .parameters lists the paths`}},
		Returns: "a stack",
		Errors:  "a path is not a parameter of the stack, or its value cannot be made",
		Example: exampleStack + `s.adjusted({"wedge2.axis": 67.9*deg})`,
	}, func(s *Stack, _ *starlark.Thread, a Args) (starlark.Value, error) {
		values, err := s.quantities(arg[*starlark.Dict](a, "values"))
		if err != nil {
			return nil, err
		}
		changed, err := s.stack.Adjusted(values)
		if err != nil {
			return nil, err
		}
		return newStack(changed), nil
	}},
	{Word{
		Name:    "over",
		Summary: "stacks that differ in the value of a parameter",
		Params:  familyParams,
		Returns: "a family of stacks: its .forward(), .backward() and .return_loss() give series over the parameter, " +
			"another .over() a second parameter",
		Errors: "the stack has no such parameter, or a stack cannot be built",
		Detail: "Each stack is realigned, as adjusted() does.",
		Example: exampleStack + `s.over("wedge1.apex, wedge2.apex", sweep(3*deg, 8*deg, 1*deg)).backward(1550*nm).isolation
s.over(lambda gap: {"gap1.length": gap, "gap2.length": 2*gap}, sweep(0.1*mm, 0.5*mm, 0.1*mm))`,
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) {
		return s.family().over(t, a)
	}},
	heatedMethod,
}, append(portMethods, toleranceMethods...)...)...)
