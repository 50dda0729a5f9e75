package measured

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// four computes mean and extreme losses and the PDL of a direction by the Mueller method, with the uncertainty
// that follows from the noise of the powers and of their references; that of one reference for all four moves the
// losses and leaves the PDL.
func (l *losses) four(d string) error {
	for _, name := range fourFigures(d) {
		if err := l.twice(name); err != nil {
			return err
		}
	}
	for _, s := range states {
		div, err := l.divide(d, s)
		if err != nil {
			return err
		}
		for i := range div.dB {
			if l.t.bounded(power(powerOf, d, s), i) {
				return l.refuse(i, power(powerOf, d, s), "a bound",
					"a power that the detector can tell from zero: four states are computed from powers")
			}
		}
	}
	if err := l.systematic(d, l.t.fourOf(d)); err != nil {
		return err
	}
	l.t.More, l.t.U = clone(l.t.More), clone(l.t.U)
	l.t.compute(d)
	if l.t.Polarization() == Unstated {
		l.t.Meta = append(l.t.Meta, KeyValue{Key: polarizationKey, Value: string(MinMax)})
	}
	l.t.warnOfFour(d)
	return nil
}

// fourFigures are the figures of a direction that follow from four states: the loss of the mean state, of the best one,
// of the worst one where it is asked for, and the PDL. The isolation is the backward loss of the state that loses
// least.
func fourFigures(direction string) []string {
	if direction == backward {
		return []string{IsolationMean, Isolation, BackwardPDL}
	}
	return []string{InsertionLoss, InsertionLossMin, InsertionLossMax, PDL}
}

// warnOfFour says where noise takes what the method gives.
func (t *Table) warnOfFour(direction string) {
	pdl := PDL
	if direction == backward {
		pdl = BackwardPDL
	}
	values, u := t.Figure(pdl), t.U[pdl]
	var lost, noisy []int
	d := t.fourOf(direction)
	for i, v := range values {
		switch {
		case v != v && !math.IsNaN(transmissions(d, i).T2):
			lost = append(lost, i)
		case v < 3*uAt(u, i):
			noisy = append(noisy, i)
		}
	}
	t.warnAt(lost, "%s, the least transmission %s of four states comes out negative in the noise (first on %s): no "+
		"PDL there", direction)
	t.warnAt(noisy, "%s, PDL %s is under three of its standard uncertainties (first on %s), where noise makes a PDL "+
		"too large", direction)
}

// warnAt says at how many points something holds, and where first.
func (t *Table) warnAt(rows []int, format, d string) {
	if rows != nil {
		where := fmt.Sprintf("at %d of %d points of %s", len(rows), t.Rows(), t.File.Name)
		t.Warnings = append(t.Warnings, fmt.Sprintf(format, where, d, placeOf(t.Sheet, t.Line[rows[0]], 0)))
	}
}

// fourPowers are the transmissions of four launch states, and the extremes over all states that follow from them.
type fourPowers struct {
	t [4]float64
	polar.Transmission
}

func transmissions(d []*division, row int) fourPowers {
	var f fourPowers
	for k := range f.t {
		f.t[k] = quantity.Ratio(d[k].dB[row])
	}
	f.Transmission = polar.FourStates(f.t)
	return f
}

// vector returns (m12, m13, m14), whose length is half of the difference of the extremes.
func (f fourPowers) vector() (v [3]float64) {
	for i := range v {
		for k, p := range f.t {
			v[i] += launched[i+1][k] * p
		}
	}
	return v
}

// noiseOfVector is the sum of the variances of the components of vector by the noise of the powers, and by a drift that
// is another in every sweep.
func (f fourPowers) noiseOfVector(d []*division, row int) (own, drift float64) {
	for k, p := range f.t {
		for i := range 3 {
			by := launched[i+1][k] * p * relative
			own += by * by * d[k].noise(row) * d[k].noise(row)
			drift += by * by * d[k].drift * d[k].drift
		}
	}
	return own, drift
}

// slopes returns by how much a figure in dB moves with the power of each state, dB by dB.
func (f fourPowers) slopes(figure string) (s [4]float64) {
	for k, t := range f.t {
		mean, t1, t2 := f.DMean[k]*t/f.Mean, f.DT1[k]*t/f.T1, f.DT2[k]*t/f.T2
		switch figure {
		case InsertionLoss, IsolationMean:
			s[k] = -mean
		case InsertionLossMin, Isolation:
			s[k] = -t1
		case InsertionLossMax:
			s[k] = -t2
		case PDL, BackwardPDL:
			s[k] = t1 - t2
		}
	}
	return s
}

// value returns a figure in dB, NaN where the least transmission came out negative and the figure needs it.
func (f fourPowers) value(figure string) float64 {
	switch {
	case figure == InsertionLoss || figure == IsolationMean:
		return -quantity.Decibels(f.Mean)
	case figure == InsertionLossMin || figure == Isolation:
		return -quantity.Decibels(f.T1)
	case f.T2 <= 0:
		return missing
	case figure == InsertionLossMax:
		return -quantity.Decibels(f.T2)
	}
	return quantity.Decibels(f.T1 / f.T2)
}

// computeFour sets the figures of a direction from four states.
func (t *Table) computeFour(direction string, d []*division) {
	for _, name := range fourFigures(direction) {
		values, u := make([]float64, len(d[0].dB)), make([]float64, len(d[0].dB))
		for i := range values {
			f := transmissions(d, i)
			if values[i], u[i] = f.value(name), missing; values[i] == values[i] {
				u[i] = t.uOfFour(name, d, f, i)
			}
		}
		t.enter(name, values, u)
	}
}

