package recording

import (
	"math"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// Unit returns the record of a verification; m is the model as specified, nil where it is not at hand.
func Unit(v *verify.Result, m *stack.Stack) record.Unit {
	u := record.Unit{Unit: v.Unit, Lot: v.Lot, Condition: v.Condition, Input: v.File, Measured: measuredOn(v), Cautions: v.Cautions,
		Notes: v.Notes, Unused: v.Unused, Verdicts: verdicts(v)}
	for _, d := range v.Decisions {
		u.Limits = append(u.Limits, limitRecord(d))
	}
	for _, f := range v.Figures {
		u.Figures = append(u.Figures, figureRecord(f, v.Diagnosis.Fitted))
	}
	u.Joint = jointRecord(v)
	if m != nil {
		for _, p := range m.Parameters() {
			if p.Omitted {
				continue
			}
			u.Model = append(u.Model, parameterRecord(p.Path, p.Value))
		}
	}
	for _, r := range v.Runs {
		u.Sweeps = append(u.Sweeps, record.Sweep{Temperature: record.Condition(r.Temperature.Celsius()),
			Low:  record.Condition(nanometres(r.Low)),
			High: record.Condition(nanometres(r.High)),
			Counts: record.Counts{Isolations: r.Count[limits.Isolation], Losses: r.Count[limits.InsertionLoss],
				PDLs: r.Count[limits.PDL], DGDs: r.Count[limits.DGD], Returns: r.Count[limits.ReturnLoss],
				SlowLosses: r.Count[limits.InsertionLossSlow], FastLosses: r.Count[limits.InsertionLossFast],
				Extinctions: r.Count[limits.ExtinctionRatio]}})
	}
	u.Diagnosis = diagnosisRecord(v.Diagnosis)
	for _, o := range v.Outliers {
		u.Diagnosis.Outliers = append(u.Diagnosis.Outliers, record.Outlier{
			Line: o.Line, Wavelength: record.Decimal(nanometres(o.Wavelength), 3),
			Temperature: record.Decimal(o.Temperature.Celsius(), 2), Residual: record.Decimal(o.Off, 1),
		})
	}
	for _, b := range v.Budgets {
		u.Budgets = append(u.Budgets, budgetRecord(b))
	}
	for _, l := range v.Ledgers {
		u.Leaks = append(u.Leaks, leakRecord(l))
	}
	for _, c := range v.Checks {
		u.Checks = append(u.Checks, record.Check{Name: c.Name, Outcome: c.Outcome.String(), Finding: c.Sentence})
	}
	return u
}

// measuredOn is when a unit was measured, as its file states it.
func measuredOn(v *verify.Result) string {
	for _, m := range v.Meta {
		if strings.EqualFold(m[0], "measured") {
			return m[1]
		}
	}
	return ""
}

// verdicts returns the three judgements in the order in which they are always shown.
func verdicts(v *verify.Result) []record.Verdict {
	of := func(subject string, j verify.Verdict) record.Verdict {
		return record.Verdict{Subject: subject, Outcome: j.Outcome.String(), Sentence: j.Sentence}
	}
	return []record.Verdict{of("model agreement", v.Agreement), of("limit conformity", v.Conformity),
		of("data quality", v.Quality)}
}

// jointRecord is the joint test of the figures that do not follow from others; nil without any.
func jointRecord(v *verify.Result) *record.Joint {
	if v.Joint.Count == 0 {
		return nil
	}
	j := &record.Joint{Figures: v.Joint.Count, ChiSquared: record.Decimal(v.Joint.ChiSquared, 1),
		PValue: record.Probability(v.Joint.PValue)}
	for _, f := range v.Figures {
		if f.Determined {
			j.Of++
		}
	}
	return j
}

// parameterRecord prints a parameter as its author wrote it.
func parameterRecord(path string, q quantity.Quantity) record.Figure {
	f := record.Figure{Name: path, Unit: q.Unit.Symbol()}
	if !math.IsNaN(q.Value) && !math.IsInf(q.Value, 0) {
		number, _, _ := strings.Cut(q.String(), " ")
		f.Value = record.Number(number)
	}
	return f
}

func limitRecord(d verify.Decision) record.Limit {
	l := d.Limit
	unit := l.Quantity.Unit()
	n := func(v float64) record.Number { return record.InUnit(v, unit) }
	r := record.Limit{
		Quantity: string(l.Quantity), Rule: l.Side(), Limit: n(l.Value), Unit: unit, Over: d.Condition(),
		Outcome: d.Outcome.String(),
		Guard:   record.Exact(d.Rule.Guard), Decision: d.RuleText, Why: d.Reserve,
	}
	if !d.Decided {
		if !d.Covered {
			r.Why = "not covered by the data: " + d.Uncovered
		}
		return r
	}
	r.Statistic, r.Bound, r.Lopsided = d.Statistic, d.AtLeast, d.Lopsided()
	r.Measured = n(d.Measured)
	if !d.AtLeast || d.Expanded > 0 { // else it is a bound at 95 % already, of which nothing is left uncertain
		r.Uncertainty = n(d.Expanded)
	}
	r.GuardBand, r.Low, r.High = n(d.GuardBand), n(d.Low), bounded(d.High, unit)
	switch d.Outcome {
	case document.Pass:
		r.FalseAcceptance = record.Probability(d.FalseAcceptance())
	case document.Fail:
		r.FalseRejection = record.Probability(d.FalseRejection())
	}
	if d.Risk != nil {
		r.Risk = riskRecord(*d.Risk, unit)
	}
	if d.Reserve == "" || d.Outcome == document.Fail { // else the figure does not speak for the limit
		r.Margin, r.Conformance = n(d.Margin), record.Probability(d.Conformance)
	}
	return r
}

func riskRecord(k limits.Risk, unit string) *record.Risk {
	return &record.Risk{
		Prior: k.Prior.Name, Mean: record.InUnit(k.Prior.Mean, unit), Deviation: record.InUnit(k.Prior.Standard, unit),
		Conforming: record.Probability(k.Conforming), Posterior: record.Probability(k.Posterior),
		Consumer: record.Probability(k.Consumer), Producer: record.Probability(k.Producer),
		FalselyFailed: record.Probability(k.FalselyFailed),
	}
}

// bounded is the upper end of an isolation, none where the leak may be nothing at all.
func bounded(v float64, unit string) record.Number {
	if unit == "dB" && v >= verify.Most {
		return ""
	}
	return record.InUnit(v, unit)
}

func nanometres(l quantity.Length) float64 { return float64(l / quantity.Nanometre) }

// plain is a number of a condition in a text of the record.
func plain(v float64) string { return string(record.Condition(v)) }

func level(v float64) record.Number { return record.InUnit(v, "dB") }

func figureRecord(f verify.Figure, fitted bool) record.Compared {
	decimals := record.Decimals(f.Unit)
	n := func(v float64) record.Number { return record.Decimal(v, decimals) }
	model := func(c verify.FigureComparison) record.Model {
		return record.Model{
			Interval:        record.Interval{Value: n(c.Value), Low: n(c.Low), High: n(c.High)},
			NormalizedError: level(c.En),
		}
	}
	r := record.Compared{Name: f.Name, At: f.Condition, Unit: f.Unit}
	if !f.Determined {
		r.Why = f.Why
		return r
	}
	r.Measured = record.Interval{Value: n(f.Measured), Low: n(f.Low), High: n(f.High)}
	r.Specified = model(f.Specified)
	if fitted {
		m := model(f.Diagnosed)
		r.Diagnosed = &m
	}
	return r
}

func diagnosisRecord(d verify.Diagnosis) record.Diagnosis {
	r := record.Diagnosis{Sentence: d.Sentence, Note: d.Note, Causes: d.Causes, Gross: d.Gross}
	if d.Correction != nil {
		r.Correction = correctionRecord(*d.Correction)
	}
	for _, p := range d.Departures {
		r.Fitted = append(r.Fitted, Fitted(p))
	}
	for i, e := range d.Explanations {
		r.Explanations = append(r.Explanations, record.Explanation{
			Label: e.Label, ChiSquared: record.Decimal(e.ChiSquared, 1), DOF: e.DOF,
			PValue: record.Probability(e.PValue),
			AICc:   record.Decimal(e.AICc, 1), Above: record.Decimal(e.Delta, 1), Gross: e.Gross, Selected: d.Fitted &&
				i == d.Best,
		})
	}
	return r
}

// correctionRecord rounds as the sentence does.
func correctionRecord(c verify.Correction) *record.Correction {
	n := c.Decimals()
	r := &record.Correction{
		Part: c.Part, Parameter: c.Path, Unit: c.Turn.Unit.Symbol(),
		Turn: record.Decimal(c.Turn.Value, n), Uncertainty: record.Decimal(c.U, n), Cost: record.Decimal(c.Cost(), 3),
	}
	for _, g := range c.Gains {
		r.Gains = append(r.Gains, record.Gain{At: g.Condition, Before: level(g.Before), After: level(g.After)})
	}
	return r
}

// Fitted returns the record of a fitted parameter.
func Fitted(p verify.Departure) record.Fitted {
	decimals := p.Decimals()
	n := func(v float64) record.Number { return record.Decimal(v, decimals) }
	r := record.Fitted{
		Name: p.Path, Unit: p.Unit.Symbol(), Explanation: p.Freed,
		Value: n(p.Value), Low: n(p.Low), High: n(p.High),
		Departure: n(p.Departure), Uncertainty: n(p.U), Within: p.Within.String(),
	}
	if q, err := p.Nominal.In(p.Unit); err == nil {
		r.Specified = n(q.Value)
	}
	if p.AtLeast { // no upper end, and no departure that means anything
		r.High, r.Departure, r.Uncertainty = "", "", ""
	}
	if p.Tolerance > 0 {
		r.Tolerance = record.Decimal(p.Tolerance, p.ToleranceDecimals())
	}
	var notes []string
	if p.Indeterminate {
		notes = append(notes, "the data does not depend on it")
	}
	if p.Combination != "" {
		notes = append(notes, "the data fixes "+p.Combination+" only")
	}
	if len(p.Alike) > 0 {
		paths := make([]string, len(p.Alike))
		for i, a := range p.Alike {
			paths[i] = a.Path
		}
		notes = append(notes, "this data cannot tell it from "+strings.Join(paths, ", "))
	}
	r.Note = strings.Join(notes, "; ")
	return r
}

// budgetRecord gives contributions one decimal more than the figure has: what is small in each adds up.
func budgetRecord(b verify.FigureBudget) record.Budget {
	decimals := record.Decimals(b.Unit)
	n := func(v float64) record.Number { return record.Decimal(v, decimals+1) }
	r := record.Budget{Figure: b.Figure, Unit: b.Unit, Standard: n(b.Standard), K: level(b.K),
		Expanded: record.Decimal(b.Expanded, decimals)}
	if b.DOF > 0 {
		r.DOF = record.Decimal(b.DOF, 1)
	}
	if m := b.MonteCarlo; m.Trials > 0 {
		r.MonteCarlo = &record.MonteCarlo{
			Low: record.Decimal(m.Low, decimals), High: bounded(m.High, b.Unit), LinearLow: record.Decimal(m.LinearLow,
				decimals), LinearHigh: record.Decimal(m.LinearHigh, decimals),
			Tolerance: record.Exact(m.Tolerance), Trials: m.Trials, Agrees: m.Agrees,
		}
	}
	for _, l := range b.Lines {
		r.Contributions = append(r.Contributions, record.Contribution{
			Name: l.Name, Value: l.Value.String(), Distribution: string(l.Distribution),
			Divisor: record.Decimal(l.Divisor, record.Ratio),
			Shared:  string(l.Shared), Standard: n(l.Contribution), Sensitivity: record.Decimal(l.Sensitivity,
				record.Ratio),
		})
		if l.DOF > 0 {
			r.Contributions[len(r.Contributions)-1].DOF = record.Decimal(l.DOF, 1)
		}
	}
	return r
}
