package vocab

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
	"wedgework/reports/review"
)

// mostDesigns bounds a shortlist (a choice: nobody reads more).
const mostDesigns = 500

var _ = Register(Word{
	Name:    "designs",
	Summary: "a shortlist: every combination of crystals, types, angles and films against limits, the best first",
	Params: []Param{
		{Name: "limits", Kind: limitsKind, Doc: "requirements, from limits(); their bands and temperatures are used"},
		{Name: "build", Kind: functionKind.of("function", "stage"),
			Doc: "a function of the choices that returns a stack"},
		{Name: "tolerances", Kind: tolerancesParam.Kind, Mode: Keyword, Optional: true,
			Doc: "tolerances by path, for the worst of their corners; every design must have these parameters"},
		{Name: "choices", Kind: designChoices, Mode: Others,
			Doc: "values of each argument of the function, from one_of(...), a list or a sweep"},
	},
	Returns: "a shortlist with .designs, each with .choices, .stack, .passes, .figures, .margin, .film_length, " +
		".parts, .corners and .compromise; and .best, the stack of the first",
	Errors: fmt.Sprintf("there are no choices or more than %d combinations, or none can be built", mostDesigns),
	Example: `def stage(crystal_name, apex):
    c = crystal(crystal_name)
    w1 = wedge(c, apex=apex, thickness=0.5*mm, axis=22.5*deg, slanted="front")
    w2 = wedge(c, apex=apex, thickness=0.5*mm, axis=67.5*deg, slanted="back")
    r = rotator(garnet("Bi:RIG"), angle=45*deg, at=1550*nm)
    pair = collimator(waist=200*um, working_distance=6*mm)
    return stack(w1, gap(0.1*mm), r, gap(0.1*mm), w2, beam=pair)
lim = limits(isolation=at_least(30*dB), insertion_loss=at_most(0.5*dB), over=1550*nm)
designs(lim, stage, crystal_name=one_of("YVO4", "LiNbO3"), apex=[4*deg, 6*deg])`,
	Detail: "Each figure is the extreme over its band and temperatures, as .meets() finds it. Designs that meet " +
		"every limit come first, in falling order of the smallest margin in parts of its limit. A design is marked " +
		"as a compromise if no other has margins as large to every limit, and as few parts, and betters it in one. " +
		"What cannot be built is listed with the reason.",
	Source: "worst case over corners: as .corners()",
	Call:   shortlist,
})

// designChoices accepts the values of one argument.
var designChoices = Kind{`one_of("YVO4", "LiNbO3"), a list or a sweep`, "", func(v starlark.Value) (bool, string) {
	switch v.(type) {
	case *OneOf, *Sweep, *starlark.List, starlark.Tuple:
		return true, ""
	}
	return false, ""
}}

// Shortlist is designs against limits, as a cell holds it.
type Shortlist struct {
	opaque
	names   []string // of the choices
	designs []*Design
	corners bool
}

// Design is one of them.
type Design struct {
	opaque
	names   []string
	choices []starlark.Value
	stack   *stack.Stack // nil: it cannot be built
	why     string       // not
	figures []review.Figure
	more    []review.Figure // isolation, insertion loss and DGD where no limit is on them
	film    float64         // length of all rotators, m
	parts   int             // but gaps

	compromise bool
	corners    *bool // whether the worst corner meets every limit; nil without tolerances
}

func shortlist(t *starlark.Thread, a Args) (starlark.Value, error) {
	list := arg[*Limits](a, "limits")
	s := &Shortlist{opaque: opaque{"shortlist"}, corners: a.Has("tolerances")}
	values, n, err := s.read(a)
	if err != nil {
		return nil, err
	}
	work := session.Begin(t, "designs")
	defer work.End()
	ctx := stack.Quiet(session.ContextOf(t))
	for k := range n {
		d := &Design{opaque: opaque{"design"}, names: s.names}
		var named []starlark.Tuple
		rest := k
		for i := len(values) - 1; i >= 0; i-- {
			d.choices = append([]starlark.Value{values[i][rest%len(values[i])]}, d.choices...)
			rest /= len(values[i])
		}
		for i, name := range s.names {
			named = append(named, starlark.Tuple{starlark.String(name), d.choices[i]})
		}
		if err := d.build(t, a.Get("build"), named); err != nil {
			return nil, err
		}
		if d.stack != nil {
			if err := d.measure(ctx, t, list, arg[*starlark.Dict](a, "tolerances")); err != nil {
				return nil, err
			}
		}
		s.designs = append(s.designs, d)
		work.At(k+1, n)
	}
	s.order()
	if s.designs[0].stack == nil {
		return nil, fmt.Errorf("none of %s can be built: %s", count(n, "design"), s.designs[0].why)
	}
	return s, nil
}

