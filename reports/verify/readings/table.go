package readings

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/measured"
)

// FromTable returns the readings of a table that holds one unit. Repeated rows stay separate readings, and
// bounds stay bounds.
func FromTable(t *measured.Table) (Readings, error) {
	for i, u := range t.Units {
		if u != t.Units[0] {
			return Readings{}, fmt.Errorf("%s:%d: unit %q after unit %q: a verification takes one unit", t.File.Name, t.Line[i], u, t.Units[0])
		}
	}
	r := Readings{
		File: t.File.Name, SHA256: t.File.SHA256,
		Unit: t.Unit(), Lot: t.Lot(),
		Polarization: Polarization(t.Polarization()),
	}
	for _, kv := range t.Meta {
		r.Meta = append(r.Meta, [2]string{kv.Key, kv.Value})
	}
	for _, name := range []string{measured.Isolation, measured.InsertionLoss, measured.InsertionLossMax, measured.PDL} {
		for i, u := range t.U[name] {
			if u == 0 {
				return Readings{}, certain(t, name, i)
			}
		}
	}
	loss, uLoss := t.InsertionLoss, t.U[measured.InsertionLoss]
	if most := t.Figure(measured.InsertionLossMax); most != nil && r.Polarization == MinMax {
		loss, uLoss = most, t.U[measured.InsertionLossMax] // four states: the extremes are what min-max compares
	}
	for i := range t.Rows() {
		repeat := 0
		if t.Repeat != nil {
			repeat = t.Repeat[i]
		}
		r.Rows = append(r.Rows, Reading{
			Line: t.Line[i], Repeat: repeat,
			Wavelength: t.Wavelength[i], Temperature: t.Temperature[i],
			Isolation:     at(t.Isolation, i),
			AtLeast:       t.AtLeast(measured.Isolation, i),
			InsertionLoss: at(loss, i),
			PDL:           at(t.PDL, i),
			UIsolation:    at(t.U[measured.Isolation], i),
			ULoss:         at(uLoss, i),
			UPDL:          at(t.U[measured.PDL], i),
			UWavelength:   quantity.Length(stated(t.U[measured.Wavelength], i)),
			UTemperature:  quantity.Temperature(stated(t.U[measured.Temperature], i)),
		})
	}
	return r, nil
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
