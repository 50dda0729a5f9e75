package decide

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// candidate is one reading a limit applies to, for the worst polarization.
type candidate struct {
	obs        int // index of the observation
	line       int
	l          quantity.Length
	t          quantity.Temperature
	value      float64 // in the unit of the quantity
	correction float64
	atLeast    bool    // value is a bound: one at 95 % where the power drowns, and the file's own where it states one
	stated     bool    // the file's
	power      float64 // of the leakage power behind value, the floor included; backward only
	run        int
}

// Evidence is what figures and limits are decided on.
type Evidence struct {
	*readings.Measurement
	Best      Best
	Specified model.Model
	Limits    limits.Limits
	LossAt    quantity.Length // of the insertion loss that is a key figure
	Smooth    quantity.Length // curves follow the readings no finer than this; 0: as fine as they show
	MaxGap    quantity.Length // widest spacing of readings in a band that is covered

	laid        []*sheet // curves through the readings, in rising order of temperature
	fringes     sync.Once
	period      quantity.Length
	fringeError error
}

// Best is what the selected model says of every observation.
type Best struct {
	Model         model.Model
	Pulls         readings.Pulls
	Values        []float64
	Transmissions []model.Transmission
}

// Decisions decides every limit, each with the budget of its figure, which is nil where no reading speaks for it.
func (e *Evidence) Decisions(ctx context.Context) ([]Decision, []*FigureBudget, error) {
	all, budgets := make([]Decision, len(e.Limits)), make([]*FigureBudget, len(e.Limits))
	if err := e.lay(ctx); err != nil {
		return nil, nil, err
	}
	err := parallel.Each(len(e.Limits), func(k int) error {
		l := e.Limits[k]
		d, of, b, err := e.decide(ctx, l)
		if err != nil {
			return fmt.Errorf("%s, %s: %w", l.Quantity.Extreme(), text.Condition(l), err)
		}
		all[k], budgets[k] = d, b
		return e.check(ctx, l, of, &all[k], b)
	})
	return all, budgets, err
}

// decide compares the figure of one limit with it: the extreme over the band where curves can be laid through the
// readings, else the worst reading, which speaks for itself only.
func (e *Evidence) decide(ctx context.Context, l limits.Limit) (Decision, *band, *FigureBudget, error) {
	rule := l.InForce()
	d := Decision{Decision: limits.Decision{Limit: l, Rule: rule, RuleText: rule.String(), Outcome: document.Undecided}}
	d.Covered, d.Uncovered = e.Covered(l, e.MaxGap)
	all := e.candidates(l)
	d.Count = len(all)
	if len(all) == 0 {
		return d, nil, nil, nil
	}
	raw := e.deciding(l, all)
	b := &band{candidate: raw}
	d.Statistic = fmt.Sprintf("raw %s of %d readings", extremeWord(l), len(all))
	if !raw.atLeast {
		of, err := e.over(ctx, l)
		if err != nil {
			return d, nil, nil, err
		}
		if of != nil {
			b, d.Continuous = of, true
			d.Statistic = fmt.Sprintf("%s over the band of a curve through the readings, %d of them in the band",
				extremeWord(l), len(all))
			if e.Smooth > 0 {
				d.Statistic += ", no finer than " + text.Nanometres(e.Smooth)
			}
		} else {
			if l.Low != l.High {
				d.Covered, d.Uncovered = false, join(d.Uncovered, "too few readings for a curve over the band")
			}
			if readings.ScaleOf(l.Quantity) == readings.Square {
				b.extreme = e.alone(raw)
				b.nonnegative(l.Quantity)
				b.value, _ = b.figure(l.Quantity)
			}
		}
	}
	d.Decided = true
	d.Line, d.Wavelength, d.Temperature = b.line, b.l, b.t
	d.AtLeast, d.Correction = b.atLeast, b.correction
	budget := e.budgetOf(l, b)
	figure := uncertainty.Estimate{Value: b.value, Standard: budget.Standard, DOF: budget.DOF}
	if b.atLeast && !b.stated {
		// The value is already a bound at 95 %: nothing is left to guard.
		figure.Standard = 0
	}
	d.Decision = limits.Decide(l, figure)
	if b.atLeast {
		d.Conformance = e.bounded(l, b.candidate)
	}
	d.Reserve = e.reserve(l, d, raw)
	d.settle()
	budget.Figure = fmt.Sprintf("%s, %s", l.Quantity.Extreme(), text.Condition(l))
	return d, b, budget, nil
}

