package compose

import (
	"fmt"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

// results has the limits with their margins, which a reviewer signs, as many as have rows before the signatures, and
// after those, which belong to the first page however long the sentences are, the diagnosis in a few words.
func results(s Source, u unit, rows int) []document.Block {
	b := retests(s)
	all := LimitTable(u.Unit)
	all.Note = strings.TrimSpace(particulars(u.Unit))
	whole := rows == len(u.Limits)
	switch {
	case !whole:
		b = append(b, some(all, u.Limits, rows)...)
	case rows > 0:
		b = append(b, all)
	}
	if len(u.Unused) > 0 {
		b = append(b, document.Plain("Not used: "+strings.Join(u.Unused, "; ")+"."))
	}
	b = append(b, s.circumstances(), signatures())
	if !whole {
		b = append(b, all)
	}
	if d := u.Diagnosis; d.Sentence != "" {
		b = append(b, document.Plain(document.Sentences(d.Sentence)))
	}
	if text := excluded(u.Unit); text != "" {
		b = append(b, document.Plain("Outliers: "+text+"."))
	}
	if len(u.Limits) > 0 {
		b = append(b, document.Plain("In the table above: "+limitNote+rules(u.Unit)))
	}
	return b
}

// retests says by which rule units count that were measured more than once, and what the tests showed that do not
// count.
func retests(s Source) []document.Block {
	r := s.Record.Retests
	if r == nil {
		return nil
	}
	text := document.Sentences(r.Sentence)
	earlier := s.superseded()
	named := slices.Clone(earlier)
	if len(earlier) > mostRetests {
		named = slices.DeleteFunc(named, func(u record.Unit) bool { return u.Passes() })
		text += fmt.Sprintf(" Not counted: %d earlier tests, each in a section of its own; %s.", len(earlier),
			document.Passing(len(earlier)-len(named), len(earlier), "test"))
	}
	for _, u := range named[:min(len(named), mostRetests)] {
		var outcomes []string
		for _, v := range u.Verdicts {
			outcomes = append(outcomes, v.Subject+" "+outcome(v.Outcome))
		}
		text += fmt.Sprintf(" Not counted: unit %s, test of %s (%s): %s.", u.Called(), u.Measured, u.Input,
			strings.Join(outcomes, ", "))
	}
	if more := len(named) - mostRetests; more > 0 {
		text += fmt.Sprintf(" Of %d more some verdict does not pass.", more)
	}
	return []document.Block{document.Plain(text)}
}

// mostRetests is how many tests that do not count the first page tells of one by one (a choice): of more it names those
// that do not pass, so that the signatures stay on that page.
const mostRetests = 4

// notCounted has the limits of the tests that later ones stand for: what they showed stays on record.
func notCounted(s Source) []document.Section {
	var all []document.Section
	for _, u := range s.superseded() {
		b := []document.Block{document.Plain(fmt.Sprintf("This test (%s) does not count: the rule for retests is "+
			"latest, and %s holds a later test of the unit.",
			u.Input, u.Later))}
		for _, v := range verdicts(u) {
			b = append(b, v)
		}
		if len(u.Limits) > 0 {
			t := LimitTable(u)
			t.Note = strings.TrimSpace(particulars(u))
			b = append(b, t)
		}
		all = append(all, document.Section{Title: "Earlier test of unit " + u.Called() + ", " + u.Measured, Level: 1,
			Blocks: b})
	}
	return all
}

// excluded says which readings of a unit a fit left out.
func excluded(u record.Unit) string {
	all := u.Diagnosis.Outliers
	if len(all) == 0 {
		return ""
	}
	const most = 4 // lines that are named; a choice
	var lines []string
	for _, o := range all[:min(len(all), most)] {
		lines = append(lines, fmt.Sprint(o.Line))
	}
	text := document.Count(len(all), "reading") + " excluded from the fit and the key figures, not from the limits ("
	if len(all) > most {
		return text + fmt.Sprintf("lines %s and %d more)", strings.Join(lines, ", "), len(all)-most)
	}
	if len(all) == 1 {
		return text + "line " + lines[0] + ")"
	}
	return text + "lines " + strings.Join(lines, ", ") + ")"
}

// limitNote explains what the columns of LimitTable hold.
const limitNote = "U is the expanded uncertainty (coverage probability 95.45 %). The conformance probability is the " +
	"probability that the limit is met, given the reading and no prior knowledge. For a pass, 100 % minus this value " +
	"is the specific consumer’s risk (false acceptance); for a fail, the value itself is the specific producer’s " +
	"risk (false rejection)."

// LimitTable has the limits of a unit; its note is up to the caller.
func LimitTable(u record.Unit) document.Table {
	t := document.Table{
		Caption: "Limits and measured figures",
		Columns: columns("No.", "Quantity", "Conditions", ">Limit", ">Measured", ">U", ">Margin", ">Guard band",
			">Conformance\nprobability", "Outcome"),
		Compact: true, // what is signed stands on one page
	}
	for i, l := range u.Limits {
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), labelled(plainName(l.Quantity), l.Unit),
			document.Brief(l.Over), ruleSign(l.Rule) + l.Limit.Text(), measured(l),
			expanded(l), l.Margin.Signed(), l.GuardBand.Text(), l.Conformance.Chance(), l.Outcome})
	}
	return t
}

