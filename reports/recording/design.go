package recording

import (
	"math"

	"wedgework/reports/record"
	"wedgework/reports/review"
	"wedgework/reports/verify/text"
)

// Design returns the record of a design review.
func Design(r *review.Result) record.Design {
	d := record.Design{Design: r.Name, Limits: []record.DesignLimit{}, Cautions: r.Cautions}
	add := func(subject string, v review.Verdict) {
		d.Verdicts = append(d.Verdicts, record.Verdict{Subject: subject, Outcome: v.Outcome.String(),
			Sentence: v.Sentence})
	}
	add("design conformity", r.Conformity)
	if r.Enough != nil {
		add("yield", *r.Enough)
	}
	for i, f := range r.Figures {
		d.Limits = append(d.Limits, designLimit(f))
		if y := r.Yield; y != nil {
			d.Limits[i].Yield = record.Decimal(float64(y.Each[i])/float64(y.Units), record.Ratio)
		}
	}
	if y := r.Yield; y != nil {
		d.Yield = &record.Yield{Units: y.Units, Good: y.Good, Low: record.Decimal(y.Low, record.Ratio),
			High: record.Decimal(y.High, record.Ratio), Seed: int(y.Seed), Each: y.How, Tolerances: []record.Field{}}
		if y.Least > 0 {
			d.Yield.Required = record.Decimal(y.Least, record.Ratio)
		}
		for _, t := range y.Tolerances {
			d.Yield.Tolerances = append(d.Yield.Tolerances, record.Field{Name: t.Path, Value: t.Text})
		}
	}
	for _, p := range r.Stack.Parameters() {
		if p.Omitted {
			continue
		}
		d.Model = append(d.Model, parameterRecord(p.Path, p.Value))
	}
	return d
}

func designLimit(f review.Figure) record.DesignLimit {
	l := f.Limit
	unit := l.Quantity.Unit()
	d := record.DesignLimit{Quantity: string(l.Quantity), Rule: l.Side(), Limit: record.InUnit(l.Value, unit),
		Unit: unit, Over: text.Condition(l), Computed: record.InUnit(f.Value, unit),
		Margin:      record.InUnit(f.Margin, unit),
		Wavelength:  record.Condition(nanometres(f.Wavelength)),
		Temperature: record.Condition(f.Temperature.Celsius()), Port: f.Port, Outcome: f.Outcome.String(), Why: f.Why}
	if math.Abs(f.Margin) > 0 && d.Margin.Float() == 0 { // never a margin of the other sign than the outcome has
		d.Margin = record.Exact(math.Copysign(math.Pow(10, -float64(record.Decimals(unit))), f.Margin))
	}
	return d
}
