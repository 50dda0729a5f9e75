package decide

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"wedgework/optics/quantity"
	"wedgework/reports/fit"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/compare"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// The key figures.
const (
	MinimumIsolation = "minimum isolation"
	PeakWavelength   = "wavelength of the isolation peak"
	PeakIsolation    = "isolation at the peak"
	PeakShift        = "shift of the isolation peak"
	InsertionLoss    = "insertion loss"
)

// OverSweep names the key figure of a quantity that all readings of a sweep enter: "PDL over the sweep". Of a PDL or a
// DGD it is the root of the mean square, of a return loss that of the mean power.
func OverSweep(q limits.Quantity) string { return q.String() + " over the sweep" }

// keyFigure is a key figure on its way: how it comes from the values of all observations, and the
// gradient of that at the measured ones.
type keyFigure struct {
	Figure
	of       func(values []float64) float64
	gradient []float64
	domain   domain
	shift    float64
	combined bool // follows from other figures and stays out of the joint test
	// over is what the figure over the band is by the specified and by the fitted model, relative to that at the
	// readings; nil where the figure belongs to the readings.
	over *[2]float64
}

// domain is what of and gradient of a key figure are, where that is not the figure as it is printed.
type domain uint8

const (
	asPrinted domain = iota
	amplitude        // of leakage, printed in dB
	power            // printed in dB
	square           // printed as its root
)

// KeyFigures compares the key figures with both models, one by one and all together. A figure over the band of a limit
// is printed as the limit's decision has it; what it is compared by are the readings and what the models say of each.
func (e *Evidence) KeyFigures(ctx context.Context, by predict.Models, decisions []Decision) ([]Figure, Joint, error) {
	all, every := e.declare(), e.CovarianceWithModel()
	if slices.ContainsFunc(all, func(f *keyFigure) bool { return f.domain == power }) {
		if _, err := e.fringe(ctx); err != nil { // e.period, for interference
			return nil, Joint{}, err
		}
	}
	var figures []Figure
	for _, f := range all {
		if err := e.widen(ctx, f, by.Specified.Centre, decisions); err != nil {
			return nil, Joint{}, err
		}
		e.compare(f, by, every)
		if f.over != nil {
			f.overBand(&decisions[f.Limit])
		}
		figures = append(figures, f.Figure)
	}
	return figures, e.joint(all, by.Specified), nil
}

// widen finds by how much the models' minimum isolation over a band differs from that at the readings in it.
func (e *Evidence) widen(ctx context.Context, f *keyFigure, specified []float64, decisions []Decision) error {
	if f.Limit < 0 || !f.Determined || !decisions[f.Limit].Continuous {
		return nil
	}
	l := e.Limits[f.Limit]
	f.over = &[2]float64{}
	at := [][]float64{specified, e.Best.Values} // what each model says of every observation
	for k, m := range []model.Model{e.Specified, e.Best.Model} {
		amplitude, err := e.bandAmplitude(ctx, l, m)
		if err != nil {
			return err
		}
		f.over[k] = amplitude / f.of(at[k])
	}
	return nil
}

// bandPoints resolve the extreme of a smooth response to a hundredth of its change over the band.
const bandPoints = 61

// bandAmplitude is a model's greatest leakage amplitude over a limit's band, at and between the temperatures of the
// sweeps.
func (e *Evidence) bandAmplitude(ctx context.Context, l limits.Limit, m model.Model) (float64, error) {
	var ts []quantity.Temperature
	for run, r := range e.Runs {
		if r.Count[limits.Isolation] > 0 && l.Covers(l.Low, r.Temperature, readings.TemperatureMargin) {
			if run > 0 && len(ts) > 0 {
				ts = append(ts, (ts[len(ts)-1]+r.Temperature)/2)
			}
			ts = append(ts, r.Temperature)
		}
	}
	ls := make([]quantity.Length, bandPoints)
	for i := range ls {
		ls[i] = l.Low + (l.High-l.Low)*quantity.Length(i)/(bandPoints-1)
	}
	most := 0.0
	for _, t := range ts {
		values, err := m.Over(ctx, model.Backward, ls, t)
		if err != nil {
			return 0, err
		}
		for _, v := range values {
			if e.Scrambled {
				most = max(most, v.Mean())
			} else {
				most = max(most, v.T1)
			}
		}
	}
	return readings.Root(most), nil
}

// overBand prints the figure over the band: measured as decided, without the way from the mean over polarization to the
// worst.
func (f *keyFigure) overBand(d *Decision) {
	f.Measured, f.Low, f.High = d.Measured-d.Correction, d.Low-d.Correction, d.High-d.Correction
	f.Bias = 0
}

