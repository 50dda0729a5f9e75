// Package dsi writes what a record says was measured in the open vocabulary of the Digital System of Units, D-SI (PTB,
// Hutzschenreuter et al., doi 10.5281/zenodo.3366901), so that programs that know nothing of this one can read the
// quantities: each is an element si:real with its value, its unit and, where the coverage factor is known, its expanded
// uncertainty with factor and coverage probability.
//
// D-SI says how quantities are written and leaves to others what stands around them. That is ours: units under test,
// statements of conformity, key figures, fitted parameters, instruments. The file is no calibration certificate, and no
// accreditation is claimed.
//
// Digits are those of the record.
package dsi

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"strings"

	"wedgework/reports/record"
)

// Namespaces of the two vocabularies: that of D-SI, versions 2.2.x, and ours.
const (
	Namespace    = "https://ptb.de/si"
	OwnNamespace = "urn:wedgework:measurement-record:1"
)

// FileName is the name of the file among the attachments of a report.
const FileName = "measurement.xml"

// coverage is the coverage probability of every expanded uncertainty of a record, erf(sqrt 2), rounded.
const coverage = "0.9545"

const notice = "Quantities in D-SI. This is a record of measurements, not a calibration certificate; no " +
	"accreditation is claimed."

// Write returns the measurements of a record; nil when there are none. A unit without an identifier in D-SI is an
// error.
func Write(r *record.Record) ([]byte, error) {
	if len(r.Units) == 0 {
		return nil, nil
	}
	w := &writer{}
	w.out.WriteString(xml.Header)
	w.begin("measurementRecord", "xmlns", OwnNamespace, "xmlns:si", Namespace)
	w.text("notice", notice)
	w.element("report", "number", r.Number, "part", r.Header.Part, "revision", r.Header.Revision, "issued", r.Issued)
	w.element("program", "name", r.Program.Name, "version", r.Program.Version)
	for _, u := range r.Units {
		w.unit(r, u)
	}
	w.end("measurementRecord")
	if w.err != nil {
		return nil, fmt.Errorf("%s: %w", FileName, w.err)
	}
	return w.out.Bytes(), nil
}

type writer struct {
	out   bytes.Buffer
	depth int
	err   error
}

func (w *writer) indent() { w.out.WriteString(strings.Repeat("  ", w.depth)) }

// tag writes the beginning of an element; attributes are names and values, and an empty value is left out.
func (w *writer) tag(name string, attributes []string, end string) {
	w.indent()
	w.out.WriteString("<" + name)
	for i := 0; i+1 < len(attributes); i += 2 {
		if attributes[i+1] != "" {
			w.out.WriteString(" " + attributes[i] + "=\"" + escaped(attributes[i+1]) + "\"")
		}
	}
	w.out.WriteString(end)
}

func (w *writer) begin(name string, attributes ...string) {
	w.tag(name, attributes, ">\n")
	w.depth++
}

func (w *writer) end(name string) {
	w.depth--
	w.indent()
	w.out.WriteString("</" + name + ">\n")
}

func (w *writer) element(name string, attributes ...string) { w.tag(name, attributes, "/>\n") }

// text writes an element that holds a text, nothing for none.
func (w *writer) text(name, text string, attributes ...string) {
	if text != "" {
		w.tag(name, attributes, ">"+escaped(text)+"</"+name+">\n")
	}
}

func escaped(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(s)) // a buffer takes all
	return b.String()
}

// expanded is an expanded uncertainty with its coverage factor.
type expanded struct{ u, k record.Number }

// quantity writes a number in a role, nothing for none.
func (w *writer) quantity(role string, n record.Number, unit string, e *expanded) {
	if n == "" {
		return
	}
	name, err := Unit(unit)
	if err != nil && w.err == nil {
		w.err = err
	}
	w.begin("quantity", "role", role)
	w.begin("si:real")
	w.text("si:label", role)
	w.text("si:value", string(n))
	w.text("si:unit", name)
	if e != nil {
		w.begin("si:measurementUncertaintyUnivariate")
		w.begin("si:expandedMU")
		w.text("si:valueExpandedMU", string(e.u))
		w.text("si:coverageFactor", string(e.k))
		w.text("si:coverageProbability", coverage)
		w.end("si:expandedMU")
		w.end("si:measurementUncertaintyUnivariate")
	}
	w.end("si:real")
	w.end("quantity")
}

