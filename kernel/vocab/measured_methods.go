package vocab

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/measured"
)

var errNoReadings = errors.New("the file has no such readings")

// figureOf returns the readings of one run as a series over wavelength, those of several runs on the
// same wavelengths as a grid.
func figureOf(t *measured.Table, name, column string, unit quantity.Unit) (starlark.Value, error) {
	readings := t.Figure(column)
	if readings == nil {
		return nil, fmt.Errorf("%s has no column %s", t.File.Name, column)
	}
	var first *Sweep
	var grid [][]float64
	temperatures := &Sweep{unit: quantity.MustNamed("degC")}
	for _, r := range runs(t) {
		axis := &Sweep{unit: quantity.MustNamed("nm")}
		var row []float64
		for _, i := range r.rows {
			l := inNanometres(t.Wavelength[i]).Value
			if n := len(axis.values); n > 0 && axis.values[n-1] == l {
				return nil, fmt.Errorf("%s has more than one reading at %s, %s: a series needs one; .repeats(n) takes one sweep",
					t.File.Name, inNanometres(t.Wavelength[i]), inCelsius(r.temperature))
			}
			axis.values = append(axis.values, l)
			row = append(row, quantity.FromSI(readings[i], unit).Value)
		}
		if first == nil {
			first = axis
		}
		if !first.same(axis) {
			return nil, fmt.Errorf("%s was taken at different wavelengths at different temperatures: take one run, as in d.at(%s)",
				t.File.Name, spelled(inCelsius(r.temperature)))
		}
		grid = append(grid, row)
		temperatures.values = append(temperatures.values, significant(r.temperature.Celsius(), 6))
	}
	label := "measured " + figureLabel(name)
	switch len(grid) {
	case 0:
		return nil, errNoReadings
	case 1:
		return newSeries(label, first, unit, grid[0]), nil
	}
	return newGrid(label, temperatures, first, unit, grid), nil
}

var measuredMethods = newMethods("measured",
	method[*Measured]{Word{
		Name:    "at",
		Summary: "the run at one temperature",
		Params:  []Param{{Name: "temperature", Kind: temperatureKind, Doc: "the temperature of the run, to within 2 K"}},
		Returns: "measured data of that run",
		Errors:  "no run is within 2 K of it",
		Example: `measured("sweep", default="sweep.csv").at(23*degC).isolation.min()`,
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, err := m.one()
		if err != nil {
			return nil, err
		}
		want := a.Temperature("temperature")
		best, found := run{temperature: quantity.Temperature(math.Inf(1))}, ""
		for _, r := range runs(t) {
			if math.Abs(float64(r.temperature-want)) < math.Abs(float64(best.temperature-want)) {
				best = r
			}
			found += ", " + sensible(inCelsius(r.temperature).Quantity)
		}
		if !(math.Abs(float64(best.temperature-want)) <= sameRun) {
			return nil, fmt.Errorf("no run is within %d K of %s; there are runs at %s", sameRun, a.Get("temperature"), found[min(2, len(found)):])
		}
		return newMeasured(m.input, subset(t, func(row int) bool { return slices.Contains(best.rows, row) })), nil
	}},
	method[*Measured]{Word{
		Name:    "repeats",
		Summary: "the readings of one repeated sweep",
		Params:  []Param{{Name: "number", Kind: wholeKind, Doc: "the number in the file's column repeat"}},
		Returns: "measured data of that sweep",
		Errors:  "the file has no column repeat, or no such number in it",
		Example: `measured("sweep", default="repeats.csv").repeats(2)`,
	}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t, err := m.one()
		if err != nil {
			return nil, err
		}
		n, err := a.whole("number", 0, math.MaxInt32)
		if err != nil {
			return nil, err
		}
		if t.Repeat == nil {
			return nil, fmt.Errorf("%s has no column repeat", t.File.Name)
		}
		s := subset(t, func(row int) bool { return t.Repeat[row] == n })
		if s.Rows() == 0 {
			return nil, fmt.Errorf("%s has no repeat %d", t.File.Name, n)
		}
		return newMeasured(m.input, s), nil
	}},
	repeatability,
)