// uOfFour returns the standard uncertainty of a figure. Near zero a PDL has no direction, and its uncertainty is that
// of a component of the vector of which it is the length.
func (t *Table) uOfFour(name string, d []*division, f fourPowers, row int) float64 {
	if name == PDL || name == BackwardPDL {
		m := t.diattenuation(d, f, row)
		return m.Standard() * pdlSlope(m.Length)
	}
	slope := f.slopes(name)
	if !oneReference(d) {
		return t.standard(name, d, slope[:], row)
	}
	sum := 0.0
	for k := range d {
		sum += slope[k] * slope[k] * d[k].noise(row) * d[k].noise(row)
	}
	return math.Hypot(math.Sqrt(sum), t.referenceNoise(d[0], row))
}

// oneReference tells whether all four states were divided by the same readings, and share all else, too.
func oneReference(d []*division) bool {
	if d[0].more != nil {
		return false
	}
	for _, o := range d[1:] {
		if &o.first[0] != &d[0].first[0] {
			return false
		}
	}
	return true
}

// pdlOf is the PDL in dB of a diattenuation (T1 - T2) / (T1 + T2), and pdlSlope its derivative.
func pdlOf(d float64) float64    { return quantity.Decibels((1 + d) / (1 - d)) }
func pdlSlope(d float64) float64 { return 2 / relative / (1 - d*d) }

// launched is the first row of the Mueller matrix by the four transmissions (IEC 61300-3-2, TIA-455-198).
var launched = [4][4]float64{{0.5, 0.5, 0, 0}, {0.5, -0.5, 0, 0}, {-0.5, -0.5, 1, 0}, {-0.5, -0.5, 0, 1}}

// diattenuation returns the vector (m12, m13, m14) / m11, whose length is (T1 - T2) / (T1 + T2), as it was read: its
// length and what is needed of the covariance of its components. The errors of a reference that all states share leave
// it.
func (t *Table) diattenuation(d []*division, f fourPowers, row int) uncertainty.Modulus {
	shared := oneReference(d)
	var v [3]float64
	var cov [3][3]float64
	length := 0.0
	for i := range v {
		for k, p := range f.t {
			v[i] += launched[i+1][k] * p / f.Mean
		}
		length += v[i] * v[i]
	}
	add := func(by [3]float64) {
		for i := range by {
			for j := range by {
				cov[i][j] += by[i] * by[j]
			}
		}
	}
	points, common := make([]int, 0, 24), make([][3]float64, 0, 24) // what each error that readings share moves
	for k, p := range f.t {
		var by [3]float64
		for i := range by {
			by[i] = (launched[i+1][k] - v[i]*launched[0][k]) / f.Mean * p * relative
		}
		u := d[k].noise(row)
		add([3]float64{u * by[0], u * by[1], u * by[2]})
		if shared {
			continue
		}
		d[k].points(row, func(point int, share float64) {
			r, n := t.reference(point)
			k := slices.Index(points, point)
			if k < 0 {
				k, points, common = len(points), append(points, point), append(common, [3]float64{})
			}
			for i := range by {
				common[k][i] += by[i] * share * r.U[n]
			}
		})
	}
	for _, by := range common {
		add(by)
	}
	return modulusOf(v[:], cov, math.Sqrt(length))
}

// modulusOf is the modulus of a vector with the covariance of its components.
func modulusOf(v []float64, cov [3][3]float64, length float64) uncertainty.Modulus {
	m := uncertainty.Modulus{Length: length}
	for i := range cov {
		m.Trace += cov[i][i]
		for j := range cov {
			m.Square += cov[i][j] * cov[i][j]
			if length > 0 {
				m.Radial += v[i] * v[j] / (length * length) * cov[i][j]
			}
		}
	}
	if length == 0 {
		m.Radial = m.Trace / 3
	}
	return m
}

// Mueller is the first row of the Mueller matrix of one direction at one point, in powers over the reference, and the
// covariance of its elements.
type Mueller struct {
	Elements   [4]float64
	Covariance [4][4]float64
}

// Mueller returns what four launch states say of a row, forward or backward: unlike the extremes over all states it has
// no bias by noise. It is false where the table has no such powers.
func (t *Table) Mueller(isBackward bool, row int) (m Mueller, ok bool) {
	direction := forward
	if isBackward {
		direction = backward
	}
	d := t.fourOf(direction)
	if d == nil || slices.ContainsFunc(d, func(o *division) bool { return o.first[row] < 0 || math.IsNaN(o.dB[row]) }) {
		return m, false
	}
	f := transmissions(d, row)
	for i := range m.Elements {
		for k, p := range f.t {
			m.Elements[i] += launched[i][k] * p
		}
	}
	add := func(by [4]float64) {
		for i := range by {
			for j := range by {
				m.Covariance[i][j] += by[i] * by[j]
			}
		}
	}
	shared := map[int]*[4]float64{}
	for k, p := range f.t {
		var by [4]float64
		for i := range by {
			by[i] = launched[i][k] * p * relative
		}
		add(scaled(by, d[k].noise(row)))
		d[k].points(row, func(point int, share float64) {
			r, n := t.reference(point)
			if shared[point] == nil {
				shared[point] = &[4]float64{}
			}
			for i, v := range by {
				shared[point][i] -= v * share * r.U[n]
			}
		})
	}
	for _, point := range slices.Sorted(maps.Keys(shared)) { // sums in one order are equal to the last bit
		add(*shared[point])
	}
	return m, true
}

func scaled(v [4]float64, by float64) [4]float64 {
	for i := range v {
		v[i] *= by
	}
	return v
}