// read lists the values of every choice, and how many combinations they have.
func (s *Shortlist) read(a Args) (values [][]starlark.Value, n int, err error) {
	n = 1
	for _, kv := range a.Others() {
		var all []starlark.Value
		switch v := kv[1].(type) {
		case *OneOf:
			all = v.options
		case *Sweep:
			for i := range min(v.Len(), mostDesigns+1) {
				all = append(all, v.Index(i))
			}
		default:
			if starlark.Len(v) <= mostDesigns {
				all, _ = elements(v)
			}
		}
		if n *= len(all); n < 1 || n > mostDesigns {
			return nil, 0, fmt.Errorf("the choices have no combination or more than %d", mostDesigns)
		}
		s.names, values = append(s.names, string(kv[0].(starlark.String))), append(values, all)
	}
	if len(values) == 0 {
		return nil, 0, fmt.Errorf(`there are no choices: give the values of the function's arguments, such as ` +
			`crystal_name=one_of("YVO4", "LiNbO3")`)
	}
	return values, n, nil
}

// build calls the function; what cannot be built is kept with its reason.
func (d *Design) build(t *starlark.Thread, function starlark.Value, named []starlark.Tuple) error {
	v, err := starlark.Call(t, function, nil, named)
	if ended := session.ContextOf(t).Err(); ended != nil {
		return ended
	}
	if err != nil {
		d.why = err.Error()
		return nil
	}
	s, ok := v.(*Stack)
	if !ok {
		return fmt.Errorf("the function must return a stack, got %s", describe(v))
	}
	d.stack = s.stack
	return nil
}

// measure finds what a design has.
func (d *Design) measure(ctx context.Context, t *starlark.Thread, list *Limits, tolerances *starlark.Dict) error {
	var more limits.Limits
	for _, q := range []limits.Quantity{limits.Isolation, limits.InsertionLoss, limits.DGD} {
		if !slices.ContainsFunc(list.list, func(l limits.Limit) bool { return l.Quantity == q }) {
			l := list.list[0]
			l.Quantity, l.AtLeast, l.Change = q, q.AtLeast(), nil
			more = append(more, l)
		}
	}
	found, err := apart(t, ctx, func() ([]review.Figure, error) {
		return review.Figures(ctx, d.stack, slices.Concat(list.list, more))
	})
	if err != nil {
		if ctx.Err() != nil {
			return err
		}
		d.stack, d.why = nil, err.Error()
		return nil
	}
	d.figures, d.more = found[:len(list.list)], found[len(list.list):]
	for _, e := range d.stack.Spec().Elements {
		switch e.Kind() {
		case "gap":
			continue
		case "rotator":
			d.film += float64(e.Place(d.stack.Spec().AlignTemperature).Length)
		}
		d.parts++
	}
	if tolerances == nil {
		return nil
	}
	return d.worst(ctx, t, list, tolerances)
}

// worst looks at the corners of the tolerances.
func (d *Design) worst(ctx context.Context, t *starlark.Thread, list *Limits, tolerances *starlark.Dict) error {
	within, err := newStack(d.stack).tolerances(tolerances)
	if err != nil {
		return fmt.Errorf("with %s: %w", d.text(), err)
	}
	asked := limitedBy(list)
	found, err := apart(t, ctx, func() (*tolerance.Corners, error) {
		return tolerance.Study{Stack: d.stack, Tolerances: within, Figures: figuresOf(asked)}.Corners(ctx)
	})
	if err != nil {
		return fmt.Errorf("with %s: %w", d.text(), err)
	}
	keeps := true
	for k, one := range asked {
		keeps = keeps && one.keeps(found.Worst[k].Value)
	}
	d.corners = &keeps
	return nil
}

// text words the choices.
func (d *Design) text() string {
	var all []string
	for i, name := range d.names {
		all = append(all, name+" = "+shortText(d.choices[i]))
	}
	return strings.Join(all, ", ")
}

// passes reports whether every limit is met.
func (d *Design) passes() bool { return d.stack != nil && d.outcome() == document.Pass }

