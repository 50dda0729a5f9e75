package vocab

import (
	"context"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
)

// room is the temperature that words assume where a cell names none.
var room = of(23, "degC")

// conditions are the wavelengths and temperatures of a computation, each a point or a sweep.
type conditions struct {
	wavelengths  []quantity.Length
	temperatures []quantity.Temperature
	overL, overT *Sweep // nil for a point

	ctx  context.Context // of the cell that asks; nil once it is answered
	work *session.Work   // is told how far each has come; may be nil
}

// wavelengthParam and temperatureParam are the parameters of every word that computes something over
// conditions.
var (
	wavelengthParam = Param{Name: "wavelength", Kind: wavelengthKind.orSweep(),
		Doc: "vacuum wavelength, or a wavelength grid from sweep()"}
	temperatureParam = Param{Name: "temperature", Kind: temperatureKind.orSweep(), Default: room,
		Doc: "temperature, or a temperature grid from sweep(); with both, the result is a grid over temperature and " +
			"wavelength"}
)

// conditionsOf reads the arguments wavelength and temperature.
func conditionsOf(a Args) (conditions, error) {
	c := conditions{ctx: a.ctx}
	var ls, ts []float64
	c.overL, ls = points(a.Get("wavelength"))
	c.overT, ts = points(a.Get("temperature"))
	if len(ls)*len(ts) > mostPoints {
		return c, errTooMany
	}
	for _, l := range ls {
		c.wavelengths = append(c.wavelengths, quantity.Length(l))
	}
	for _, t := range ts {
		c.temperatures = append(c.temperatures, quantity.Temperature(t))
	}
	return c, nil
}

// points returns the SI values of a sweep, and the sweep, or those of a single quantity.
func points(v starlark.Value) (*Sweep, []float64) {
	if s, ok := v.(*Sweep); ok {
		si := make([]float64, s.Len())
		for i := range si {
			si[i] = s.quantity(i).SI()
		}
		return s, si
	}
	q, _ := toQuantity(v)
	return nil, []float64{q.SI()}
}

// point reports whether both conditions are single.
func (c conditions) point() bool { return c.overL == nil && c.overT == nil }

// each makes a value of what f returns, in SI, at every condition: a quantity at a point, a series over
// one sweep, a grid over two.
func (c conditions) each(label string, unit quantity.Unit, f func(t, l int) (float64, error)) (starlark.Value, error) {
	values := make([]float64, 0, len(c.temperatures)*len(c.wavelengths))
	for t := range c.temperatures {
		for l := range c.wavelengths {
			v, err := f(t, l)
			if err == nil && c.ctx != nil {
				err = c.ctx.Err()
			}
			if err != nil {
				return nil, err
			}
			if c.work != nil {
				c.work.At(len(values)+1, cap(values))
			}
			values = append(values, quantity.FromSI(v, unit).Value)
		}
	}
	s := &Series{field: field{unit: unit, values: values, label: label}}
	for _, axis := range []*Sweep{c.overT, c.overL} {
		if axis != nil {
			s.axes = append(s.axes, axis)
		}
	}
	return s.unwrap(), nil
}
