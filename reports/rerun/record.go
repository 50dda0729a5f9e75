package rerun

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/measured"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// otherDecimals are those of plain numbers: probabilities and divisors. Figures and parameters are rounded as
// reports/verify says.
const otherDecimals = 3

// Record returns the record of the outcome. A file that is no table of readings is recorded without rows.
func (o *Outcome) Record(program record.Program, source record.Source) *record.Record {
	r := &record.Record{Program: program, Header: o.Header, Notebook: source, Cautions: o.Warnings}
	for _, c := range o.Constants {
		r.Constants = append(r.Constants, Source(c))
	}
	for _, in := range o.Inputs {
		for _, f := range in.Files {
			r.Inputs = append(r.Inputs, inputRecords(in, f)...)
		}
	}
	for _, s := range o.Settings {
		r.Settings = append(r.Settings, record.Setting(s))
	}
	for _, v := range o.Verified {
		r.Units = append(r.Units, unitRecord(v))
	}
	for _, s := range o.Studies() {
		r.Lots = append(r.Lots, LotRecord(s))
	}
	return r
}

// Source is what the record says of a file.
func Source(f measured.File) record.Source {
	return record.Source{Name: f.Name, SHA256: f.SHA256, Bytes: len(f.Data)}
}

// inputRecords are those of one file: one for each sheet that was read, one for a file that no word took for
// readings.
func inputRecords(in Input, f measured.File) []record.Input {
	bare := record.Input{Name: in.Name, File: record.Source{Name: f.Name, SHA256: f.SHA256, Bytes: len(f.Data)}}
	var all []record.Input
	for _, t := range in.tables() {
		if t.File.SHA256 != f.SHA256 || t.File.Name != f.Name {
			continue
		}
		r := bare
		r.Sheet, r.Rows, r.Unit, r.Lot, r.Unused = t.Sheet, t.Rows(), t.Unit(), t.Lot(), t.Unknown
		for _, remark := range t.Remarks {
			r.Remarks = append(r.Remarks, remark.Text)
		}
		for _, kv := range t.Meta {
			r.Meta = append(r.Meta, record.Field{Name: kv.Key, Value: kv.Value})
		}
		all = append(all, r)
	}
	if all == nil {
		return []record.Input{bare}
	}
	return all
}

