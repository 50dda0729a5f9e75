package compose

import (
	"fmt"
	"math"
	"slices"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// results has the diagnosis in a few words and the limits with their margins: what a reviewer signs.
func results(u unit) []document.Block {
	var b []document.Block
	if d := u.found.Diagnosis; d.Sentence != "" {
		b = append(b, document.Plain(document.Sentences(d.Sentence)))
	}
	if len(u.Limits) > 0 {
		t := limitTable(u)
		t.Note = "In dB. " + limitNote + rules(u) + particulars(u)
		b = append(b, t)
	}
	return append(b, signatures())
}

// limitNote explains what the columns of limitTable hold.
const limitNote = "U is the expanded uncertainty; conformance the probability that the limit is kept, given the reading and no other knowledge: a pass is false with what it lacks of 100 % (false acceptance), a fail with it (false rejection)."

// limitTable has the limits of a unit; its note is up to the caller.
func limitTable(u unit) document.Table {
	t := document.Table{
		Caption: "Limits, and the figure held against each",
		Columns: columns("No.", "Quantity", "Where", ">Limit", ">Measured", ">U", ">Margin", ">Guard band", ">Conformance", "Outcome"),
		Compact: true, // what is signed stands on one page
	}
	for i, l := range u.Limits {
		measured := orNone(l.Measured)
		if l.Why != "" && l.Measured != "" {
			measured += " in part"
		}
		d := u.found.Decisions[i]
		if d.AtLeast {
			measured = "≥ " + measured
		}
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), plainName(l.Quantity), document.Brief(l.Over), ruleSign(l.Rule) + num(l.Limit), measured,
			either(d, l), signed(l.Margin), num(l.GuardBand), chanceOf(l.Conformance), l.Outcome})
	}
	return t
}

// particulars says of each limit what the numbers leave open: why it is not decided, what was declared of the production,
// what noise does to an extreme.
func particulars(u unit) string {
	note := ""
	for i, l := range u.Limits {
		if l.Why != "" {
			note += fmt.Sprintf(" Limit %d: %s", i+1, document.Sentence(l.Why))
		}
	}
	note += risks(u)
	for i, d := range u.found.Decisions {
		if proven(d) {
			note += fmt.Sprintf(" Limit %d: the light of the reading that decides drowns in the floor; the figure is the isolation that it proves at one-sided 95 %%, and needs no guard band.", i+1)
		}
		if d.Decided && math.Abs(d.Bias) >= 0.005 {
			side := "above"
			if d.Bias < 0 {
				side = "below"
			}
			note += fmt.Sprintf(" Limit %d: noise is expected to put the %s %s dB %s the true figure; it is not corrected.",
				i+1, d.Statistic, record.Decimal(math.Abs(d.Bias), 2), side)
		}
	}
	return note
}

// ruleSign is the sign before a limit.
func ruleSign(rule string) string {
	if rule == "at least" {
		return "≥ "
	}
	return "≤ "
}

// either prints an expanded uncertainty, or where the interval is lopsided what it reaches up and down.
func either(d verify.Decision, l record.Limit) string {
	if proven(d) {
		return "none"
	}
	if !d.Decided || !d.Lopsided() {
		return num(l.Uncertainty)
	}
	up := "+∞"
	if l.High != "" {
		up = "+" + num(record.Decimal(l.High.Float()-l.Measured.Float(), 2))
	}
	return up + tie + minus + num(record.Decimal(l.Measured.Float()-l.Low.Float(), 2))
}

// proven reports whether a figure is a bound at 95 % already, of which nothing is left uncertain.
func proven(d verify.Decision) bool { return d.AtLeast && d.Expanded == 0 }

// rules states the rule of the limits, or of each when they differ.
func rules(u unit) string {
	note, all := "", u.found.Decisions
	for i, d := range all {
		switch {
		case i == 0 && !slices.ContainsFunc(all, func(o verify.Decision) bool { return o.Rule != d.Rule }):
			return " Rule: " + document.Sentence(d.RuleText)
		case i == 0 || d.Rule != all[i-1].Rule:
			note += fmt.Sprintf(" Rule of limit %d: %s", i+1, document.Sentence(d.RuleText))
		default:
			note += fmt.Sprintf(" Rule of limit %d: the same.", i+1)
		}
	}
	return note
}

// oneRule reports whether the limits of all units are decided by the same rule.
func oneRule(all []unit) bool {
	return !slices.ContainsFunc(all, func(u unit) bool { return rules(u) != rules(all[0]) })
}

// risks states what the decisions risk under the priors declared.
func risks(u unit) string {
	note := ""
	for i, l := range u.Limits {
		if k := l.Risk; k != nil {
			note += fmt.Sprintf(" Limit %d, with the prior “%s” (mean %s dB, standard deviation %s dB): this unit conforms with %s; of units of that production %s are accepted and do not conform (consumer’s risk), %s conform and are not accepted (producer’s risk), %s conform and fail (JCGM 106).",
				i+1, k.Prior, num(k.Mean), num(k.Deviation), chanceOf(k.Posterior), chanceOf(k.Consumer), chanceOf(k.Producer), chanceOf(k.FalselyFailed))
		}
	}
	return note
}

// chanceOf prints a probability in percent, without claiming certainty.
func chanceOf(p record.Number) string {
	if p == "" {
		return ""
	}
	switch v := p.Float(); {
	case v >= 0.9995:
		return "> 99.9 %"
	case v < 0.0005:
		return "< 0.1 %"
	default:
		return num(record.Decimal(100*v, 1)) + " %"
	}
}
