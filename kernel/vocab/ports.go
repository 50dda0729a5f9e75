package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// Link is what one port gets of another's light: at one wavelength and temperature, over a sweep or over a grid.
type Link struct {
	opaque
	from, to string
	of       *Stack
	at       conditions
	r        *stack.Response
}

func (k *Link) String() string { return fmt.Sprintf("<light from port %s to port %s>", k.from, k.to) }

// linkFigure is a figure of the light between two ports, and what a table of all ports calls it.
type linkFigure struct {
	name, label string
	unit        quantity.Unit
	value       func(stack.Point) float64 // SI
	summary     string
}

// linkFigures are those of a response without regard to what a direction is for: between ports either may pass.
var linkFigures = []linkFigure{
	{"insertion_loss", "insertion loss", decibel, stack.Point.InsertionLoss,
		"-10 log10((t1+t2)/2), dB: mean over polarization"},
	{"isolation", "isolation", decibel, stack.Point.Isolation,
		"-10 log10(t1), dB: minimum over polarization; between ports at one end, the directivity"},
	{"insertion_loss_max", "maximum insertion loss", decibel, stack.Point.InsertionLossMax,
		"-10 log10(t2), dB: maximum over polarization"},
	{"pdl", "PDL", decibel, stack.Point.PDL, "polarization-dependent loss 10 log10(t1/t2), dB"},
	{"dgd", "DGD", picosecond, stack.Point.DGD,
		"differential group delay, ps; NaN if one polarization is lost or no light arrives"},
}

// Attr returns a field or a method.
func (k *Link) Attr(name string) (starlark.Value, error) { return linkType.attr(k, name) }

// AttrIn is Attr for a cell, which is told what a matrix lacks.
func (k *Link) AttrIn(t *starlark.Thread, name string) (starlark.Value, error) {
	if name == "matrix" {
		return k.response().matrix(t)
	}
	return k.Attr(name)
}

// AttrNames lists them.
func (k *Link) AttrNames() []string { return linkType.names(k) }

var linkType = newType("link", methodSet[*Link]{}, linkAttrs()...)

func linkAttrs() []attr[*Link] {
	all := []attr[*Link]{
		textAttr("launched", "port that the light leaves", func(k *Link) string { return k.from }),
		textAttr("received", "port that the light arrives at", func(k *Link) string { return k.to }),
	}
	for _, f := range linkFigures {
		all = append(all, valueAttr(f.name, "series", f.summary,
			func(k *Link) (starlark.Value, error) { return k.figure(f) }).work())
	}
	return append(all, valueAttr("matrix", "tuple",
		"dominant Jones matrix at one wavelength and temperature, without the depolarized light: rows of pairs, "+
			"real and "+
			"imaginary part",
		func(k *Link) (starlark.Value, error) { return k.response().matrix(new(starlark.Thread)) }).notJSON())
}

// response is what a link has as a response of one direction.
func (k *Link) response() *Response { return &Response{opaque{"response"}, k.of, k.at, k.r} }

func (k *Link) figure(f linkFigure) (starlark.Value, error) {
	return k.at.each(f.label, f.unit, func(t, l int) (float64, error) { return f.value(k.r.Points[t][l]), nil })
}

func (k *Link) blocks() []document.Block {
	r := k.response()
	rows := []document.Field{
		{Name: "wavelength", Value: brief(r.condition(r.at.overL, inNanometres(r.at.wavelengths[0])))},
		{Name: "temperature", Value: brief(r.condition(r.at.overT, inCelsius(r.at.temperatures[0])))},
	}
	for _, f := range linkFigures {
		v, err := k.figure(f)
		if err != nil {
			continue
		}
		if s, ok := v.(*Series); ok {
			if lo, hi := s.extremes(); lo >= 0 {
				rows = append(rows, document.Field{Name: f.label, Value: s.rounded(lo) + " to " + s.rounded(hi)})
			}
			continue
		}
		q, _ := toQuantity(v)
		rows = append(rows, row(f.label, q))
	}
	return []document.Block{fields("Light from port "+k.from+" to port "+k.to, rows...)}
}

var (
	fromPort = Param{Name: "launched", Kind: textKind.of("text", `"1"`), Doc: "name of the port that the light leaves"}
	toPort   = Param{Name: "received", Kind: textKind.of("text", `"2"`), Doc: "name of the port that it arrives at"}
)

const exampleCirculator = exampleStack + `p = port("3", side="front", aligned_to="2")
t = stack(w1, gap(0.5*mm), r, gap(0.5*mm), w2, beam=collimator(waist=200*um, working_distance=10*mm), ports=[p])
`