// outcome is the worst of all limits.
func (d *Design) outcome() document.Outcome {
	var all []document.Outcome
	for _, f := range d.figures {
		all = append(all, f.Outcome)
	}
	return limits.Worst(all...)
}

// margin is the smallest one in parts of its limit; that of a figure without a value is beyond all.
func (d *Design) margin() float64 {
	if len(d.figures) == 0 { // it cannot be built
		return math.Inf(1)
	}
	least := d.figures[review.Closest(d.figures)].Share()
	if math.IsNaN(least) {
		return math.Inf(-1)
	}
	return least
}

// order puts the best first, and marks the compromises.
func (s *Shortlist) order() {
	rank := func(d *Design) int {
		switch {
		case d.passes():
			return 0
		case d.stack != nil:
			return 1
		}
		return 2
	}
	slices.SortStableFunc(s.designs, func(a, b *Design) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(b.margin(), a.margin()))
	})
	good := s.designs[0].passes()
	for _, d := range s.designs {
		d.compromise = d.stack != nil && d.passes() == good &&
			!slices.ContainsFunc(s.designs, func(o *Design) bool { return o.betters(d) })
	}
}

// betters reports whether a design is as good as another in every margin and in its parts, and better in one.
func (d *Design) betters(o *Design) bool {
	return d.stack != nil && o.stack != nil && tolerance.Dominates(d.worth(), o.worth())
}

// worth is what designs are compared by: the margins, and the parts that are not there.
func (d *Design) worth() []float64 {
	all := []float64{-float64(d.parts)}
	for _, f := range d.figures {
		all = append(all, f.Margin)
	}
	return all
}

func (s *Shortlist) String() string {
	good := 0
	for _, d := range s.designs {
		if d.passes() {
			good++
		}
	}
	return fmt.Sprintf("<shortlist of %s: %d meet every limit>", count(len(s.designs), "design"), good)
}

// Attr returns a field or a method.
func (s *Shortlist) Attr(name string) (starlark.Value, error) { return shortlistType.attr(s, name) }

// AttrNames lists them.
func (s *Shortlist) AttrNames() []string { return shortlistType.names(s) }

var shortlistType = newType("shortlist", methodSet[*Shortlist]{},
	tupleAttr("designs", "the designs, the best first", func(s *Shortlist) []*Design { return s.designs }),
	valueAttr("best", "stack", "stack of the first design",
		func(s *Shortlist) (starlark.Value, error) { return newStack(s.designs[0].stack), nil }).notJSON(),
)

func (d *Design) String() string { return "<design " + d.text() + ">" }

// Truth is whether every limit is met.
func (d *Design) Truth() starlark.Bool { return starlark.Bool(d.passes()) }

// Attr returns a field or a method.
func (d *Design) Attr(name string) (starlark.Value, error) { return designType.attr(d, name) }

// AttrNames lists them.
func (d *Design) AttrNames() []string { return designType.names(d) }

func (d *Design) built() bool { return d.stack != nil }

var designType = newType("design", methodSet[*Design]{},
	valueAttr("choices", "dict", "the choices, by name", func(d *Design) (starlark.Value, error) {
		return frozen(dictOf(d.names, d.choices))
	}),
	valueAttr("stack", "stack", "the stack; None if it cannot be built",
		func(d *Design) (starlark.Value, error) { return newStack(d.stack), nil }).when((*Design).built).notJSON(),
	boolAttr("passes", "whether every limit is met", (*Design).passes),
	textAttr("why", "why it cannot be built", func(d *Design) string { return d.why }),
	tupleAttr("figures", "each limit with the figure of the design", func(d *Design) (all []*DesignFigure) {
		for _, f := range d.figures {
			all = append(all, &DesignFigure{opaque{"design_figure"}, f})
		}
		return all
	}),
	floatAttr("margin", "smallest margin in parts of its limit", (*Design).margin).when((*Design).built),
	quantityAttr("film_length", "length of all rotators together", func(d *Design) quantity.Quantity {
		return quantity.FromSI(d.film, quantity.MustNamed("um"))
	}),
	intAttr("parts", "number of elements other than gaps", func(d *Design) int { return d.parts }),
	boolAttr("corners", "whether the worst corner of the tolerances meets every limit; None without tolerances=",
		func(d *Design) bool { return *d.corners }).when(func(d *Design) bool { return d.corners != nil }),
	boolAttr("compromise", "whether no other design is as good in every margin and in parts, and better in one",
		func(d *Design) bool { return d.compromise }),
)

