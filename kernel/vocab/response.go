package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
)

// Response is what a stack does to light of one direction, at one wavelength and temperature, over a sweep or over a
// grid.
type Response struct {
	opaque
	of *Stack
	at conditions
	r  *stack.Response
}

func (r *Response) String() string {
	where := "at one wavelength and temperature"
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
	summary     string
}

// of reports whether a response has the figure. A response without a stack is any of its direction.
func (f responseFigure) of(r *Response) bool {
	return f.along(r.r.Direction) && (!f.axes() || r.of == nil || r.of.stack.HasAxes())
}

func (f responseFigure) along(d stack.Direction) bool { return f.direction == 0 || f.direction == d }

// axes reports whether the figure is of the axes of the fibres.
func (f responseFigure) axes() bool {
	switch f.name {
	case tolerance.ExtinctionRatio, tolerance.InsertionLossSlow, tolerance.InsertionLossFast:
		return true
	}
	return false
}

var (
	decibel    = quantity.MustNamed("dB")
	picosecond = quantity.MustNamed("ps")
)

var responseFigures = []responseFigure{
	{"insertion_loss", "insertion loss", stack.Forward, decibel, stack.Point.InsertionLoss,
		"-10 log10((t1+t2)/2), dB: mean over polarization, in accordance with IEC 61300-3-4"},
	{"insertion_loss_min", "minimum insertion loss", stack.Forward, decibel, stack.Point.InsertionLossMin,
		"-10 log10(t1), dB: minimum over polarization"},
	{"insertion_loss_max", "maximum insertion loss", stack.Forward, decibel, stack.Point.InsertionLossMax,
		"-10 log10(t2), dB: maximum over polarization"},
	{"insertion_loss_slow", "insertion loss along the slow axis", stack.Forward, decibel,
		stack.Point.InsertionLossSlow,
		"loss of light launched along the slow axis of the fibre, dB; needs axis= of the collimator"},
	{"insertion_loss_fast", "insertion loss along the fast axis", stack.Forward, decibel,
		stack.Point.InsertionLossFast,
		"loss of light launched along the fast axis of the fibre, dB; needs axis= of the collimator"},
	{"extinction_ratio", "extinction ratio", stack.Forward, decibel, stack.Point.ExtinctionRatio,
		"power along the axis of the receiving fibre over power across it, dB, for light launched along the same " +
			"axis of the other fibre; needs axis= of the collimator"},
	{"isolation", "isolation", stack.Backward, decibel, stack.Point.Isolation,
		"-10 log10(t1), dB: minimum over polarization, in accordance with IEC 61202-1"},
	{"isolation_mean", "mean isolation", stack.Backward, decibel, stack.Point.IsolationMean,
		"-10 log10((t1+t2)/2), dB: mean over polarization"},
	{"pdl", "PDL", 0, decibel, stack.Point.PDL,
		"polarization-dependent loss 10 log10(t1/t2), dB: in accordance with IEC 61300-3-2"},
	{"dgd", "DGD", 0, picosecond, stack.Point.DGD,
		"differential group delay, ps: difference of the eigenvalues of -i (dM/dw) M^-1; NaN if one polarization is " +
			"lost"},
}

// Attr returns a field or a method.
func (r *Response) Attr(name string) (starlark.Value, error) { return responseType.attr(r, name) }

// AttrNames lists them.
func (r *Response) AttrNames() []string { return responseType.names(r) }

var responseType = newType("response", methodSet[*Response]{}, responseAttrs()...)

// A call tells of which direction a response will be, whose figures differ.
func init() {
	for _, d := range []stack.Direction{stack.Forward, stack.Backward} {
		types[d.String()+" response"] = responseType.narrowed(&Response{r: &stack.Response{Direction: d}})
	}
}