// declare sets up the key figures: the minimum isolation in each isolation limit's band, the peak of
// each run and its shift, the insertion loss at one wavelength, and PDL, DGD and return loss over each run.
func (e *Evidence) declare() []*keyFigure {
	var all []*keyFigure
	for k, l := range e.Limits {
		if l.Quantity == limits.Isolation {
			all = append(all, e.leastIsolation(k, l))
		}
	}
	var coldest, hottest *keyFigure
	for run, r := range e.Runs {
		if r.Count[limits.Isolation] == 0 {
			continue
		}
		f, height := e.peak(run)
		all = append(all, f)
		if height != nil {
			all = append(all, height)
		}
		if f.Determined {
			if coldest == nil {
				coldest = f
			}
			hottest = f
		}
	}
	if coldest != hottest {
		all = append(all, e.peakShift(coldest, hottest))
	}
	for run, r := range e.Runs {
		if r.Count[limits.InsertionLoss] > 0 {
			all = append(all, e.loss(run))
		}
	}
	for _, q := range limits.Quantities[2:] { // isolation and insertion loss have figures of their own
		for run, r := range e.Runs {
			if r.Count[q] > 0 {
				all = append(all, e.overSweep(run, q))
			}
		}
	}
	return all
}

// leastIsolation is the greatest leakage amplitude in the band, as a raw extreme on either side.
func (e *Evidence) leastIsolation(k int, l limits.Limit) *keyFigure {
	f := &keyFigure{Figure: Figure{Name: MinimumIsolation, Quantity: limits.Isolation, Condition: text.Condition(l),
		Unit: "dB", Limit: k, Run: -1},
		domain: amplitude}
	at := slices.DeleteFunc(e.Within(l, limits.Isolation), e.Outlying.Has)
	if len(at) == 0 {
		f.Why = "no isolation reading in this band and temperature range"
		return f
	}
	f.of = func(values []float64) float64 {
		greatest := 0.0
		for _, i := range at {
			greatest = max(greatest, values[i])
		}
		return readings.Root(greatest)
	}
	worst := at[0]
	for _, i := range at {
		if e.Values[i] > e.Values[worst] {
			worst = i
		}
	}
	if e.Censored[worst] {
		f.Why = "every reading in the band is a lower bound"
		if slices.ContainsFunc(at, func(i int) bool { return !e.Censored[i] }) {
			f.Why = fmt.Sprintf("the lower bound in line %d may hide less isolation than any other reading",
				e.Rows[e.Obs[worst].Row].Line)
		}
		return f
	}
	f.Determined = true
	f.gradient = make([]float64, len(e.Values))
	f.gradient[worst] = 1 / (2 * math.Sqrt(e.Values[worst]))
	f.Bias = e.minimumBias(at)
	f.shift = math.Pow(10, -f.Bias/20)
	return f
}

// peak is the wavelength of the isolation peak of a sweep, and the isolation there where it can be distinguished from
// none: the vertex of one parabola. Where the peak lies outside the readings there is no isolation at it.
func (e *Evidence) peak(run int) (f, height *keyFigure) {
	r := e.Runs[run]
	f = &keyFigure{Figure: Figure{Name: PeakWavelength, Quantity: limits.Isolation,
		Condition: text.Celsius(r.Temperature), Unit: "nm", Limit: -1,
		Run: run}, shift: 1}
	p, err := e.NewParabola(run, e.Own, e.Outlying.Has)
	if err != nil {
		f.Why = err.Error()
		return f, nil
	}
	if !p.Curved(e.Values, e.Own) {
		f.Why = "the readings show no minimum of the leakage"
		return f, nil
	}
	at := quantity.Length(p.Peak(e.Values)) * quantity.Nanometre
	if at < p.First-readings.PeakReach || at > p.Last+readings.PeakReach {
		f.Why = fmt.Sprintf("the peak lies outside the sweep, near %.0f nm", float64(at/quantity.Nanometre))
		return f, nil
	}
	f.Extrapolate = at < p.First || at > p.Last
	f.Determined = true
	f.of = p.Peak
	f.gradient = p.Gradient(e.Values, len(e.Values))
	g := p.LeastGradient(e.Values, len(e.Values))
	least := p.Least(e.Values)
	if f.Extrapolate || p.Count() < heightLeast || !(least > peakTold*readings.Root(e.Own.Between(g, g))) {
		return f, nil
	}
	height = &keyFigure{Figure: Figure{Name: PeakIsolation, Quantity: limits.Isolation, Condition: f.Condition,
		Unit: "dB", Limit: -1, Run: run,
		Determined: true},
		domain: amplitude, shift: 1}
	height.of = func(values []float64) float64 { return readings.Root(p.Least(values)) }
	for i := range g {
		g[i] /= 2 * math.Sqrt(least)
	}
	height.gradient = g
	return f, height
}

