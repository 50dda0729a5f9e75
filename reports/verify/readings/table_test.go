package readings

import (
	"math"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
)

func TestFromTable(t *testing.T) {
	nan := math.NaN()
	table := &measured.Table{
		File: measured.File{Name: "unit.csv", SHA256: "ab"},
		Meta: []measured.KeyValue{{Key: "unit", Value: "0417", Line: 1},
			{Key: "source polarization", Value: "scrambled", Line: 2}},
		Wavelength:  []quantity.Length{1550e-9, 1551e-9},
		Temperature: []quantity.Temperature{296.15, 296.15},
		Isolation:   []float64{40, nan},
		U:           map[string][]float64{measured.Isolation: {0.1, nan}},
		Line:        []int{4, 5},
	}
	r, err := FromTable(table)
	if err != nil {
		t.Fatal(err)
	}
	if r.Unit != "0417" || r.Polarization != Scrambled || len(r.Rows) != 2 || r.Meta[0] != [2]string{"unit", "0417"} {
		t.Errorf("got %+v", r)
	}
	if a := r.Rows[0]; a.Line != 4 || a.Of(limits.Isolation).Value != 40 || a.Of(limits.Isolation).U != 0.1 ||
		a.Of(limits.InsertionLoss) != nil || a.Of(limits.PDL) != nil {
		t.Errorf("got %+v", a)
	}
	table.Bound = map[string][]bool{measured.Isolation: {true, false}}
	if r, err := FromTable(table); err != nil || !r.Rows[0].Of(limits.Isolation).AtLeast ||
		len(r.Rows[1].Figures) > 0 {
		t.Errorf("a bound: got %+v, %v", r.Rows, err)
	}
	table.U[measured.Wavelength], table.U[measured.Temperature] = []float64{1e-12, nan}, []float64{0.3, 0.2}
	if r, err := FromTable(table); err != nil || r.Rows[0].UWavelength != 1e-12 || r.Rows[1].UWavelength != 0 ||
		r.Rows[1].UTemperature != 0.2 {
		t.Errorf("uncertainties of where readings stand: got %+v, %v", r.Rows, err)
	}
	table.Columns = []measured.Column{{Name: measured.Isolation, Index: 3},
		{Name: measured.Isolation, Index: 5, Uncertainty: true, Head: "u(isolation) [dB]"}}
	table.U[measured.Isolation][1] = 0
	if _, err := FromTable(table); err == nil ||
		err.Error() != "unit.csv: line 5, column 5 (u(isolation) [dB]): found 0, expected a standard uncertainty "+
			"above zero, or an empty field where the budget is to say it" {
		t.Errorf("an uncertainty of zero: %v", err)
	}
	table.Units = []string{"0417", "0418"}
	if _, err := FromTable(table); err == nil {
		t.Error("two units in one table: expected an error")
	}
}
