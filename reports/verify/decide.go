package verify

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// temperatureMargin is how far from a limit's temperatures a run may lie and still stand for them, in
// kelvin: what a chamber is off.
const temperatureMargin = 1.0

// correctionName is how a budget calls the way from a mean over polarization to its worst state.
const correctionName = "polarization correction"

// candidate is one reading a limit applies to, in dB for the worst polarization.
type candidate struct {
	obs        int // index of the observation; of the row for PDL
	line       int
	l          quantity.Length
	t          quantity.Temperature
	value      float64
	correction float64
	atLeast    bool    // value is a bound: one at 95 % where the power drowns, and the file's own where it states one
	stated     bool    // the file's
	gross      float64 // leak power behind value, the floor included; backward only
	window     window  // the readings that value is made of
}

// decide holds the data against one limit.
func (x *examiner) decide(k int, l limits.Limit) (Decision, *FigureBudget) {
	rule := l.InForce()
	d := Decision{Decision: limits.Decision{Limit: l, Rule: rule, RuleText: rule.String(), Outcome: document.Undecided}}
	d.Covered, d.Uncovered = x.covered(l)
	all := x.candidates(l)
	d.Count = len(all)
	word := "maximum"
	if l.AtLeast {
		word = "minimum"
	}
	d.Statistic = fmt.Sprintf("raw %s of %d readings", word, len(all))
	if x.smooths(l) {
		d.Statistic = fmt.Sprintf("%s of %d readings smoothed by parabolas over %s to either side", word, len(all), nanometres(x.spec.Smooth))
	}
	if len(all) == 0 {
		return d, nil
	}
	worst := x.deciding(l, all)
	d.Decided = true
	d.Line, d.Wavelength, d.Temperature = worst.line, worst.l, worst.t
	d.AtLeast, d.Correction = worst.atLeast, worst.correction
	budget := x.budget(l, worst)
	figure := uncertainty.Estimate{Value: worst.value, Standard: budget.Standard, DOF: budget.DOF}
	if worst.atLeast && !worst.stated {
		// The value is already a bound at 95 %: nothing is left to guard.
		figure.Standard = 0
	}
	d.Decision = limits.Decide(l, figure)
	if worst.atLeast {
		d.Conformance = x.bounded(l, worst)
	}
	d.Bias = x.bias(l, all)
	d.Reserve = x.reserve(l, d)
	d.settle()
	budget.Figure = fmt.Sprintf("%s, %s", name(l.Quantity), condition(l))
	return d, budget
}

// Figure names what is held against the limit: "least isolation".
func (d Decision) Figure() string { return name(d.Limit.Quantity) }