// heightLeast is how many readings the isolation at the peak needs: the vertex of a parabola through few is more of the
// parabola's misfit than of the unit's.
const heightLeast = 15

// peakTold is how many standard uncertainties of its power the leakage at the peak must be to be distinguished from
// none.
const peakTold = 3

// peakShift is the slope of the peak's wavelength over temperature, between the extreme runs.
func (e *Evidence) peakShift(cold, hot *keyFigure) *keyFigure {
	a, b := e.Runs[cold.Run].Temperature, e.Runs[hot.Run].Temperature
	f := &keyFigure{Figure: Figure{Name: PeakShift, Quantity: limits.Isolation, Condition: text.Celsius(a) + " to " +
		text.Celsius(b), Unit: "nm/K", Limit: -1, Run: -1, Determined: true},
		shift: 1, combined: true}
	span := float64(b - a)
	f.of = func(values []float64) float64 { return (hot.of(values) - cold.of(values)) / span }
	f.gradient = make([]float64, len(e.Values))
	for i := range f.gradient {
		f.gradient[i] = (hot.gradient[i] - cold.gradient[i]) / span
	}
	return f
}

// loss is the mean of the insertion-loss readings close to one wavelength.
func (e *Evidence) loss(run int) *keyFigure {
	r, l := e.Runs[run], e.LossAt
	f := &keyFigure{Figure: Figure{Name: InsertionLoss, Quantity: limits.InsertionLoss, Condition: fmt.Sprintf("%s, %s",
		text.Nanometres(l),
		text.Celsius(r.Temperature)), Unit: "dB", Limit: -1, Run: run}, shift: 1}
	var at []int
	for _, i := range e.Of(run, limits.InsertionLoss) {
		if math.Abs(float64(e.Obs[i].Wavelength-l)) <= float64(readings.LossReach)*(1+1e-9) {
			at = append(at, i)
		}
	}
	if len(at) == 0 {
		f.Why = fmt.Sprintf("no insertion-loss reading within %s of %s", text.Nanometres(readings.LossReach),
			text.Nanometres(l))
		return f
	}
	f.mean(at, len(e.Values))
	return f
}

// mean makes the figure the mean of the values of some observations, of n.
func (f *keyFigure) mean(at []int, n int) {
	f.Determined = true
	f.gradient = make([]float64, n)
	for _, i := range at {
		f.gradient[i] = 1 / float64(len(at))
	}
	f.of = func(values []float64) float64 {
		sum := 0.0
		for _, i := range at {
			sum += values[i]
		}
		return sum / float64(len(at))
	}
}

// overSweep is the mean of all readings of a quantity in a run, in the scale in which their errors average out. Bounds
// say nothing of it.
func (e *Evidence) overSweep(run int, q limits.Quantity) *keyFigure {
	r := e.Runs[run]
	f := &keyFigure{Figure: Figure{Name: OverSweep(q), Quantity: q, Condition: text.Celsius(r.Temperature),
		Unit:  q.Unit(),
		Limit: -1, Run: run}, shift: 1}
	switch readings.ScaleOf(q) {
	case readings.Power:
		f.domain = power
	case readings.Square:
		f.domain = square
	}
	at := slices.DeleteFunc(e.Of(run, q), func(i int) bool { return e.Obs[i].Bound })
	if len(at) < r.Count[q] {
		f.Why = fmt.Sprintf("%d of %d readings are lower bounds", r.Count[q]-len(at), r.Count[q])
		return f
	}
	low, high := e.Obs[at[0]].Wavelength, e.Obs[at[0]].Wavelength
	for _, i := range at {
		low, high = min(low, e.Obs[i].Wavelength), max(high, e.Obs[i].Wavelength)
	}
	if low < high {
		f.Condition = text.Nanometres(low) + " to " + text.Nanometres(high) + ", " + f.Condition
	} else {
		f.Condition = text.Nanometres(low) + ", " + f.Condition
	}
	f.mean(at, len(e.Values))
	return f
}

