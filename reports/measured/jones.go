package measured

import (
	"fmt"
	"math"
	"slices"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// jones computes, from swept Jones matrices, the PDL of each and the DGD between neighbours, by Jones-matrix
// eigenanalysis over the instrument's own step. A DGD belongs to a step, so it gets a row of its own at the
// middle frequency, whose origins are the two matrices.
func (r *reader) jones() error {
	m, err := r.matricesOf()
	if m == nil || err != nil {
		return err
	}
	pdl, dgd := PDL, DGD
	if d, _ := r.Value(directionKey); normal(d) == backward {
		pdl, dgd = BackwardPDL, BackwardDGD
	}
	sweeps := r.Sweeps()
	for k, rows := range sweeps {
		sweeps[k] = slices.DeleteFunc(rows, func(i int) bool { _, ok := m.at(i); return !ok })
	}
	if m.noise == 0 {
		m.estimateNoise(sweeps)
		m.noise = max(m.noise, r.roundedBy(m))
		if m.noise > 0 {
			r.warn("the noise of the Jones matrices of %s is not stated and taken from their scatter and last digit: "+
				"%.2g of an element; a line # %s: 2e-4 states it", r.File.Name, m.noise, matrixNoiseKey)
		}
	}
	if r.Figure(pdl) == nil {
		r.pdlOfAll(m, pdl)
	}
	if r.Figure(dgd) != nil {
		return nil // the instrument's own figure stands
	}
	return r.steps(m, sweeps, dgd)
}

// pdlOfAll sets the PDL of every matrix.
func (r *reader) pdlOfAll(m *matrices, name string) {
	values, u := make([]float64, r.Rows()), make([]float64, r.Rows())
	var near []int
	for i := range values {
		values[i], u[i] = missing, missing
		if a, ok := m.at(i); ok {
			values[i], u[i] = pdlOfMatrix(a, m.noise)
		}
		if m.noise > 0 && values[i] < 3*u[i] {
			near = append(near, i)
		}
	}
	r.setFigure(name, values)
	if m.noise > 0 {
		r.setU(name, u)
		r.warnAt(near, "%s, the "+name+"%s is under three of its standard uncertainties (first on %s), where noise "+
			"makes a PDL too large", "")
	}
}

// A step is wide when the median of its sweep's is exceeded so much: matrices are missing there. Noise of more than a
// twelfth of half a turn is beyond its own linear propagation. Below some standard uncertainties the phase is that of
// the rotation alone (choices).
const (
	wideStep   = 1.5
	mostAstray = math.Pi / 12 // radian
	small      = 10
)

// steps appends a row for each pair of neighbouring matrices of a sweep.
func (r *reader) steps(m *matrices, sweeps [][]int, dgd string) error {
	r.setFigure(dgd, slices.Repeat([]float64{missing}, r.Rows()))
	if m.noise > 0 {
		r.setU(dgd, slices.Repeat([]float64{missing}, r.Rows()))
	}
	r.Steps = make([][2]quantity.Length, r.Rows())
	r.stepTo = make([]int32, r.Rows())
	total := 0
	for _, rows := range sweeps {
		total += max(0, len(rows)-1)
	}
	r.reserve(total)
	var found stepsFound
	for _, rows := range sweeps {
		if err := r.stepsOf(m, rows, dgd, &found); err != nil {
			return err
		}
	}
	r.tellSteps(&found)
	return nil
}

// stepsFound is what is to be said of the steps of a file.
type stepsFound struct {
	worst  float64 // phase of the coarsest
	at     int     // its line
	astray []int   // rows before steps whose phase is lost in noise
	wide   []int
	near   []int
}

// stepsOf appends the steps of one sweep.
func (r *reader) stepsOf(m *matrices, rows []int, dgd string, found *stepsFound) error {
	if len(rows) < 2 {
		return nil
	}
	g := r.gridOfSweep(rows)
	for k := 1; k < len(rows); k++ {
		a, b := rows[k-1], rows[k]
		if r.Wavelength[a] == r.Wavelength[b] {
			return r.refuse(r.Line[b], 0, "another Jones matrix at the wavelength and repeat of "+placeOf(r.Sheet,
				r.Line[a], 0), "one in a sweep")
		}
		if g.widths[k-1] > wideStep*g.median {
			found.wide = append(found.wide, a)
			continue
		}
		ma, _ := m.at(a)
		mb, _ := m.at(b)
		phase, ok := polar.StepPhase(ma, mb)
		if !ok {
			return r.refuse(r.Line[b], 0, "Jones matrices that cannot be compared with the matrices of "+
				placeOf(r.Sheet, r.Line[a], 0), "matrices that pass two states of polarization")
		}
		u := 0.0
		if m.noise > 0 {
			s := stepOf(unit(ma), unit(mb))
			if u = m.noise * phaseNoise(s, phase); u > mostAstray {
				found.astray = append(found.astray, a)
				continue
			}
			if phase < small*u {
				phase = s.rotation()
			}
		}
		if phase < 3*u {
			found.near = append(found.near, a)
		}
		if phase > found.worst {
			found.worst, found.at = phase, r.Line[a]
		}
		turn := 2 * math.Pi * g.widths[k-1]
		r.appendStep(a, b, dgd, phase/turn, math.Hypot(u/turn, phase/turn*g.rounding))
	}
	return nil
}

// tellSteps says what a reader of the delays should know.
func (r *reader) tellSteps(found *stepsFound) {
	// Half of what can be told at all: beyond it a little more delay, or noise, folds over (a choice).
	if found.worst > math.Pi/2 {
		r.warn("the step of %s is coarse for its DGD: the phase turns by %.2g rad from %s to the next, and beyond pi "+
			"a DGD cannot be told",
			r.File.Name, found.worst, placeOf(r.Sheet, found.at, 0))
	}
	if n := len(found.wide); n > 0 {
		r.unused(r.Line[found.wide[0]], fmt.Sprintf("%s to the next Jones matrix, wider than the others: the phase "+
			"may have turned by more than pi in it, and it gives no DGD; the first", counted(n, "step")))
	}
	if n := len(found.astray); n > 0 {
		r.unused(r.Line[found.astray[0]], fmt.Sprintf("%s to the next Jones matrix, whose noise moves the phase by "+
			"more than %.2g rad, give no DGD; the first", counted(n, "step"), mostAstray))
	}
	r.warnAt(found.near, "%s, the phase of a step%s is under three of its standard uncertainties (first on %s), "+
		"where noise makes a DGD too large", "")
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// appendStep adds the row of a DGD between two rows.
func (r *reader) appendStep(a, b int, dgd string, delay, u float64) {
	n := r.Rows()
	fa, fb := quantity.LightSpeed/float64(r.Wavelength[a]), quantity.LightSpeed/float64(r.Wavelength[b])
	r.extend(a)
	r.Wavelength[n] = quantity.Length(2 * quantity.LightSpeed / (fa + fb))
	r.Temperature[n] = (r.Temperature[a] + r.Temperature[b]) / 2
	r.Figure(dgd)[n] = delay
	if r.U[dgd] != nil {
		r.U[dgd][n] = u
	}
	r.Steps[n] = [2]quantity.Length{min(r.Wavelength[a], r.Wavelength[b]), max(r.Wavelength[a], r.Wavelength[b])}
	r.stepTo[n] = int32(r.Line[b])
}

// columnsOfRows hands on every column of numbers of the table.
func (t *Table) columnsOfRows(do func(v []float64) []float64) {
	for _, name := range figures {
		if f := t.figure(name); f != nil && *f != nil {
			*f = do(*f)
		}
	}
	for _, m := range []map[string][]float64{t.More, t.Raw, t.U} {
		for name := range m {
			m[name] = do(m[name])
		}
	}
}

// reserve makes room for so many more rows, once and no more than that.
func (t *Table) reserve(n int) {
	t.Line = roomFor(t.Line, n)
	t.Wavelength, t.Temperature = roomFor(t.Wavelength, n), roomFor(t.Temperature, n)
	t.Steps, t.stepTo = roomFor(t.Steps, n), roomFor(t.stepTo, n)
	t.columnsOfRows(func(v []float64) []float64 { return roomFor(v, n) })
}

func roomFor[T any](v []T, n int) []T { return append(make([]T, 0, len(v)+n), v...) }

// extend appends a row without readings that shares unit, lot and repeat with another.
func (t *Table) extend(like int) {
	t.Line = append(t.Line, t.Line[like])
	t.Wavelength = append(t.Wavelength, t.Wavelength[like])
	t.Temperature = append(t.Temperature, t.Temperature[like])
	t.Steps, t.stepTo = append(t.Steps, [2]quantity.Length{}), append(t.stepTo, 0)
	if t.Repeat != nil {
		t.Repeat = append(t.Repeat, t.Repeat[like])
	}
	if t.Units != nil {
		t.Units = append(t.Units, t.Units[like])
	}
	if t.Lots != nil {
		t.Lots = append(t.Lots, t.Lots[like])
	}
	t.columnsOfRows(func(v []float64) []float64 { return append(v, missing) })
	for name := range t.Bound {
		t.Bound[name] = append(t.Bound[name], false)
	}
	for i := range t.Columns {
		if f := t.Columns[i].Fields; f != nil {
			t.Columns[i].Fields = append(f, "")
		}
	}
}