// Condition words the limit's band and temperatures: "1535 nm to 1565 nm, 23 °C".
func (d Decision) Condition() string { return condition(d.Limit) }

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
func (x *examiner) deciding(l limits.Limit, all []candidate) candidate {
	c := worst(l, all)
	read := slices.DeleteFunc(slices.Clone(all), func(c candidate) bool { return c.atLeast })
	if !c.atLeast || len(read) == 0 {
		return c
	}
	r := worst(l, read)
	b := x.budget(l, r)
	if limits.Decide(l, uncertainty.Estimate{Value: r.value, Standard: b.Standard, DOF: b.DOF}).Outcome == document.Fail {
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

// bounded returns the probability that the isolation of an "at least" reading keeps a limit: that its net power, near
// nothing and with a normal error, is below that of the limit. Power below nothing is counted as none.
func (x *examiner) bounded(l limits.Limit, c candidate) float64 {
	low, high := math.Inf(-1), quantity.Ratio(c.correction-l.Value)
	if !l.AtLeast {
		low, high = high, math.Inf(1)
	}
	return uncertainty.Conformance(low, high, max(x.value[c.obs], 0), x.own.Standard(c.obs))
}

// reserve says why the worst reading does not speak for the whole limit.
func (x *examiner) reserve(l limits.Limit, d Decision) string {
	var why []string
	if !d.Covered {
		why = append(why, "not covered by the data: "+d.Uncovered)
	}
	if !x.sought() && l.Quantity != limits.PDL {
		why = append(why, "the polarization of the source was not one that finds the worst: the figure is what some state showed")
	}
	for _, i := range x.left() {
		if l.Quantity == limits.Isolation && x.d.Rows[x.d.obs[i].row].Line == d.Line {
			why = append(why, fmt.Sprintf("the reading that decides, line %d, parts with all others", d.Line))
		}
	}
	return strings.Join(why, "; ")
}

// sought reports whether the readings say what the worst polarization does: extremes, or means that can be taken there.
// A reading in one state of unknown polarization only bounds it.
func (x *examiner) sought() bool {
	return x.d.Polarization == MinMax || x.d.Polarization == Scrambled
}

func name(q string) string {
	switch q {
	case limits.Isolation:
		return "least isolation"
	case limits.InsertionLoss:
		return "greatest insertion loss"
	}
	return "greatest PDL"
}

// candidates lists the readings a limit applies to. Limits are on the worst polarization; a mean over
// polarization is taken there by the PDL read with it, or else by the model.
func (x *examiner) candidates(l limits.Limit) []candidate {
	var all []candidate
	if l.Quantity == limits.PDL {
		for i, r := range x.d.Rows {
			if !math.IsNaN(r.PDL) && l.Covers(r.Wavelength, r.Temperature, temperatureMargin) {
				all = append(all, candidate{obs: i, line: r.Line, l: r.Wavelength, t: r.Temperature, value: r.PDL})
			}
		}
		return all
	}
	for _, i := range x.within(l, l.Quantity == limits.Isolation) {
		o := x.d.obs[i]
		c := candidate{obs: i, line: x.d.Rows[o.row].Line, l: o.l, t: o.t, value: o.value, gross: o.gross, window: x.window(i)}
		if o.backward {
			c.value, c.atLeast = x.isolation(i)
			if c.stated = o.bound && o.value > censoring*x.own.Standard(i); c.stated {
				c.value = decibels(sqrt(o.value)) // with its uncertainty in the budget, as any reading
			}
			if len(c.window.at) > 1 {
				c.value = c.window.of(func(k int) float64 { v, _ := x.isolation(k); return v })
				c.gross = quantity.Ratio(-c.value) + o.gross - o.value
			}
			if x.d.scrambled && x.sought() {
				t := x.bestTransmissions[i]
				c.correction = -quantity.Decibels(t.T1 / t.Mean())
			}
		} else if c.value = c.window.of(func(k int) float64 { return x.d.obs[k].value }); x.d.scrambled && x.sought() {
			if pdl := x.d.Rows[o.row].PDL; !math.IsNaN(pdl) {
				c.correction = quantity.Decibels((1 + quantity.Ratio(math.Abs(pdl))) / 2)
			} else {
				t := x.bestTransmissions[i]
				c.correction = quantity.Decibels(t.Mean() / t.T2)
			}
		}
		c.value += c.correction
		all = append(all, c)
	}
	return all
}

// isolation returns the net isolation of a backward observation in dB; for an "at least" reading the
// least that it proves at one-sided 95 %.
func (x *examiner) isolation(i int) (dB float64, atLeast bool) {
	p := x.value[i]
	if x.censored[i] {
		return decibels(math.Sqrt(max(p, 0) + oneSided*x.own.Standard(i))), true
	}
	return decibels(math.Sqrt(p)), false
}

// smooths reports whether a limit's readings are smoothed before their extreme is taken.
func (x *examiner) smooths(l limits.Limit) bool { return x.spec.Smooth > 0 && l.Quantity != limits.PDL }

// bias of the extreme, in dB.
func (x *examiner) bias(l limits.Limit, all []candidate) float64 {
	if l.Quantity == limits.PDL {
		return 0 // the model's PDL is not a curve to lay noise on
	}
	at := make([]int, len(all))
	for k, c := range all {
		at[k] = c.obs
	}
	if x.smooths(l) {
		return x.smoothedBias(l, all)
	}
	if l.Quantity == limits.Isolation {
		if !l.AtLeast {
			return 0
		}
		return x.minimumBias(at)
	}
	// The greatest loss is the least of the negatives.
	values, u := make([]float64, len(at)), make([]float64, len(at))
	least := math.Inf(1)
	for k, i := range at {
		values[k], u[k] = -x.best[i], x.own.Point(i)
		least = min(least, values[k])
	}
	return least - uncertainty.ExpectedMinimum(values, u)
}

// budget states the uncertainty of one reading in dB, line by line.
func (x *examiner) budget(l limits.Limit, c candidate) *FigureBudget {
	b := &FigureBudget{Unit: "dB"}
	var u, dof []float64
	add := func(line BudgetLine) {
		if line.Contribution == 0 {
			return
		}
		b.Lines = append(b.Lines, line)
		u, dof = append(u, line.Contribution), append(dof, line.DOF)
	}
	dB := quantity.MustNamed("dB")
	if l.Quantity == limits.PDL {
		x.pdlBudget(c, add)
	} else {
		perValue := 1.0
		if x.d.obs[c.obs].backward {
			perValue = 1 / (max(x.value[c.obs], x.own.Standard(c.obs)) * perDecibel)
		}
		for _, t := range x.terms {
			if t.model {
				continue
			}
			line := BudgetLine{Name: t.name, Value: t.value, Distribution: t.distribution, Divisor: t.divisor,
				Contribution: math.Abs(t.u[c.obs]) * perValue, DOF: t.dof, Shared: t.shared}
			if t.standard == 0 { // stated reading by reading
				o := x.d.obs[c.obs]
				line.Value = quantity.Attach(o.column, dB)
				if d := t.value.Dimension(); d != quantity.OfLevel {
					line.Value = quantity.Attach(x.d.Rows[o.row].abscissa(d)/perUnit(t.value.Unit), t.value.Unit)
				}
				line.Standard = line.Value.Value
			} else {
				line.Standard = t.standard / perUnit(t.value.Unit)
			}
			if t.shared == uncertainty.ByPoint {
				line.Contribution *= c.window.noise()
			}
			if line.Standard > 0 {
				line.Sensitivity = line.Contribution / line.Standard
			}
			add(line)
		}
	}
	if c.correction != 0 {
		half := math.Abs(c.correction)
		add(BudgetLine{Name: correctionName, Value: quantity.Attach(half, dB), Distribution: uncertainty.Rectangular,
			Divisor: math.Sqrt(3), Standard: half / math.Sqrt(3), Sensitivity: 1, Contribution: half / math.Sqrt(3), Shared: uncertainty.ByPoint})
	}
	sum := 0.0
	for _, v := range u {
		sum += v * v
	}
	b.Standard, b.DOF = math.Sqrt(sum), uncertainty.WelchSatterthwaite(u, dof)
	b.Expanded, b.K = uncertainty.Estimate{Standard: b.Standard, DOF: b.DOF}.Expanded()
	for i := range b.Lines {
		b.Lines[i].Share = u[i] * u[i] / sum
	}
	return b
}

// pdlBudget takes the file's own uncertainty, or twice the point-wise variance of a level: PDL is the
// difference of two, in which everything shared by both cancels.
func (x *examiner) pdlBudget(c candidate, add func(BudgetLine)) {
	if u := x.d.Rows[c.obs].UPDL; !math.IsNaN(u) {
		add(BudgetLine{Name: "stated in the file", Value: quantity.Of(u, "dB"), Distribution: uncertainty.Normal, Divisor: 1,
			Standard: u, Sensitivity: 1, Contribution: u, Shared: uncertainty.ByPoint})
		return
	}
	for _, t := range x.terms {
		if !t.model && t.shared == uncertainty.ByPoint && t.standard > 0 && t.value.Dimension() == quantity.OfLevel {
			add(BudgetLine{Name: t.name, Value: t.value, Distribution: t.distribution, Divisor: t.divisor, Standard: t.standard,
				Sensitivity: math.Sqrt2, Contribution: math.Sqrt2 * t.standard, DOF: t.dof, Shared: t.shared})
		}
	}
}