// compare fills in what was measured and what both models say; every is the covariance of all values with what the
// model leaves open in it.
func (e *Evidence) compare(f *keyFigure, by predict.Models, every *uncertainty.Covariance) {
	if !f.Determined {
		return
	}
	measured := f.of(e.Values)
	u := e.Factor(f.gradient) * readings.Root(e.Own.Between(f.gradient, f.gradient))
	f.Measured, f.Low, f.High = f.print(measured, u, u)
	one := func(s *predict.Spread, k int) (r FigureComparison, c, down, up float64) {
		c, down, up = s.Sides(f.of)
		if f.over != nil {
			over := f.over[k]
			r.Value, r.Low, r.High = f.print(c*over, down*over, up*over)
			return r, c * f.shift, down * f.shift, up * f.shift
		}
		if f.domain == amplitude { // what the model lets expect of a raw extreme
			c, down, up = c*f.shift, down*f.shift, up*f.shift
		}
		r.Value, r.Low, r.High = f.print(c, down, up)
		return r, c, down, up
	}
	r, c, down, up := one(by.Specified, 0)
	side := up
	if measured < c {
		side = down
	}
	own := math.Hypot(u, readings.Coverage*e.interference(f))
	r.En = compare.NormalizedError(measured-c, math.Hypot(own, side))
	f.Specified = r
	if by.Fitted == nil {
		f.Diagnosed = r
		return
	}
	r, c, down, up = one(by.Fitted, 1)
	// The figure comes from readings that were fitted, and shares their errors with the parameters: the variance of
	// what the fit leaves of it is V - J C J^T. A forward figure was not fitted.
	v := every.Between(f.gradient, f.gradient)
	fitted := math.Pow(max(down, up)/readings.Coverage, 2)
	if e.Obs[slices.IndexFunc(f.gradient, func(g float64) bool { return g != 0 })].Backward() {
		fitted = -fitted
	}
	r.En = compare.NormalizedError(measured-c, readings.Coverage*readings.Root(max(v+fitted, fitting.Pinned*v)))
	f.Diagnosed = r
}

// print turns a figure with its sides into the unit it is shown in.
func (f *keyFigure) print(v, down, up float64) (value, low, high float64) {
	switch f.domain {
	case amplitude:
		return readings.Decibels(v), readings.Decibels(v + up), readings.Decibels(v - down)
	case power:
		figure := readings.Power.Figure
		return figure(v), figure(v + up), figure(v - down)
	case square:
		figure := readings.Square.Figure
		return figure(v), figure(v - down), figure(v + up)
	}
	return v, v - down, v + up
}

// interference is the standard deviation that the phases of reflections among each other leave a mean of return losses,
// which the model adds in power. Readings closer than a fringe have one phase.
func (e *Evidence) interference(f *keyFigure) float64 {
	for _, t := range e.Terms {
		if t.Name != predict.ReturnRippleName {
			continue
		}
		sum, apart := 0.0, 1.0
		var last quantity.Length
		for i, g := range f.gradient {
			if g != 0 && t.U[i] > 0 {
				sum += g * t.U[i]
				switch l := e.Obs[i].Wavelength; {
				case last == 0:
					last = l
				case l-last > e.period:
					apart, last = apart+1, l
				}
			}
		}
		return sum / math.Sqrt(apart)
	}
	return 0
}

// joint holds all independent determined figures against the specified model at once. The model's covariance is that of
// the trials about the model as it is drawn, which near a null is not their mean.
func (e *Evidence) joint(all []*keyFigure, specified *predict.Spread) Joint {
	var use []*keyFigure
	for _, f := range all {
		if f.Determined && !f.combined {
			use = append(use, f)
		}
	}
	n := len(use)
	if n == 0 {
		return Joint{}
	}
	v, d := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	off := make([][]float64, n)
	for i, f := range use {
		centre := f.of(specified.Centre)
		d.SetVec(i, f.of(e.Values)-centre*f.shift)
		for _, values := range specified.Trials {
			off[i] = append(off[i], (f.of(values)-centre)*f.shift)
		}
	}
	for i := range use {
		for j := i; j < n; j++ {
			c := e.Own.Between(use[i].gradient, use[j].gradient)
			if i == j {
				c += math.Pow(e.interference(use[i]), 2)
			}
			v.SetSym(i, j, c+fit.Dot(off[i], off[j])/float64(max(len(specified.Trials), 1)))
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(v) {
		return Joint{}
	}
	var s mat.VecDense
	if err := chol.SolveVecTo(&s, d); err != nil {
		if _, poor := err.(mat.Condition); !poor {
			return Joint{}
		}
	}
	chi := mat.Dot(d, &s)
	return Joint{Count: n, ChiSquared: chi, PValue: fit.PValue(chi, n)}
}