// loneDraws settle an end of the interval of one reading to a tenth of its standard uncertainty.
const loneDraws = 400

// alone is the distribution of a PDL or DGD of which there is one reading, as its square, in rising order: of the
// length of a vector of which noise has made a longer one (uncertainty.Modulus), or of a square that is normally known
// where the share of noise is open and has a contribution of its own.
func (e *Evidence) alone(c candidate) []float64 {
	o := &e.Obs[c.obs]
	u := o.PointNoise(e.Budget)
	m := uncertainty.Isotropic(o.Read, u, 3)
	draws := make([]float64, loneDraws)
	for k := range draws {
		q := (float64(k) + 0.5) / loneDraws
		if o.Open > 0 {
			draws[k] = o.Value + o.Scale().Moved(u, o.Power)*distuv.UnitNormal.Quantile(q)
		} else {
			draws[k] = math.Pow(m.Quantile(q), 2)
		}
	}
	return draws
}

func extremeWord(l limits.Limit) string {
	if l.AtLeast {
		return "minimum"
	}
	return "maximum"
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

// Figure names what is compared with the limit: "minimum isolation".
func (d Decision) Figure() string { return d.Limit.Quantity.Extreme() }

// Condition words the limit's band and temperatures: "1535 nm to 1565 nm, 23 °C".
func (d Decision) Condition() string { return text.Condition(d.Limit) }

// worst returns the reading that speaks for the limit.
func worst(l limits.Limit, all []candidate) candidate {
	worst := all[0]
	for _, c := range all {
		if l.AtLeast && c.value < worst.value || !l.AtLeast && c.value > worst.value {
			worst = c
		}
	}
	return worst
}

// deciding returns the worst reading, and where that is a bound on the wrong side of the limit, which proves nothing,
// the worst of the others if it fails the limit all the same.
func (e *Evidence) deciding(l limits.Limit, all []candidate) candidate {
	c := worst(l, all)
	read := slices.DeleteFunc(slices.Clone(all), func(c candidate) bool { return c.atLeast })
	if !c.atLeast || len(read) == 0 {
		return c
	}
	r := worst(l, read)
	b := e.budgetOf(l, &band{candidate: r})
	if limits.Decide(l, uncertainty.Estimate{Value: r.value, Standard: b.Standard,
		DOF: b.DOF}).Outcome == document.Fail {
		return r
	}
	return c
}

// settle takes back what the figure alone cannot show.
func (d *Decision) settle() {
	proves := document.Pass // what a bound can prove
	if !d.Limit.AtLeast {
		proves = document.Fail
	}
	switch {
	case d.AtLeast && d.Outcome != proves:
		d.Outcome = document.Undecided // a bound on the wrong side of the limit proves nothing
	case d.Reserve != "" && d.Outcome == document.Pass:
		// What was not measured may be worse; but a reading that fails, fails.
		d.Outcome = document.Undecided
	}
}

// Question takes back what a limit on a level has proved if its figure may be off by so many dB more than its
// uncertainty says; why is put among what the figure does not show. Ratios of levels and delays are not off by it.
func (d *Decision) Question(astray float64, why string) {
	if !d.Decided || astray <= 0 || readings.ScaleOf(d.Limit.Quantity) == readings.Square ||
		math.Abs(d.Margin) > d.Expanded+astray {
		return
	}
	d.Outcome, d.Reserve = document.Undecided, join(d.Reserve, why)
}

// bounded returns the probability that the isolation of an "at least" reading keeps a limit: that its net power, near
// nothing and with a normal error, is below that of the limit. Power below nothing is counted as none.
func (e *Evidence) bounded(l limits.Limit, c candidate) float64 {
	low, high := math.Inf(-1), quantity.Ratio(c.correction-l.Value)
	if !l.AtLeast {
		low, high = high, math.Inf(1)
	}
	return uncertainty.Conformance(low, high, max(e.Values[c.obs], 0), e.Own.Standard(c.obs))
}

// reserve says why the worst reading does not speak for the whole limit.
func (e *Evidence) reserve(l limits.Limit, d Decision, raw candidate) string {
	var why []string
	if !d.Covered {
		why = append(why, "the readings do not cover the limit: "+d.Uncovered)
	}
	for _, u := range e.Doubts {
		if u.Covers(e.Measurement, l) {
			why = append(why, u.Sentence)
		}
	}
	if !e.Sought() && readings.Worst(l.Quantity) {
		why = append(why, "the source polarization does not find the worst case: the figure applies to one unknown "+
			"state only")
	}
	if l.Quantity.Reading() == limits.Isolation && e.Outlying.Has(raw.obs) {
		why = append(why, fmt.Sprintf("the worst reading, line %d, is an outlier", raw.line))
	}
	return strings.Join(why, "; ")
}

// candidates lists the readings a limit applies to, taken to the polarization that it is set on.
func (e *Evidence) candidates(l limits.Limit) []candidate {
	var all []candidate
	for _, i := range e.Within(l, l.Quantity.Reading()) {
		o := e.Obs[i]
		c := candidate{obs: i, line: e.Rows[o.Row].Line, l: o.Wavelength, t: o.Temperature,
			power: o.Power, run: o.Run}
		c.value, c.atLeast = e.Figure(i)
		if c.stated = o.Bound && o.Value > readings.Censoring*e.Own.Standard(i); c.stated {
			// with its uncertainty in the budget, as any reading
			c.value = o.Scale().Figure(o.Value)
		}
		if e.Sought() {
			c.correction = e.toPolarization(l.Quantity, i)
		}
		c.value += c.correction
		all = append(all, c)
	}
	return all
}

// toPolarization is what is added to a reading, in dB, to go from the polarization that it was taken in, the mean over
// all or the extreme, to that of a quantity: by the PDL read with it, where that is a forward one, or else by the
// model.
func (e *Evidence) toPolarization(q limits.Quantity, obs int) float64 {
	o := &e.Obs[obs]
	read := o.Quantity // as which quantity it was read
	switch {
	case o.Quantity == limits.Isolation && e.Scrambled:
		read = limits.IsolationMean
	case o.Quantity == limits.InsertionLoss && e.MeanLoss:
		read = limits.InsertionLossMean
	}
	if read == q || o.Quantity != limits.Isolation && o.Quantity != limits.InsertionLoss {
		return 0
	}
	var t model.Transmission
	if pdl := e.Rows[o.Row].Of(limits.PDL); pdl != nil && o.Quantity == limits.InsertionLoss {
		t = model.Transmission{T1: quantity.Ratio(pdl.Unbiased()), T2: 1}
	} else {
		t = predict.Lit(e.Best.Transmissions[obs])
	}
	return quantity.Decibels(ofPolarization(read, t) / ofPolarization(q, t))
}

// ofPolarization is the transmission that a quantity is the loss of.
func ofPolarization(q limits.Quantity, t model.Transmission) float64 {
	switch q {
	case limits.IsolationMean, limits.InsertionLossMean:
		return t.Mean()
	case limits.InsertionLoss:
		return t.T2
	}
	return t.T1
}

// Lopsided reports whether the interval that decides is not the figure plus and minus its expanded uncertainty, to the
// digits that are printed.
func (d Decision) Lopsided() bool {
	half := math.Pow(10, -float64(text.FigureDecimals(d.Limit.Quantity.Unit()))) / 2
	return !d.AtLeast && (math.Abs(d.High-d.Measured-d.Expanded) > half || math.Abs(d.Measured-d.Low-d.Expanded) > half)
}