var portMethods = []method[*Stack]{
	{Word{
		Name:    "between",
		Summary: "what one port receives of the light of another, or of its own",
		Params:  []Param{fromPort, toPort, wavelengthParam, temperatureParam},
		Returns: "a link with .insertion_loss, .isolation, .insertion_loss_max, .pdl, .dgd and .matrix",
		Errors:  "the stack has no such port, or a wavelength or temperature is outside the range of a material",
		Detail: "Between ports at opposite ends light goes through the stack. Between ports at one end it is " +
			"reflected, " +
			"once, by a face, by a mirror or by the collimators at the other end; .isolation is then the " +
			"directivity. " +
			"The lens and the fibre's end of the port that light leaves are not part of it: .return_loss includes " +
			"them.",
		Example: exampleCirculator + `t.between("2", "3", 1550*nm).isolation`,
		Source: "sum over the paths of polarized light, each an overlap integral; figures by IEC 61300-3-2 and " +
			"IEC 61300-3-4",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.link(t, a) }},
	{Word{
		Name:    "pair",
		Summary: "the stack between two other ports, one at each end, as a stack",
		Params: []Param{{Name: "front", Kind: textKind.of("text", `"3"`), Doc: "name of the port in front"},
			{Name: "back", Kind: textKind.of("text", `"2"`), Doc: "name of the port behind"}},
		Returns: "a stack: its forward light goes from the first port to the second",
		Errors:  "the stack has no such port, or it is at the other end",
		Detail: "Whatever takes a stack takes it: forward() and backward(), meets(), search(), draw(). Adjusted, " +
			"it has " +
			"all its ports aligned again.",
		Example: exampleCirculator + `t.pair("3", "2").backward(1550*nm).isolation`,
	}, func(s *Stack, _ *starlark.Thread, a Args) (starlark.Value, error) {
		p, err := s.stack.Pair(a.Text("front"), a.Text("back"))
		if err != nil {
			return nil, err
		}
		return newStack(p), nil
	}},
	{Word{
		Name:    "port_matrix",
		Summary: "a figure between all ports at one wavelength and temperature, as rows for table()",
		Params: []Param{{Name: "wavelength", Kind: wavelengthKind, Doc: "the vacuum wavelength"},
			{Name: "temperature", Kind: temperatureKind, Default: room, Doc: "the temperature"},
			{Name: "figure", Kind: choice("insertion_loss", "isolation", "insertion_loss_max", "pdl", "dgd"),
				Mode:    Keyword,
				Default: starlark.String("isolation"), Doc: "the figure, as of .between()"}},
		Returns: "a list of rows: the first has the names of the ports that light arrives at, the others begin " +
			"with the " +
			"port that it leaves",
		Errors:  "the wavelength or temperature is outside the range of a material",
		Example: exampleCirculator + `table(t.port_matrix(1550*nm), title="isolation and directivity")`,
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.portMatrix(t, a) }},
}

// link computes what one port gets of another at the conditions of a call.
func (s *Stack) link(t *starlark.Thread, a Args) (starlark.Value, error) {
	at, err := conditionsOf(a)
	if err != nil {
		return nil, err
	}
	ctx, work := working(t, "light between ports")
	defer work.End()
	from, to := a.Text("launched"), a.Text("received")
	r, err := s.stack.OverBetween(ctx, from, to, at.wavelengths, at.temperatures)
	if err != nil {
		return nil, err
	}
	if err := s.about(t, at.wavelengths, at.temperatures); err != nil {
		return nil, err
	}
	at.ctx = nil // which ends with this cell; the link lives on
	return &Link{opaque{"link"}, from, to, s, at, r}, nil
}

// nothing is the loss in dB from which on a table says that no light arrives: what rounding leaves of it.
const nothing = 150

func (s *Stack) portMatrix(t *starlark.Thread, a Args) (starlark.Value, error) {
	l, at := a.Length("wavelength"), a.Temperature("temperature")
	if err := s.about(t, []quantity.Length{l}, []quantity.Temperature{at}); err != nil {
		return nil, err
	}
	var figure linkFigure
	for _, f := range linkFigures {
		if f.name == a.Text("figure") {
			figure = f
		}
	}
	ctx, work := working(t, "light between ports")
	defer work.End()
	head := []starlark.Value{starlark.String("from, to")}
	var rows []starlark.Value
	for _, from := range s.stack.Ports() {
		head = append(head, starlark.String(from.Name))
		row := []starlark.Value{starlark.String(from.Name)}
		for _, to := range s.stack.Ports() {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			p, err := s.stack.Between(from.Name, to.Name, l, at)
			if err != nil {
				return nil, err
			}
			if p.InsertionLoss() > nothing {
				row = append(row, starlark.String("none"))
				continue
			}
			row = append(row, fromQuantity(quantity.FromSI(figure.value(p), figure.unit)))
		}
		rows = append(rows, starlark.NewList(row))
	}
	return starlark.NewList(append([]starlark.Value{starlark.NewList(head)}, rows...)), nil
}
