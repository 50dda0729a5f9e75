package compose

import (
	"fmt"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
)

// together judges several units at once, for the first page: each of the three judgements is as good as that of the
// worst unit, and its sentence names the units that do not pass. The judgements are not folded into each other.
func (s Source) together() []document.Verdict {
	var all []document.Verdict
	var fallen []map[document.Outcome][]string // units by outcome, of each judgement
	for _, r := range s.results() {
		for i, v := range rerun.Verdicts(r) {
			if i == len(all) {
				all = append(all, document.Verdict{Subject: v.Subject, Outcome: v.Outcome})
				fallen = append(fallen, map[document.Outcome][]string{})
			}
			if worse(v.Outcome, all[i].Outcome) {
				all[i].Outcome = v.Outcome
			}
			fallen[i][v.Outcome] = append(fallen[i][v.Outcome], r.Unit)
		}
	}
	for i := range all {
		parts := []string{fmt.Sprintf("%d of %d units pass", len(fallen[i][document.Pass]), len(s.results()))}
		for _, o := range worstFirst {
			if units := fallen[i][o]; len(units) > 0 && o != document.Pass {
				parts = append(parts, o.String()+": "+strings.Join(units, ", "))
			}
		}
		all[i].Sentence = document.Sentences(strings.Join(parts, "; "))
	}
	return all
}

// worstFirst ranks outcomes: one unit that fails outweighs any that are undecided, and the zero Outcome, not examined,
// is no pass.
var worstFirst = []document.Outcome{document.Fail, document.Undecided, 0, document.Pass}

func worse(a, b document.Outcome) bool {
	return slices.Index(worstFirst, a) < slices.Index(worstFirst, b)
}

// closest has each limit once, with the unit that keeps it by least or breaks it by most.
func closest(units []record.Unit) document.Table {
	t := document.Table{
		Caption: "Limits, and the unit with the least margin to each",
		Columns: columns("Quantity", "Where", ">Limit", "Unit", ">Measured", ">U", ">Margin", ">Guard band", "Outcome"),
		Note:    "In dB. U is the expanded uncertainty. The limits of every unit, with their rule, stand under its result.",
	}
	type key struct{ quantity, over, rule, limit string }
	type row struct {
		unit string
		record.Limit
	}
	var order []key
	least := map[key]row{}
	for _, u := range units {
		for _, l := range u.Limits {
			k := key{l.Quantity, l.Over, l.Rule, string(l.Limit)}
			old, seen := least[k]
			if !seen {
				order = append(order, k)
			}
			// A unit whose figure is not known comes first: nothing is known to be closer than that.
			if !seen || old.Margin != "" && (l.Margin == "" || l.Margin.Float() < old.Margin.Float()) {
				least[k] = row{u.Unit, l}
			}
		}
	}
	for _, k := range order {
		l := least[k]
		t.Rows = append(t.Rows, []string{plainName(l.Quantity), document.Brief(l.Over), ruleSign(l.Rule) + num(l.Limit.Limit), l.unit,
			orNone(l.Measured), num(l.Uncertainty), signed(l.Margin), num(l.GuardBand), l.Outcome})
	}
	return t
}

// summary is what is signed when a report holds several units; what was found of each follows.
func summary(s Source) []document.Section {
	if len(s.results()) < 2 {
		return nil
	}
	var b []document.Block
	if t := closest(s.Record.Units); len(t.Rows) > 0 {
		b = append(b, t)
	}
	each := document.Section{Title: "Verdicts of each unit", Level: 1}
	for _, r := range s.results() {
		for _, v := range rerun.Verdicts(r) {
			v.Subject, v.Sentence = "unit "+r.Unit+": "+v.Subject, document.Sentence(v.Sentence)
			each.Blocks = append(each.Blocks, v)
		}
	}
	return []document.Section{{Title: "Result", Level: 1, Blocks: append(b, signatures())}, each}
}

// signatures is the block that the change board signs.
func signatures() document.Signatures {
	return document.Signatures{Rows: []document.Signature{{Role: "Prepared"}, {Role: "Reviewed"}, {Role: "Approved"}}}
}