func responseAttrs() []attr[*Response] {
	all := []attr[*Response]{
		textAttr("direction", "forward or backward", func(r *Response) string { return r.r.Direction.String() }),
		valueAttr("wavelength", "quantity", "vacuum wavelength, or the wavelength grid",
			func(r *Response) (starlark.Value, error) {
				return r.condition(r.at.overL, inNanometres(r.at.wavelengths[0])), nil
			}),
		valueAttr("temperature", "quantity", "temperature, or the temperature grid",
			func(r *Response) (starlark.Value, error) {
				return r.condition(r.at.overT, inCelsius(r.at.temperatures[0])), nil
			}),
		valueAttr("matrix", "tuple",
			"dominant Jones matrix at one wavelength and temperature, without the depolarized light: rows of pairs, "+
				"real and imaginary part",
			func(r *Response) (starlark.Value, error) { return r.matrix(new(starlark.Thread)) }).notJSON(),
		valueAttr("mueller", "tuple",
			"Mueller matrix at one wavelength and temperature, with all the light that arrives: four rows, for the "+
				"Stokes parameters |Ex|²+|Ey|², |Ex|²-|Ey|², 2 Re Ex*Ey, 2 Im "+
				"Ex*Ey", (*Response).mueller).work().notJSON(),
		valueAttr("paths", "tuple", "paths of the light at one wavelength and temperature",
			(*Response).paths).work().notJSON(),
		valueAttr("return_loss", "series", "-10 log10 of the power coupled back into the launching fibre, dB",
			func(r *Response) (starlark.Value, error) {
				return r.returnLoss(new(starlark.Thread))
			}).work().notJSON(),
	}
	for _, f := range responseFigures {
		a := valueAttr(f.name, "series", f.summary,
			func(r *Response) (starlark.Value, error) { return r.figure(f) }).work().only(f.of)
		a.elsewhere = func(r *Response) error {
			if f.along(r.r.Direction) {
				return fmt.Errorf("%s needs the axes of the fibres: give the collimator axis=, as in "+
					"collimator(waist=200*um, working_distance=10*mm, axis=[0*deg, 45*deg])", f.name)
			}
			return fmt.Errorf("%s belongs to the %s response: write s.%s(...).%s", f.name, f.direction, f.direction,
				f.name)
		}
		all = append(all, a)
	}
	return all
}

func (r *Response) returnLoss(t *starlark.Thread) (starlark.Value, error) {
	return r.at.returnLoss(t, r.of.stack, r.r.Direction, false)
}

// AttrIn is Attr for a cell, which can end what takes long and is told what a matrix lacks.
func (r *Response) AttrIn(t *starlark.Thread, name string) (starlark.Value, error) {
	switch name {
	case "matrix":
		return r.matrix(t)
	case "return_loss":
		return r.returnLoss(t)
	}
	return r.Attr(name)
}

func (r *Response) condition(axis *Sweep, point Quantity) starlark.Value {
	if axis != nil {
		return axis
	}
	return point
}

func (r *Response) figure(f responseFigure) (starlark.Value, error) {
	return r.at.each(f.label, f.unit, func(t, l int) (float64, error) { return f.value(r.r.Points[t][l]), nil })
}

// matrix returns the dominant Jones matrix at a point: two rows of two elements, each a pair of real and
// imaginary part. What it lacks of the light is said: figures made of it would be those of the rest.
func (r *Response) matrix(t *starlark.Thread) (starlark.Value, error) {
	if !r.at.point() {
		return nil, errors.New(".matrix needs one wavelength and one temperature, as in s.forward(1550*nm).matrix")
	}
	p := r.r.Points[0][0]
	if share := p.Depolarized(); share > depolarized {
		text := fmt.Sprintf(".matrix is a Jones matrix and lacks the light that is depolarized, %.3g %% of what "+
			"arrives: an extinction ratio or a PDL computed from it leaves that power out; .mueller holds all of the "+
			"light", 100*share)
		if err := caution(t, "matrix "+r.r.Direction.String(), text); err != nil {
			return nil, err
		}
	}
	m := p.M
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

// depolarized is the share of the light that a matrix may lack without a word: rounding.
const depolarized = 1e-9

// mueller returns the Mueller matrix at a point: four rows of four numbers.
func (r *Response) mueller() (starlark.Value, error) {
	if !r.at.point() {
		return nil, errors.New(".mueller needs one wavelength and one temperature, as in s.forward(1550*nm).mueller")
	}
	m, err := r.of.stack.Mueller(r.r.Direction, r.at.wavelengths[0], r.at.temperatures[0])
	if err != nil {
		return nil, err
	}
	var rows starlark.Tuple
	for _, row := range m {
		var columns starlark.Tuple
		for _, x := range row {
			columns = append(columns, starlark.Float(x))
		}
		rows = append(rows, columns)
	}
	return rows, nil
}

// paths returns the paths of a response at one wavelength and temperature.
func (r *Response) paths() (starlark.Value, error) {
	if !r.at.point() {
		return nil, errors.New(".paths needs one wavelength and one temperature, as in s.backward(1550*nm).paths")
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
	caption := document.Capital(r.r.Direction.String()) + " response"
	t := document.Table{Caption: caption, Columns: []document.Column{{Head: "figure"}, {Head: "minimum",
		Align: document.Right}, {Head: "maximum", Align: document.Right}}}
	rows := []document.Field{
		{Name: "wavelength", Value: brief(r.condition(r.at.overL, inNanometres(r.at.wavelengths[0])))},
		{Name: "temperature", Value: brief(r.condition(r.at.overT, inCelsius(r.at.temperatures[0])))},
	}
	for _, f := range responseFigures {
		if !f.of(r) {
			continue
		}
		v, err := r.figure(f)
		if err != nil {
			continue
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
