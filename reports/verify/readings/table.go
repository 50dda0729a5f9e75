package readings

import (
	"fmt"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
)

// FromTable returns the readings of a table that holds one unit. Repeated rows stay separate readings, and
// bounds stay bounds.
func FromTable(t *measured.Table) (Readings, error) {
	if err := oneUnit(t); err != nil {
		return Readings{}, err
	}
	r := Readings{
		File: t.File.Name, SHA256: t.File.SHA256,
		Unit: t.Unit(), Lot: t.Lot(), Condition: t.Condition,
		Polarization: t.Polarization(), MeanLoss: t.Computed(measured.InsertionLossMax),
		Digit: map[limits.Quantity]float64{},
	}
	for _, kv := range t.Meta {
		r.Meta = append(r.Meta, [2]string{kv.Key, kv.Value})
	}
	columns := columnsOf(lossColumn(t))
	var used []string
	for _, c := range columns {
		used = append(used, c.name)
		r.Digit[c.quantity] = t.LastDigit(c.name) / c.unit
	}
	r.Unused = t.NotUsed(used)
	for i := range t.Rows() {
		r.Rows = append(r.Rows, readingOf(t, i, columns))
	}
	return r, nil
}

// oneUnit refuses readings of several units, and readings that are stated to be certain.
func oneUnit(t *measured.Table) error {
	for i, u := range t.Units {
		if u != t.Units[0] {
			return fmt.Errorf("%s:%d: unit %q after unit %q: a verification takes one unit", t.File.Name, t.Line[i], u,
				t.Units[0])
		}
	}
	for _, loss := range []string{measured.InsertionLoss, measured.InsertionLossMax} {
		for _, c := range columnsOf(loss) {
			if i := slices.Index(t.U[c.name], 0); i >= 0 {
				return certain(t, c.name, i)
			}
		}
	}
	return nil
}

// lossColumn is the column of insertion loss that is compared. Of four launch states the mean loss is free of the bias
// that noise gives the extremes; the PDL read with it, less its bias, takes it to the worst. The isolation stays an
// extreme, which noise hardly moves where light is well extinguished.
func lossColumn(t *measured.Table) string {
	if !t.Computed(measured.InsertionLossMax) && t.Figure(measured.InsertionLossMax) != nil &&
		t.Polarization() == MinMax {
		return measured.InsertionLossMax
	}
	return measured.InsertionLoss
}

// readingOf is one row of the table.
func readingOf(t *measured.Table, i int, columns []column) Reading {
	row := Reading{
		Line:       t.Line[i],
		Wavelength: t.Wavelength[i], Temperature: t.Temperature[i],
		UWavelength:  quantity.Length(stated(t.U[measured.Wavelength], i)),
		UTemperature: quantity.Temperature(stated(t.U[measured.Temperature], i)),
	}
	if t.Repeat != nil {
		row.Repeat = t.Repeat[i]
	}
	for _, c := range columns {
		if f, ok := c.figure(t, i); ok {
			row.Figures = append(row.Figures, f)
		}
	}
	return row
}

// column is a column of a table that readings of a quantity are in; unit is one of the readings' in that of the table.
type column struct {
	quantity limits.Quantity
	name     string
	unit     float64
}

// columnsOf lists them, the losses being in the one named.
func columnsOf(loss string) []column {
	ps := PerUnit(quantity.MustNamed(limits.DGD.Unit()))
	return []column{{limits.Isolation, measured.Isolation, 1}, {limits.InsertionLoss, loss, 1},
		{limits.PDL, measured.PDL, 1}, {limits.DGD, measured.DGD, ps}, {limits.ReturnLoss, measured.ReturnLoss, 1},
		{limits.InsertionLossSlow, measured.InsertionLossSlow, 1},
		{limits.InsertionLossFast, measured.InsertionLossFast, 1},
		{limits.ExtinctionRatio, measured.ExtinctionRatio, 1}}
}

// figure returns what a row has in the column; false where nothing was measured.
func (c column) figure(t *measured.Table, i int) (f Figure, ok bool) {
	v := at(t.Figure(c.name), i)
	if math.IsNaN(v) {
		return f, false
	}
	f = NewFigure(c.quantity, v/c.unit)
	f.U, f.AtLeast, f.Common = own(t, c.name, i)/c.unit, t.AtLeast(c.name, i), t.Shared(c.name, i)
	switch {
	case ScaleOf(c.quantity) == Square:
		f.Common = nil // both states were divided by it
		f.U = at(t.U[c.name], i) / c.unit
		if t.Computed(c.name) {
			f.Bias = t.BiasOfSquare(c.name, i) / (c.unit * c.unit)
		}
	case c.quantity == limits.Isolation:
		f.Value = unbiased(t, c.name, i)
	}
	if c.quantity == limits.DGD && t.Steps != nil {
		f.Step = t.Steps[i]
	}
	return f, true
}

// unbiased is a reading less the bias that noise gives it, where it was computed from powers or matrices.
func unbiased(t *measured.Table, figure string, row int) float64 {
	v := at(t.Figure(figure), row)
	if v == v && t.Computed(figure) {
		v -= t.Bias(figure, row)
	}
	return v
}

// own is the standard uncertainty that a reading shares with no other; NaN where the file states none.
func own(t *measured.Table, figure string, row int) float64 {
	if u := t.Own(figure, row); u > 0 {
		return u
	}
	return math.NaN()
}

// certain refuses a reading that is stated to have no uncertainty: one would outweigh all others.
func certain(t *measured.Table, name string, row int) error {
	from := t.Origin(row)[0]
	source := t.Source(from.Source)
	e := &measured.Refusal{File: source.File.Name, Sheet: source.Sheet, Line: from.Line, Found: "0",
		Want: "a standard uncertainty above zero, or an empty field where the budget is to say it"}
	for _, c := range t.Columns {
		if c.Name == name && c.Uncertainty {
			e.Head = c.Head
			if t.Sources == nil { // columns of files that were merged are counted by the first
				e.Column = c.Index
			}
		}
	}
	return e
}

// stated is a column's uncertainty of a row, 0 where there is none.
func stated(column []float64, i int) float64 {
	if u := at(column, i); u == u {
		return u
	}
	return 0
}

func at(column []float64, i int) float64 {
	if column == nil {
		return math.NaN()
	}
	return column[i]
}
