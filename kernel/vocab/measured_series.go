package vocab

import (
	"errors"
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/measured"
)

var errNoReadings = errors.New("the file has no such readings")

// figureOf returns the readings of one run as a series over wavelength, those of several runs on the
// same wavelengths as a grid. Repeated readings are averaged.
func figureOf(t *measured.Table, name, column string, unit quantity.Unit) (starlark.Value, error) {
	if t.Figure(column) == nil {
		return nil, lacking(t, column)
	}
	t = t.Averaged()
	return seriesOf(t, "measured "+figureLabel(name), column, t.Figure(column), unit)
}

// lacking words what a file does not have; of raw powers it says what they wait for.
func lacking(t *measured.Table, column string) error {
	if t.Raw != nil {
		switch {
		case t.IsReference():
			return fmt.Errorf("%s has no column %s: its powers have no direction, so it is a reference trace",
				t.File.Name, column)
		case column == measured.Isolation || column == measured.InsertionLoss:
			return fmt.Errorf("%s has no column %s; to compute it from powers, give a reference trace, as in "+
				"measured(..., reference=measured(...))", t.File.Name, column)
		}
	}
	return fmt.Errorf("%s has no column %s", t.File.Name, column)
}

// seriesOf puts values that belong to the rows of a table over its wavelengths and temperatures, SI values in
// a unit. A delay by steps stands on rows of its own, which other readings do not have.
func seriesOf(t *measured.Table, label, column string, values []float64, unit quantity.Unit) (starlark.Value, error) {
	delay := column == measured.DGD || column == measured.BackwardDGD
	belongs := func(row int) bool { return t.Steps == nil || delay == (t.Steps[row][0] > 0) }
	temperatures, axes, grid, err := runsOf(t, values, unit, belongs)
	if err == nil && !alike(axes) { // figures that were taken at different wavelengths in one table
		temperatures, axes, grid, err = runsOf(t, values, unit,
			func(row int) bool { return belongs(row) && !math.IsNaN(values[row]) })
	}
	switch {
	case err != nil:
		return nil, err
	case len(grid) == 0:
		return nil, errNoReadings
	case len(grid) == 1:
		return newSeries(label, axes[0], unit, grid[0]), nil
	case !alike(axes):
		return nil, fmt.Errorf("%s has different wavelengths at different temperatures: select one sweep, as in "+
			"d.at(%s)",
			t.File.Name, spelled(fromQuantity(temperatures.quantity(len(axes)-1))))
	}
	return newGrid(label, temperatures, axes[0], unit, grid), nil
}

// runsOf cuts values into the runs of a table, leaving out rows that do not belong and runs without a value.
func runsOf(t *measured.Table, values []float64, unit quantity.Unit, belongs func(row int) bool) (temperatures *Sweep,
	axes []*Sweep, grid [][]float64, err error) {
	temperatures = &Sweep{unit: quantity.MustNamed("degC")}
	for _, r := range t.Runs() {
		axis := &Sweep{unit: quantity.MustNamed("nm")}
		var row []float64
		any := false
		for _, i := range r.Rows {
			if !belongs(i) {
				continue
			}
			l := inNanometres(t.Wavelength[i]).Value
			if n := len(axis.values); n > 0 && axis.values[n-1] == l {
				return nil, nil, nil, fmt.Errorf("%s has more than one reading at %s, %s: select one sweep with "+
					".repeats(n)",
					t.File.Name, inNanometres(t.Wavelength[i]), inCelsius(r.Temperature))
			}
			axis.values = append(axis.values, l)
			row = append(row, quantity.FromSI(values[i], unit).Value)
			any = any || !math.IsNaN(values[i])
		}
		if any {
			axes, grid = append(axes, axis), append(grid, row)
			temperatures.values = append(temperatures.values, significant(r.Temperature.Celsius(), 6))
		}
	}
	return temperatures, axes, grid, nil
}

func alike(axes []*Sweep) bool {
	for _, a := range axes[min(1, len(axes)):] {
		if !axes[0].same(a) {
			return false
		}
	}
	return true
}

// unitOf returns the unit that a column of the table is shown in.
func unitOf(t *measured.Table, name string) quantity.Unit {
	for _, f := range measuredFigures {
		if f.column == name {
			return f.unit
		}
	}
	for _, c := range t.Columns {
		if c.Name == name && !c.Uncertainty {
			if c.Unit.Dimension() == quantity.OfPower {
				return quantity.MustNamed("dBm") // what the table keeps powers in
			}
			return c.Unit
		}
	}
	return quantity.Unit{}
}
