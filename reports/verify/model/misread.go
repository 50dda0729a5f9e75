package model

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/verify/readings"
)

// Errors of a bench that no noise stands for: a wavelength scale that is off, a chamber that is, sweeps whose
// temperatures were exchanged. The unit is as it is, and was read elsewhere than the file says.

// Paths of the scales among parameters: what the true wavelength, and the true absolute temperature, are of the stated
// ones.
const (
	WavelengthScale  = "wavelength scale"
	TemperatureScale = "temperature scale"
)

// misread is a model that is read elsewhere than stated.
type misread struct {
	Model
	wavelength, temperature float64                // true over stated
	swapped                 []quantity.Temperature // two stated temperatures that stand for each other
}

// OffScale returns the model with two more parameters, WavelengthScale and TemperatureScale, both 100 %.
func OffScale(m Model) Model { return misread{m, 1, 1, nil} }

func (m misread) Parameters() []Parameter {
	all := slices.Clone(m.Model.Parameters())
	if m.swapped != nil {
		return all
	}
	return append(all, Parameter{Path: WavelengthScale, Value: quantity.Of(100*m.wavelength, "percent")},
		Parameter{Path: TemperatureScale, Value: quantity.Of(100*m.temperature, "percent")})
}

func (m misread) Adjusted(values map[string]quantity.Quantity) (Model, error) {
	own := map[string]quantity.Quantity{}
	for path, v := range values {
		switch {
		case path == WavelengthScale && m.swapped == nil:
			m.wavelength = v.SI()
		case path == TemperatureScale && m.swapped == nil:
			m.temperature = v.SI()
		default:
			own[path] = v
		}
	}
	var err error
	m.Model, err = m.Model.Adjusted(own)
	return m, err
}

// lengths are where the readings truly are.
func (m misread) lengths(ls []quantity.Length) []quantity.Length {
	if m.wavelength == 1 {
		return ls
	}
	out := make([]quantity.Length, len(ls))
	for i, l := range ls {
		out[i] = l * quantity.Length(m.wavelength)
	}
	return out
}

// at is how hot the unit truly is.
func (m misread) at(t quantity.Temperature) quantity.Temperature {
	if m.swapped != nil {
		a, b := m.swapped[0], m.swapped[1]
		switch near := math.Abs(float64(b-a)) / 4; {
		case math.Abs(float64(t-a)) < near:
			return t - a + b
		case math.Abs(float64(t-b)) < near:
			return t - b + a
		}
	}
	return t * quantity.Temperature(m.temperature)
}

func (m misread) Over(ctx context.Context, d Direction, ls []quantity.Length,
	t quantity.Temperature) ([]Transmission, error) {
	return m.Model.Over(ctx, d, m.lengths(ls), m.at(t))
}

func (m misread) Ghosts(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]float64, error) {
	return m.Model.Ghosts(ctx, m.lengths(ls), m.at(t))
}

func (m misread) Ripple(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]Ripple, error) {
	return m.Model.Ripple(ctx, m.lengths(ls), m.at(t))
}

func (m misread) Delays(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]float64, error) {
	return m.Model.Delays(ctx, m.lengths(ls), m.at(t))
}

func (m misread) StepDelay(a, b quantity.Length, t quantity.Temperature) (float64, error) {
	k := quantity.Length(m.wavelength)
	return m.Model.StepDelay(k*a, k*b, m.at(t))
}

func (m misread) Returned(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]Returned, error) {
	return m.Model.Returned(ctx, m.lengths(ls), m.at(t))
}

func (m misread) Axes(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]Axes, error) {
	return m.Model.Axes(ctx, m.lengths(ls), m.at(t))
}

func (m misread) Rough() Model  { m.Model = Rough(m.Model); return m }
func (m misread) Coarse() Model { m.Model = Coarse(m.Model); return m }
func (m misread) Nearby() Model { m.Model = Nearby(m.Model); return m }

func (m misread) Anchored(ctx context.Context, sweeps []readings.Sweep) (Model, error) {
	var err error
	m.Model, err = Anchor(ctx, m.Model, sweeps)
	return m, err
}

// Misreadings lists the gross errors of a bench, and of the temperature and wavelength coefficients that a drawing
// takes from a data sheet; fit are the paths of the parameters that are fitted as it is.
func Misreadings(m Model, sweeps []readings.Sweep, fit []string) []Blunder {
	all := []Blunder{{Name: "the wavelength scale of the source is off", Models: []Model{OffScale(m)},
		Frees: WavelengthScale}}
	for _, p := range m.Parameters() {
		if slices.Contains(fit, p.Path) {
			continue
		}
		of, is := strings.CutSuffix(p.Path, ".per_kelvin")
		what := "temperature"
		if !is {
			of, is = strings.CutSuffix(p.Path, ".per_metre")
			what = "wavelength"
		}
		if is && (what == "wavelength" || len(sweeps) > 1) {
			all = append(all, Blunder{Name: fmt.Sprintf("the %s coefficient of the rotation of %s is not as specified",
				what, of), Models: []Model{m}, Frees: p.Path})
		}
	}
	for j, b := range sweeps {
		for _, a := range sweeps[:j] {
			all = append(all, Blunder{Name: fmt.Sprintf("the temperatures %s and %s are swapped",
				celsius(a.Temperature),
				celsius(b.Temperature)),
				Models: []Model{misread{m, 1, 1, []quantity.Temperature{a.Temperature, b.Temperature}}}})
		}
	}
	return all
}

func celsius(t quantity.Temperature) string { return fmt.Sprintf("%.3g °C", t.Celsius()) }
