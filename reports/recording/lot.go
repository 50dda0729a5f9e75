package recording

import (
	"math"

	"wedgework/reports/lot"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
	"wedgework/reports/verify"
)

// Studies returns what the units of each lot of a run show together.
func Studies(o *rerun.Outcome) []lot.Study {
	results := make([]*verify.Result, len(o.Verified))
	for i, v := range o.Verified {
		results[i] = v.Result
	}
	return lot.Studies(results, lot.How{Coverage: lot.Usual, Retest: lot.Retest(o.Retest)})
}

// Lot returns the record of a study.
func Lot(s lot.Study) record.Lot {
	l := record.Lot{Lot: s.Lot, Sentence: s.Sentence(), Order: s.Order.Words(), Retested: s.Retested,
		Proportion: record.Decimal(s.Coverage.Proportion, record.Ratio),
		Confidence: record.Decimal(s.Coverage.Confidence, record.Ratio)}
	for _, u := range s.Units {
		r := record.LotUnit{Unit: u.Name, Causes: u.Causes}
		for _, v := range u.Verdicts {
			r.Verdicts = append(r.Verdicts, v.String())
		}
		l.Units = append(l.Units, r)
	}
	for _, c := range s.Characteristics {
		l.Characteristics = append(l.Characteristics, characteristicRecord(c))
		if !c.Stable() {
			l.Unstable = append(l.Unstable, c.Called())
		}
	}
	return l
}

// characteristicRecord gives statistics one decimal more than the values have: they are means of many, or differences.
func characteristicRecord(c lot.Characteristic) record.Characteristic {
	decimals := c.Decimals()
	v := func(x float64) record.Number { return record.Decimal(x, decimals) }
	fine := func(x float64) record.Number { return record.Decimal(x, decimals+1) }
	r := record.Characteristic{Kind: string(c.Kind), Name: c.Name, At: c.Condition, Unit: c.Unit,
		Units: append([]string{}, c.Units...), Values: []record.Number{}, Bounded: c.Bounded, Missing: c.Missing}
	if c.Limit != nil {
		r.Rule, r.Limit, r.Keeps = "at most", v(c.Limit.Value), c.Keeps.String()
		if c.Limit.AtLeast {
			r.Rule = "at least"
		}
	}
	for _, x := range c.Values {
		r.Values = append(r.Values, v(x))
	}
	if len(c.Values) == 0 {
		return r
	}
	r.Mean, r.Least, r.Greatest = v(c.Mean), v(c.Least), v(c.Greatest)
	if t := c.Interval; t.K > 0 {
		r.Deviation, r.Measurement = fine(c.Deviation), record.Decimal(c.Measurement, 2)
		r.Tolerance = record.LotInterval{K: record.Decimal(t.K, record.Ratio),
			FreeProportion: record.Decimal(t.FreeProportion, record.Ratio), FreeSize: t.FreeSize}
		if t.Sides != lot.Upper {
			r.Tolerance.Low = v(t.Low)
		}
		if t.Sides != lot.Lower {
			r.Tolerance.High = v(t.High)
		}
	}
	if h := c.Chart; h != nil {
		r.Chart = &record.Chart{Centre: v(h.Centre), Lower: v(h.Lower), Upper: v(h.Upper), MeanRange: fine(h.MeanRange),
			UpperRange: fine(h.UpperRange), Trial: h.Trial}
		r.Chart.Signals = h.Words(c.Units)
	}
	if t := c.Trend; t != nil {
		n := decimals + 1
		if t.U > 0 { // two digits of its uncertainty
			n = min(max(1-int(math.Floor(math.Log10(t.U))), 0), 9)
		}
		r.Trend = &record.Trend{Slope: record.Decimal(t.Slope, n), Uncertainty: record.Decimal(t.U, n),
			PValue: record.Probability(t.PValue), Significant: t.Significant()}
	}
	return r
}