func (s *Shortlist) blocks() []document.Block {
	t := document.Table{Caption: "Designs against the limits, the best first", Compact: true}
	for _, name := range s.names {
		t.Columns = append(t.Columns, document.Column{Head: spaced(name)})
	}
	right := func(heads ...string) {
		for _, h := range heads {
			t.Columns = append(t.Columns, document.Column{Head: h, Align: document.Right})
		}
	}
	t.Columns = append(t.Columns, document.Column{Head: "outcome"})
	first := s.designs[0]
	for _, f := range slices.Concat(first.figures, first.more) {
		right(f.Limit.Quantity.String() + " (" + f.Limit.Quantity.Unit() + ")")
	}
	right("smallest margin", "film (µm)", "parts")
	if s.corners {
		t.Columns = append(t.Columns, document.Column{Head: "corners"})
	}
	t.Columns = append(t.Columns, document.Column{Head: "compromise"})
	none := document.Table{Caption: "Combinations that cannot be built", Compact: true,
		Columns: []document.Column{{Head: "choices"}, {Head: "reason"}}}
	for _, d := range s.designs[:min(len(s.designs), mostRows)] {
		if d.stack == nil {
			none.Rows = append(none.Rows, []string{d.text(), d.why})
			continue
		}
		t.Rows = append(t.Rows, s.row(d))
	}
	t.Note = "Each figure is the worst over its band and temperatures. Smallest margin: in percent of its limit. " +
		"Compromise: no other design has margins as large to every limit and as few parts, and is better in one; " +
		"where designs meet every limit, only they count."
	blocks := []document.Block{t}
	if f, ok := s.picture(); ok {
		blocks = append(blocks, f)
	}
	if len(none.Rows) > 0 {
		blocks = append(blocks, none)
	}
	return blocks
}

func (s *Shortlist) row(d *Design) []string {
	var row []string
	for _, c := range d.choices {
		row = append(row, shortText(c))
	}
	row = append(row, d.outcome().String())
	for _, f := range slices.Concat(d.figures, d.more) {
		row = append(row, quantity.Quantity{Value: f.Value}.Text(levelDigits(f.Value)))
	}
	row = append(row, fmt.Sprintf("%+.1f %%", 100*d.margin()), fmt.Sprintf("%.0f", d.film*1e6), fmt.Sprint(d.parts))
	mark := func(yes bool) string { return map[bool]string{true: "yes", false: "no"}[yes] }
	if s.corners {
		row = append(row, map[bool]string{true: "met", false: "not met"}[d.corners != nil && *d.corners])
	}
	return append(row, mark(d.compromise))
}

// picture plots the second limited figure over the first, compromises filled in.
func (s *Shortlist) picture() (document.Figure, bool) {
	first := s.designs[0]
	if len(first.figures) < 2 {
		return document.Figure{}, false
	}
	all := figure.Series{Label: "designs", Marker: figure.Circle, Line: figure.NoLine, Color: figure.Blue}
	some := figure.Series{Label: "compromises", Marker: figure.Square, Line: figure.NoLine, Color: figure.Black}
	for _, d := range s.designs {
		if d.stack == nil {
			continue
		}
		x, y := d.figures[0].Value, d.figures[1].Value
		if math.IsNaN(x) || math.IsNaN(y) {
			continue
		}
		to := &all
		if d.compromise {
			to = &some
		}
		to.X, to.Y = append(to.X, x), append(to.Y, y)
	}
	a, b := first.figures[0].Limit, first.figures[1].Limit
	c := figure.Chart{X: figure.Axis{Label: a.Quantity.String(), Unit: a.Quantity.Unit()},
		Y: figure.Axis{Label: b.Quantity.String(), Unit: b.Quantity.Unit()},
		Limits: []figure.Limit{{Label: "limit", At: a.Value, Vertical: true,
			Forbid: figure.Forbidden(a.AtLeast)}, {Label: "limit", At: b.Value,
			Forbid: figure.Forbidden(b.AtLeast)}}}
	for _, one := range []figure.Series{all, some} {
		if len(one.X) > 0 {
			c.Series = append(c.Series, one)
		}
	}
	p := figure.Panels{Charts: []figure.Chart{c}, Columns: 1}
	return p.Figure("The first two limits: what the designs have."), true
}