func unitRecord(verified Verification) record.Unit {
	v := verified.Result
	u := record.Unit{Unit: v.Unit, Lot: v.Lot, Input: v.File, Cautions: v.Cautions, Notes: v.Notes}
	for _, j := range Verdicts(v) {
		u.Verdicts = append(u.Verdicts, record.Verdict{Subject: j.Subject, Outcome: j.Outcome.String(), Sentence: j.Sentence})
	}
	for _, d := range v.Decisions {
		u.Limits = append(u.Limits, limitRecord(d))
	}
	for _, f := range v.Figures {
		u.Figures = append(u.Figures, figureRecord(f, v.Diagnosis.Fitted))
	}
	if verified.Model != nil {
		for _, p := range verified.Model.Parameters() {
			u.Model = append(u.Model, parameterRecord(p.Path, p.Value))
		}
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

// Verdicts returns the three judgements of a result in the order in which they are always shown.
func Verdicts(v *verify.Result) []document.Verdict {
	return []document.Verdict{
		{Subject: "model agreement", Outcome: v.Agreement.Outcome, Sentence: v.Agreement.Sentence},
		{Subject: "limit conformity", Outcome: v.Conformity.Outcome, Sentence: v.Conformity.Sentence},
		{Subject: "data quality", Outcome: v.Quality.Outcome, Sentence: v.Quality.Sentence},
	}
}

// Pass tells whether every verdict of every verification is a pass; undecided and not examined are none.
func Pass(verified []Verification) bool {
	for _, v := range verified {
		for _, j := range Verdicts(v.Result) {
			if j.Outcome != document.Pass {
				return false
			}
		}
	}
	return true
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
	r := record.Limit{
		Quantity: l.Quantity, Rule: "at most", Limit: level(l.Value), Unit: "dB",
		Over:    span(nanometres(l.Low), nanometres(l.High), "nm") + ", " + span(l.TemperatureLow.Celsius(), l.TemperatureHigh.Celsius(), "°C"),
		Outcome: d.Outcome.String(),
	}
	if l.AtLeast {
		r.Rule = "at least"
	}
	r.Why = d.Reserve
	if !d.Decided {
		if !d.Covered {
			r.Why = "not covered by the data: " + d.Uncovered
		}
		return r
	}
	r.Statistic = d.Statistic
	r.Measured = level(d.Measured)
	r.Uncertainty, r.GuardBand, r.Guard = level(d.Expanded), level(d.GuardBand), record.Number(fmt.Sprint(d.Rule.Guard))
	r.Low, r.High = level(d.Low), bounded(d.High)
	switch d.Outcome {
	case document.Pass:
		r.FalseAcceptance = probability(d.FalseAcceptance())
	case document.Fail:
		r.FalseRejection = probability(d.FalseRejection())
	}
	if k := d.Risk; k != nil {
		r.Risk = &record.Risk{
			Prior: k.Prior.Name, Mean: level(k.Prior.Mean), Deviation: level(k.Prior.Standard),
			Conforming: probability(k.Conforming), Posterior: probability(k.Posterior),
			Consumer: probability(k.Consumer), Producer: probability(k.Producer), FalselyFailed: probability(k.FalselyFailed),
		}
	}
	if d.Reserve == "" || d.Outcome == document.Fail { // else the figure does not speak for the limit
		r.Margin, r.Conformance = level(d.Margin), probability(d.Conformance)
	}
	return r
}

// bounded is the upper end of an isolation, none where the leak may be nothing at all.
func bounded(v float64) record.Number {
	if v >= verify.Most {
		return ""
	}
	return level(v)
}

// probability prints a chance, never nearer to certainty than a model of the errors can be: one in a million (a choice).
func probability(p float64) record.Number {
	const sure = 1e-6
	return record.Decimal(min(max(p, sure), 1-sure), 6)
}

func nanometres(l quantity.Length) float64 { return float64(l / quantity.Nanometre) }

// span words a range in a unit: "23 °C", "1535 nm to 1565 nm".
func span(low, high float64, unit string) string {
	a, b := short(low), short(high)
	if a == b {
		return a + " " + unit
	}
	return a + " " + unit + " to " + b + " " + unit
}

// short prints a number with three decimals at most and no trailing zeros.
func short(v float64) string {
	s := strings.TrimRight(fmt.Sprintf("%.3f", v), "0")
	if s = strings.TrimSuffix(s, "."); s == "-0" {
		return "0"
	}
	return s
}

func level(v float64) record.Number { return record.Decimal(v, verify.FigureDecimals("dB")) }

func figureRecord(f verify.Figure, fitted bool) record.Compared {
	decimals := verify.FigureDecimals(f.Unit)
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
		r.Fitted = append(r.Fitted, fittedRecord(p))
	}
	for _, e := range d.Explanations {
		r.Explanations = append(r.Explanations, record.Explanation{
			Label: e.Label, ChiSquared: record.Decimal(e.ChiSquared, 1), DOF: e.DOF, PValue: probability(e.PValue),
			AICc: record.Decimal(e.AICc, 1), Above: record.Decimal(e.Delta, 1), Gross: e.Gross,
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

func fittedRecord(p verify.Departure) record.Fitted {
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
	decimals := verify.FigureDecimals(b.Unit)
	n := func(v float64) record.Number { return record.Decimal(v, decimals+1) }
	r := record.Budget{Figure: b.Figure, Unit: b.Unit, Standard: n(b.Standard), K: level(b.K), Expanded: record.Decimal(b.Expanded, decimals)}
	if b.DOF > 0 {
		r.DOF = record.Decimal(b.DOF, 1)
	}
	if m := b.MonteCarlo; m.Trials > 0 {
		r.MonteCarlo = &record.MonteCarlo{
			Low: record.Decimal(m.Low, decimals), High: bounded(m.High), LinearLow: record.Decimal(m.LinearLow, decimals), LinearHigh: record.Decimal(m.LinearHigh, decimals),
			Tolerance: record.Number(strconv.FormatFloat(m.Tolerance, 'f', -1, 64)), Trials: m.Trials, Agrees: m.Agrees,
		}
	}
	for _, l := range b.Lines {
		r.Contributions = append(r.Contributions, record.Contribution{
			Name: l.Name, Value: l.Value.String(), Distribution: string(l.Distribution), Divisor: record.Decimal(l.Divisor, otherDecimals),
			Shared: string(l.Shared), Standard: n(l.Contribution), Sensitivity: record.Decimal(l.Sensitivity, otherDecimals),
		})
		if l.DOF > 0 {
			r.Contributions[len(r.Contributions)-1].DOF = record.Decimal(l.DOF, 1)
		}
	}
	return r
}
