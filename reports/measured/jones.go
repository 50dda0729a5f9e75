package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// jones computes, from swept Jones matrices, the PDL of each and the DGD between neighbours, by Jones-matrix
// eigenanalysis over the instrument's own step. A DGD belongs to a step, so it gets a row of its own at the
// middle frequency, whose origins are the two matrices.
func (r *reader) jones() error {
	matrices, err := r.matrices()
	if matrices == nil || err != nil {
		return err
	}
	pdl, dgd := PDL, DGD
	if d, _ := r.Value(directionKey); normal(d) == backward {
		pdl, dgd = BackwardPDL, BackwardDGD
	}
	if r.Figure(pdl) == nil {
		values := make([]float64, r.Rows())
		for i, m := range matrices {
			values[i] = missing
			if m != nil {
				var h polar.Gram
				h.Add(*m)
				t1, t2 := h.Extremes()
				values[i] = quantity.Decibels(t1 / t2)
			}
		}
		r.setFigure(pdl, values)
	}
	if r.Figure(dgd) != nil {
		return nil // the instrument's own figure stands
	}
	r.setFigure(dgd, slices.Repeat([]float64{missing}, r.Rows()))
	r.Steps = make([][2]quantity.Length, r.Rows())
	r.Origins = make([][]Origin, r.Rows())
	for i := range r.Origins {
		r.Origins[i] = []Origin{{Line: r.Line[i]}}
	}
	return r.steps(matrices, dgd)
}

// matrices puts the columns of elements together; nil where a row lacks one.
func (r *reader) matrices() ([]*polar.Matrix, error) {
	var parts [4][2][]float64
	polarForm := [4]bool{}
	var lacking []string
	some := false
	for k, e := range elements {
		re, im := r.Raw[jones(e, "real")], r.Raw[jones(e, "imaginary")]
		if re == nil && im == nil {
			re, im = r.Raw[jones(e, "amplitude")], r.Raw[jones(e, "phase")]
			polarForm[k] = true
		}
		some = some || re != nil || im != nil
		if re == nil || im == nil {
			lacking = append(lacking, "J"+e)
		}
		parts[k] = [2][]float64{re, im}
	}
	if !some {
		return nil, nil
	}
	if lacking != nil {
		return nil, r.refuse(r.row, 0, "no whole "+strings.Join(lacking, ", "), "all four elements of the Jones matrix, as J11 real and J11 imaginary, or J11 amplitude and J11 phase [deg]")
	}
	all := make([]*polar.Matrix, r.Rows())
	for i := range all {
		var m polar.Matrix
		whole := true
		for k := range elements {
			a, b := parts[k][0][i], parts[k][1][i]
			whole = whole && a == a && b == b
			if polarForm[k] {
				sin, cos := math.Sincos(b)
				a, b = a*cos, a*sin
			}
			m[k/2][k%2] = complex(a, b)
		}
		if !whole {
			continue
		}
		if m.Det() == 0 {
			return nil, r.refuse(r.Line[i], 0, "a Jones matrix without an inverse", "one that passes two states of polarization")
		}
		all[i] = &m
	}
	return all, nil
}

// steps appends a row for each pair of neighbouring matrices of a sweep.
func (r *reader) steps(matrices []*polar.Matrix, dgd string) error {
	worst, at := 0.0, 0
	for _, rows := range r.sweeps() {
		rows = slices.DeleteFunc(rows, func(i int) bool { return matrices[i] == nil })
		for k := 1; k < len(rows); k++ {
			a, b := rows[k-1], rows[k]
			if r.Wavelength[a] == r.Wavelength[b] {
				return r.refuse(r.Line[b], 0, "another Jones matrix at the wavelength and repeat of "+placeOf(r.Sheet, r.Line[a], 0), "one in a sweep")
			}
			phase, ok := polar.StepPhase(*matrices[a], *matrices[b])
			if !ok {
				return r.refuse(r.Line[b], 0, "Jones matrices that cannot be compared with those of "+placeOf(r.Sheet, r.Line[a], 0), "matrices that pass two states of polarization")
			}
			fa, fb := quantity.LightSpeed/float64(r.Wavelength[a]), quantity.LightSpeed/float64(r.Wavelength[b])
			if phase > worst {
				worst, at = phase, r.Line[a]
			}
			r.appendStep(a, b, dgd, phase/(2*math.Pi*math.Abs(fa-fb)))
		}
	}
	// Half of what can be told at all: beyond it a little more delay, or noise, folds over (a choice).
	if worst > math.Pi/2 {
		r.warn("the step of %s is coarse for its DGD: the phase turns by %.2g rad from %s to the next, and beyond pi a DGD cannot be told",
			r.File.Name, worst, placeOf(r.Sheet, at, 0))
	}
	return nil
}

// sweeps sorts the rows into sweeps: of one unit, lot, repeat and temperature, by wavelength.
func (r *reader) sweeps() [][]int {
	var all [][]int
	index := map[string]int{}
	for n, run := range r.Runs() {
		for _, i := range run.Rows {
			key := fmt.Sprint(n)
			if r.Units != nil {
				key += "\x00" + r.Units[i]
			}
			if r.Lots != nil {
				key += "\x00" + r.Lots[i]
			}
			if r.Repeat != nil {
				key += fmt.Sprint("\x00", r.Repeat[i])
			}
			k, ok := index[key]
			if !ok {
				k = len(all)
				index[key] = k
				all = append(all, nil)
			}
			all[k] = append(all[k], i)
		}
	}
	return all
}

// appendStep adds the row of a DGD between two rows.
func (r *reader) appendStep(a, b int, dgd string, delay float64) {
	n := r.Rows()
	fa, fb := quantity.LightSpeed/float64(r.Wavelength[a]), quantity.LightSpeed/float64(r.Wavelength[b])
	r.extend(a)
	r.Wavelength[n] = quantity.Length(2 * quantity.LightSpeed / (fa + fb))
	r.Temperature[n] = (r.Temperature[a] + r.Temperature[b]) / 2
	r.Figure(dgd)[n] = delay
	r.Steps[n] = [2]quantity.Length{min(r.Wavelength[a], r.Wavelength[b]), max(r.Wavelength[a], r.Wavelength[b])}
	r.Origins[n] = []Origin{{Line: r.Line[a]}, {Line: r.Line[b]}}
}

// extend appends a row without readings that shares unit, lot and repeat with another.
func (t *Table) extend(like int) {
	t.Line = append(t.Line, t.Line[like])
	t.Wavelength = append(t.Wavelength, t.Wavelength[like])
	t.Temperature = append(t.Temperature, t.Temperature[like])
	t.Origins = append(t.Origins, nil)
	t.Steps = append(t.Steps, [2]quantity.Length{})
	if t.Repeat != nil {
		t.Repeat = append(t.Repeat, t.Repeat[like])
	}
	if t.Units != nil {
		t.Units = append(t.Units, t.Units[like])
	}
	if t.Lots != nil {
		t.Lots = append(t.Lots, t.Lots[like])
	}
	for _, name := range figures {
		if f := t.figure(name); f != nil && *f != nil {
			*f = append(*f, missing)
		}
	}
	for _, m := range []map[string][]float64{t.More, t.Raw, t.U} {
		for name := range m {
			m[name] = append(m[name], missing)
		}
	}
	for name := range t.Bound {
		t.Bound[name] = append(t.Bound[name], false)
	}
	for i := range t.Columns {
		if f := t.Columns[i].Fields; f != nil {
			t.Columns[i].Fields = append(f, "")
		}
	}
}