// measured prints the figure compared with a limit.
func measured(l record.Limit) string {
	s := l.Measured.Or("none")
	if l.Bound {
		s = "≥ " + s
	}
	if l.Why != "" && l.Measured != "" {
		s += " in part"
	}
	return s
}

// expanded prints an expanded uncertainty, or where the interval is lopsided what it reaches up and down.
func expanded(l record.Limit) string {
	switch {
	case l.Measured == "":
		return ""
	case l.Uncertainty == "":
		return "none"
	case !l.Lopsided:
		return l.Uncertainty.Text()
	}
	up := "+∞"
	if l.High != "" {
		up = "+" + record.InUnit(l.High.Float()-l.Measured.Float(), l.Unit).Text()
	}
	return up + record.Tie + record.Minus + record.InUnit(l.Measured.Float()-l.Low.Float(), l.Unit).Text()
}

// particulars says of each limit what the numbers leave open: why it is not decided, what was declared of the
// production, what noise does to an extreme.
func particulars(u record.Unit) string {
	note := ""
	for i, l := range u.Limits {
		if l.Why != "" {
			note += fmt.Sprintf(" Limit %d: %s", i+1, document.Sentence(l.Why))
		}
	}
	note += risks(u)
	for i, l := range u.Limits {
		if l.Measured != "" && l.Uncertainty == "" {
			note += fmt.Sprintf(" Limit %d: the deciding reading cannot be distinguished from the floor; the figure "+
				"is a one-sided 95 %% lower bound on the %s, so no further guard band is "+
				"applied.", i+1, plainName(l.Quantity))
		}
	}
	return note
}

// rules states the decision rule of the limits, or of each when they differ.
func rules(u record.Unit) string {
	note := ""
	for i, l := range u.Limits {
		switch {
		case i == 0 && !slices.ContainsFunc(u.Limits, func(o record.Limit) bool { return o.Decision != l.Decision }):
			return " Decision rule: " + document.Signs(l.Decision) + "."
		case i == 0 || l.Decision != u.Limits[i-1].Decision:
			note += fmt.Sprintf(" Decision rule for limit %d: %s.", i+1, document.Signs(l.Decision))
		default:
			note += fmt.Sprintf(" Decision rule for limit %d: the same.", i+1)
		}
	}
	return note
}

// oneRule reports whether the limits of all units are decided by the same rule.
func oneRule(all []unit) bool {
	return !slices.ContainsFunc(all, func(u unit) bool { return rules(u.Unit) != rules(all[0].Unit) })
}

// ruleSign is the sign before a limit.
func ruleSign(rule string) string {
	if rule == "at least" {
		return "≥ "
	}
	return "≤ "
}

// risks states what the decisions risk under the priors declared.
func risks(u record.Unit) string {
	note := ""
	for i, l := range u.Limits {
		if k := l.Risk; k != nil {
			note += fmt.Sprintf(" Limit %d, with the prior “%s” (mean %s %s, standard deviation %s %s): the "+
				"conformance probability of this unit is %s; of all units of that production, %s are expected to be "+
				"accepted without conforming (global consumer’s risk), %s to conform without being accepted (global "+
				"producer’s risk) and %s to conform and fail (JCGM 106).",
				i+1, k.Prior, k.Mean.Text(), l.Unit, k.Deviation.Text(), l.Unit, k.Posterior.Chance(),
				k.Consumer.Chance(), k.Producer.Chance(), k.FalselyFailed.Chance())
		}
	}
	return note
}
