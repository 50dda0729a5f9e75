package vocab

import (
	"errors"
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// Response is what a stack does to light of one direction, at a point, over a sweep or over a grid.
type Response struct {
	opaque
	of *Stack
	at conditions
	r  *stack.Response
}

func (r *Response) String() string {
	where := "at a point"
	if !r.at.point() {
		where = "over " + briefAxes(r.axes())
	}
	return fmt.Sprintf("<%s response %s>", r.r.Direction, where)
}

func (r *Response) axes() []*Sweep {
	var axes []*Sweep
	for _, a := range []*Sweep{r.at.overT, r.at.overL} {
		if a != nil {
			axes = append(axes, a)
		}
	}
	return axes
}

// responseFigure is a figure of a response: what cells call it, and which direction it belongs to.
type responseFigure struct {
	name, label string
	direction   stack.Direction // 0: both
	unit        quantity.Unit
	value       func(stack.Point) float64 // SI
}

var (
	decibel    = quantity.MustNamed("dB")
	picosecond = quantity.MustNamed("ps")
)

var responseFigures = []responseFigure{
	{"insertion_loss", "insertion loss", stack.Forward, decibel, stack.Point.InsertionLoss},
	{"insertion_loss_min", "least insertion loss", stack.Forward, decibel, stack.Point.InsertionLossMin},
	{"insertion_loss_max", "greatest insertion loss", stack.Forward, decibel, stack.Point.InsertionLossMax},
	{"isolation", "isolation", stack.Backward, decibel, stack.Point.Isolation},
	{"isolation_mean", "mean isolation", stack.Backward, decibel, stack.Point.IsolationMean},
	{"pdl", "PDL", 0, decibel, stack.Point.PDL},
	{"dgd", "DGD", 0, picosecond, stack.Point.DGD},
}

// Attr returns a figure, .direction, .wavelength, .temperature, .matrix or .paths.
func (r *Response) Attr(name string) (starlark.Value, error) {
	for _, f := range responseFigures {
		if f.name == name {
			return r.figure(f)
		}
	}
	switch name {
	case "direction":
		return starlark.String(r.r.Direction.String()), nil
	case "wavelength":
		return r.condition(r.at.overL, inNanometres(r.at.wavelengths[0])), nil
	case "temperature":
		return r.condition(r.at.overT, inCelsius(r.at.temperatures[0])), nil
	case "matrix":
		return r.matrix()
	case "paths":
		return r.paths()
	case "return_loss":
		return r.AttrIn(new(starlark.Thread), name)
	}
	return nil, nil
}

// AttrIn is Attr for a cell, which can end what takes long.
func (r *Response) AttrIn(t *starlark.Thread, name string) (starlark.Value, error) {
	if name != "return_loss" {
		return r.Attr(name)
	}
	return r.at.returnLoss(t, r.of.stack, r.r.Direction, false)
}

func (r *Response) condition(axis *Sweep, point Quantity) starlark.Value {
	if axis != nil {
		return axis
	}
	return point
}

func (r *Response) figure(f responseFigure) (starlark.Value, error) {
	if f.direction != 0 && f.direction != r.r.Direction {
		return nil, fmt.Errorf("%s is a figure of %s light: use s.%s(...).%s", f.name, f.direction, f.direction, f.name)
	}
	return r.at.each(f.label, f.unit, func(t, l int) (float64, error) { return f.value(r.r.Points[t][l]), nil })
}

// AttrNames lists the fields of this direction.
func (r *Response) AttrNames() []string {
	names := []string{"direction", "matrix", "paths", "return_loss", "temperature", "wavelength"}
	for _, f := range responseFigures {
		if f.direction == 0 || f.direction == r.r.Direction {
			names = append(names, f.name)
		}
	}
	slices.Sort(names)
	return names
}

// matrix returns the dominant Jones matrix at a point: two rows of two elements, each a pair of real and
// imaginary part.
func (r *Response) matrix() (starlark.Value, error) {
	if !r.at.point() {
		return nil, errors.New("matrix belongs to one wavelength and one temperature, as in s.forward(1550*nm).matrix")
	}
	m := r.r.Points[0][0].M
	var rows starlark.Tuple
	for i := range m {
		var columns starlark.Tuple
		for j := range m[i] {
			columns = append(columns, starlark.Tuple{starlark.Float(real(m[i][j])), starlark.Float(imag(m[i][j]))})
		}
		rows = append(rows, columns)
	}
	return rows, nil
}

// paths returns the paths of a response at a point.
func (r *Response) paths() (starlark.Value, error) {
	if !r.at.point() {
		return nil, errors.New("paths belong to one wavelength and one temperature, as in s.backward(1550*nm).paths")
	}
	list, err := r.of.stack.Paths(r.r.Direction, r.at.wavelengths[0], r.at.temperatures[0])
	if err != nil {
		return nil, err
	}
	var t starlark.Tuple
	for _, p := range list {
		t = append(t, &Path{opaque{"path"}, p})
	}
	return t, nil
}

func (r *Response) blocks() []document.Block {
	caption := capital(r.r.Direction.String()) + " response"
	t := document.Table{Caption: caption, Columns: []document.Column{{Head: "figure"}, {Head: "least", Align: document.Right}, {Head: "greatest", Align: document.Right}}}
	rows := []document.Field{
		{Name: "wavelength", Value: brief(r.condition(r.at.overL, inNanometres(r.at.wavelengths[0])))},
		{Name: "temperature", Value: brief(r.condition(r.at.overT, inCelsius(r.at.temperatures[0])))},
	}
	for _, f := range responseFigures {
		v, err := r.figure(f)
		if err != nil {
			continue // of the other direction
		}
		if s, ok := v.(*Series); ok {
			if lo, hi := s.extremes(); lo >= 0 {
				t.Rows = append(t.Rows, []string{f.label, s.rounded(lo), s.rounded(hi)})
			}
			continue
		}
		q, _ := toQuantity(v)
		rows = append(rows, row(f.label, q))
	}
	blocks := []document.Block{fields(caption, rows...)}
	if len(t.Rows) > 0 {
		t.Caption = ""
		blocks = append(blocks, t)
	}
	return append(blocks, cautions(r.of.stack.Cautions())...)
}

// json gives every figure by its name.
func (r *Response) json() any {
	m := map[string]any{
		"direction":   r.r.Direction.String(),
		"wavelength":  JSON(r.condition(r.at.overL, inNanometres(r.at.wavelengths[0]))),
		"temperature": JSON(r.condition(r.at.overT, inCelsius(r.at.temperatures[0]))),
	}
	for _, f := range responseFigures {
		if v, err := r.figure(f); err == nil {
			m[f.name] = JSON(v)
		}
	}
	return m
}
