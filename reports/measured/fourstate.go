package measured

import (
	"fmt"
	"math"
	"slices"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// four computes mean and extreme losses and the PDL of a direction by the Mueller method, with the uncertainty
// that follows from the noise of the powers, taken as independent; that of one reference for all four moves the losses
// and leaves the PDL.
func (l *losses) four(d string) error {
	var all [4][]ratio
	for k, s := range states {
		var err error
		if all[k], err = l.ratios(d, s); err != nil {
			return err
		}
	}
	f := newFour(d, l.t.Rows())
	var lost, noisy []int
	for i := range l.t.Rows() {
		var t, u [4]float64
		for k := range all {
			if all[k][i].bound {
				return l.refuse(i, power(powerOf, d, states[k]), "a bound", "a power that the detector can tell from zero: four states are computed from powers")
			}
			t[k] = transmissionOf(all[k][i])
			u[k] = t[k] * relative * all[k][i].u
		}
		x := polar.FourStates(t)
		if x.T2 <= 0 {
			lost = append(lost, i)
		}
		f.set(i, x, u, all[0][i].common)
		if f.pdl[i] < 3*f.uPDL[i] {
			noisy = append(noisy, i)
		}
	}
	for _, c := range f.columns() {
		if l.t.Figure(c.name) != nil {
			return &Refusal{File: l.t.File.Name, Sheet: l.t.Sheet, Found: "a column " + c.name + " and powers that it follows from", Want: "one of them"}
		}
		l.set(c.name, c.values, c.u)
	}
	if l.t.Polarization() == Unstated {
		l.t.Meta = append(l.t.Meta, KeyValue{Key: polarizationKey, Value: string(MinMax)})
	}
	l.warn(lost, "%s, the least transmission %s of four states comes out negative in the noise (first on %s): no PDL there", d)
	l.warn(noisy, "%s, PDL %s is under three of its standard uncertainties (first on %s), where noise makes a PDL too large", d)
	return nil
}

// warn says at how many points something holds, and where first.
func (l *losses) warn(rows []int, format, d string) {
	if rows != nil {
		where := fmt.Sprintf("at %d of %d points of %s", len(rows), l.t.Rows(), l.t.File.Name)
		l.t.Warnings = append(l.t.Warnings, fmt.Sprintf(format, where, d, placeOf(l.t.Sheet, l.t.Line[rows[0]], 0)))
	}
}

// fourFigures are the figures of one direction, row by row, and their standard uncertainties.
type fourFigures struct {
	backward                   bool
	mean, least, most, pdl     []float64 // losses in dB: mean, of the best state, of the worst
	uMean, uLeast, uMost, uPDL []float64
}

func newFour(d string, rows int) *fourFigures {
	f := &fourFigures{backward: d == backward}
	for _, s := range []*[]float64{&f.mean, &f.least, &f.most, &f.pdl, &f.uMean, &f.uLeast, &f.uMost, &f.uPDL} {
		*s = slices.Repeat([]float64{missing}, rows)
	}
	return f
}

// set computes the figures of a row from transmissions, the uncertainties u of the four, and what they share in dB.
func (f *fourFigures) set(i int, x polar.Transmission, u [4]float64, common float64) {
	spread := func(by func(k int) float64) float64 {
		sum := 0.0
		for k := range u {
			sum += by(k) * by(k) * u[k] * u[k]
		}
		return math.Sqrt(sum) / relative
	}
	loss := func(by func(k int) float64) float64 { return math.Hypot(spread(by), common) }
	f.mean[i], f.uMean[i] = -quantity.Decibels(x.Mean), loss(func(k int) float64 { return x.DMean[k] / x.Mean })
	f.least[i], f.uLeast[i] = -quantity.Decibels(x.T1), loss(func(k int) float64 { return x.DT1[k] / x.T1 })
	if x.T2 > 0 {
		f.most[i], f.uMost[i] = -quantity.Decibels(x.T2), loss(func(k int) float64 { return x.DT2[k] / x.T2 })
		f.pdl[i] = quantity.Decibels(x.T1 / x.T2)
		f.uPDL[i] = spread(func(k int) float64 { return x.DT1[k]/x.T1 - x.DT2[k]/x.T2 })
	}
}

// figureColumn is a figure with its uncertainty.
type figureColumn struct {
	name      string
	values, u []float64
}

func (f *fourFigures) columns() []figureColumn {
	if f.backward { // the isolation is the backward loss of the state that loses least
		return []figureColumn{{Isolation, f.least, f.uLeast}, {IsolationMean, f.mean, f.uMean}, {BackwardPDL, f.pdl, f.uPDL}}
	}
	return []figureColumn{
		{InsertionLoss, f.mean, f.uMean}, {InsertionLossMin, f.least, f.uLeast}, {InsertionLossMax, f.most, f.uMost}, {PDL, f.pdl, f.uPDL},
	}
}
