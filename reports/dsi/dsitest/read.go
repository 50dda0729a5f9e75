// Package dsitest reads measurement records of package dsi back, for the tests that hold them against the record they
// were made of.
package dsitest

import (
	"encoding/xml"
	"fmt"

	"wedgework/reports/record"
)

// real is what is read of an element si:real.
type real struct {
	Value string `xml:"https://ptb.de/si value"`
	MU    struct {
		Expanded struct {
			U string `xml:"https://ptb.de/si valueExpandedMU"`
		} `xml:"https://ptb.de/si expandedMU"`
	} `xml:"https://ptb.de/si measurementUncertaintyUnivariate"`
}

type quantities []struct {
	Role string `xml:"role,attr"`
	Real real   `xml:"https://ptb.de/si real"`
}

// of is the number in a role, "" for none.
func (q quantities) of(role string) record.Number {
	for _, x := range q {
		if x.Role == role {
			return record.Number(x.Real.Value)
		}
	}
	return ""
}

func (q quantities) interval(role string) record.Interval {
	return record.Interval{Value: q.of(role), Low: q.of(role + "Low"), High: q.of(role + "High")}
}

// uncertainty is that of the measured figure, or the one that stands by itself.
func (q quantities) uncertainty() record.Number {
	for _, x := range q {
		if x.Role == "measured" && x.Real.MU.Expanded.U != "" {
			return record.Number(x.Real.MU.Expanded.U)
		}
	}
	return q.of("uncertainty")
}

type file struct {
	XMLName xml.Name `xml:"urn:wedgework:measurement-record:1 measurementRecord"`
	Units   []struct {
		Serial   string `xml:"serial,attr"`
		Lot      string `xml:"lot,attr"`
		Measured string `xml:"measured,attr"`
		Input    string `xml:"input,attr"`
		Verdicts []struct {
			Subject  string `xml:"subject,attr"`
			Outcome  string `xml:"outcome,attr"`
			Sentence string `xml:",chardata"`
		} `xml:"verdict"`
		Conformity []struct {
			Quantity  string     `xml:"quantity,attr"`
			Rule      string     `xml:"rule,attr"`
			Over      string     `xml:"over,attr"`
			Unit      string     `xml:"unit,attr"`
			Outcome   string     `xml:"outcome,attr"`
			Bound     bool       `xml:"bound,attr"`
			Lopsided  bool       `xml:"lopsided,attr"`
			Statistic string     `xml:"statistic"`
			Decision  string     `xml:"decisionRule"`
			Why       string     `xml:"why"`
			All       quantities `xml:"quantity"`
		} `xml:"conformity"`
		Figures []struct {
			Name   string     `xml:"name,attr"`
			At     string     `xml:"at,attr"`
			Unit   string     `xml:"unit,attr"`
			Fitted bool       `xml:"fitted,attr"`
			Why    string     `xml:"why"`
			All    quantities `xml:"quantity"`
		} `xml:"keyFigure"`
		Parameters []struct {
			Name        string     `xml:"name,attr"`
			Unit        string     `xml:"unit,attr"`
			Within      string     `xml:"within,attr"`
			Explanation string     `xml:"explanation,attr"`
			Note        string     `xml:"note"`
			All         quantities `xml:"quantity"`
		} `xml:"parameter"`
	} `xml:"unit"`
}

// Read returns the units of a file that dsi.Write has written, with what it carries of them: identity, verdicts, limits
// without risks under a prior, key figures, fitted parameters. Digits are those of the record.
func Read(data []byte) ([]record.Unit, error) {
	var f file
	if err := xml.Unmarshal(data, &f); err != nil {
		return nil, fmt.Errorf("not a measurement record: %w", err)
	}
	var all []record.Unit
	for _, x := range f.Units {
		u := record.Unit{Unit: x.Serial, Lot: x.Lot, Measured: x.Measured, Input: x.Input}
		for _, v := range x.Verdicts {
			u.Verdicts = append(u.Verdicts, record.Verdict{Subject: v.Subject, Outcome: v.Outcome,
				Sentence: v.Sentence})
		}
		for _, c := range x.Conformity {
			q := c.All
			u.Limits = append(u.Limits, record.Limit{Quantity: c.Quantity, Rule: c.Rule, Over: c.Over, Unit: c.Unit,
				Outcome: c.Outcome, Bound: c.Bound, Lopsided: c.Lopsided, Statistic: c.Statistic, Decision: c.Decision,
				Why: c.Why, Limit: q.of("limit"), Measured: q.of("measured"), Margin: q.of("margin"),
				Uncertainty: q.uncertainty(), Low: q.of("low"), High: q.of("high"), Guard: q.of("guardFactor"),
				GuardBand: q.of("guardBand"), Conformance: q.of("conformanceProbability"),
				FalseAcceptance: q.of("specificConsumersRisk"), FalseRejection: q.of("specificProducersRisk")})
		}
		for _, c := range x.Figures {
			g := record.Compared{Name: c.Name, At: c.At, Unit: c.Unit, Why: c.Why, Measured: c.All.interval("measured"),
				Specified: record.Model{Interval: c.All.interval("specified"),
					NormalizedError: c.All.of("specifiedNormalizedError")}}
			if c.Fitted {
				g.Diagnosed = &record.Model{Interval: c.All.interval("fitted"),
					NormalizedError: c.All.of("fittedNormalizedError")}
			}
			u.Figures = append(u.Figures, g)
		}
		for _, c := range x.Parameters {
			q := c.All
			u.Diagnosis.Fitted = append(u.Diagnosis.Fitted, record.Fitted{Name: c.Name, Unit: c.Unit, Within: c.Within,
				Explanation: c.Explanation, Note: c.Note, Specified: q.of("specified"), Value: q.of("value"),
				Low: q.of("low"), High: q.of("high"), Departure: q.of("departure"), Uncertainty: q.of("uncertainty"),
				Tolerance: q.of("tolerance")})
		}
		all = append(all, u)
	}
	return all, nil
}