func (w *writer) unit(r *record.Record, u record.Unit) {
	w.begin("unit", "serial", u.Unit, "lot", u.Lot, "measured", u.Measured, "input", u.Input)
	for _, in := range r.Inputs {
		if in.File.Name == u.Input && (in.Unit == "" || in.Unit == u.Unit) {
			w.bench(in)
			break
		}
	}
	for _, v := range u.Verdicts {
		w.text("verdict", v.Sentence, "subject", v.Subject, "outcome", v.Outcome)
	}
	for _, l := range u.Limits {
		w.conformity(l, factor(u.Budgets, l))
	}
	for _, f := range u.Figures {
		w.keyFigure(f)
	}
	for _, f := range u.Diagnosis.Fitted {
		w.parameter(f)
	}
	w.end("unit")
}

// bench writes what was measured with and how: a name that another one states a calibration of is an instrument.
func (w *writer) bench(in record.Input) {
	const due = " calibration due"
	w.element("file", "name", in.File.Name, "sha256", in.File.SHA256)
	dates := map[string]string{}
	for _, m := range in.Meta {
		if of, ok := strings.CutSuffix(strings.ToLower(m.Name), due); ok {
			dates[of] = m.Value
		}
	}
	for _, m := range in.Meta {
		name := strings.ToLower(m.Name)
		if strings.HasSuffix(name, due) {
			continue
		}
		if date, ok := dates[name]; ok {
			w.text("instrument", m.Value, "kind", m.Name, "calibrationDue", date)
			continue
		}
		w.text("statement", m.Value, "name", m.Name)
	}
}

// factor is the coverage factor of a limit's uncertainty, by the budget of its figure; "" where there is none.
func factor(budgets []record.Budget, l record.Limit) record.Number {
	for _, b := range budgets {
		if strings.HasSuffix(b.Figure, l.Quantity+", "+l.Over) && b.Unit == l.Unit && b.Expanded == l.Uncertainty {
			return b.K
		}
	}
	return ""
}

func yes(v bool) string {
	if v {
		return "true"
	}
	return ""
}

// conformity writes a limit and how the measurement stands to it. The expanded uncertainty is that of the measured
// figure, and stands by itself where its factor is not known or where it is no symmetric one.
func (w *writer) conformity(l record.Limit, k record.Number) {
	w.begin("conformity", "quantity", l.Quantity, "rule", l.Rule, "over", l.Over, "unit", l.Unit, "outcome", l.Outcome,
		"bound", yes(l.Bound), "lopsided", yes(l.Lopsided))
	w.text("statistic", l.Statistic)
	w.text("decisionRule", l.Decision)
	w.text("why", l.Why)
	var e *expanded
	if k != "" && l.Uncertainty != "" && !l.Lopsided && !l.Bound && l.Measured != "" {
		e = &expanded{l.Uncertainty, k}
	}
	w.quantity("limit", l.Limit, l.Unit, nil)
	w.quantity("measured", l.Measured, l.Unit, e)
	if e == nil {
		w.quantity("uncertainty", l.Uncertainty, l.Unit, nil)
	}
	w.quantity("low", l.Low, l.Unit, nil)
	w.quantity("high", l.High, l.Unit, nil)
	w.quantity("margin", l.Margin, l.Unit, nil)
	w.quantity("guardBand", l.GuardBand, l.Unit, nil)
	w.quantity("guardFactor", l.Guard, "", nil)
	w.quantity("conformanceProbability", l.Conformance, "", nil)
	w.quantity("specificConsumersRisk", l.FalseAcceptance, "", nil)
	w.quantity("specificProducersRisk", l.FalseRejection, "", nil)
	w.end("conformity")
}

func (w *writer) keyFigure(f record.Compared) {
	w.begin("keyFigure", "name", f.Name, "at", f.At, "unit", f.Unit, "fitted", yes(f.Diagnosed != nil))
	w.text("why", f.Why)
	interval := func(role string, i record.Interval) {
		w.quantity(role, i.Value, f.Unit, nil)
		w.quantity(role+"Low", i.Low, f.Unit, nil)
		w.quantity(role+"High", i.High, f.Unit, nil)
	}
	interval("measured", f.Measured)
	interval("specified", f.Specified.Interval)
	w.quantity("specifiedNormalizedError", f.Specified.NormalizedError, "", nil)
	if f.Diagnosed != nil {
		interval("fitted", f.Diagnosed.Interval)
		w.quantity("fittedNormalizedError", f.Diagnosed.NormalizedError, "", nil)
	}
	w.end("keyFigure")
}

func (w *writer) parameter(f record.Fitted) {
	w.begin("parameter", "name", f.Name, "unit", f.Unit, "within", f.Within, "explanation", f.Explanation)
	w.text("note", f.Note)
	for _, q := range []struct {
		role string
		n    record.Number
	}{{"specified", f.Specified}, {"value", f.Value}, {"low", f.Low}, {"high", f.High}, {"departure", f.Departure},
		{"uncertainty", f.Uncertainty}, {"tolerance", f.Tolerance}} {
		w.quantity(q.role, q.n, f.Unit, nil)
	}
	w.end("parameter")
}
