package compose

import (
	"fmt"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

// together judges several units at once, for the first page: each of the three judgements is as good as that of the
// worst unit, and its sentence names the units that do not pass. The judgements are not folded into each other.
func (s Source) together() []document.Verdict {
	units := s.units()
	var all []document.Verdict
	var fallen []map[document.Outcome][]string // units by outcome, of each judgement
	for _, u := range units {
		for i, v := range verdicts(u.Unit) {
			if i == len(all) {
				all = append(all, document.Verdict{Subject: v.Subject, Outcome: v.Outcome})
				fallen = append(fallen, map[document.Outcome][]string{})
			}
			if worse(v.Outcome, all[i].Outcome) {
				all[i].Outcome = v.Outcome
			}
			fallen[i][v.Outcome] = append(fallen[i][v.Outcome], u.Called())
		}
	}
	thing := "unit"
	if conditions(units) > 1 {
		thing = "measurement"
	}
	for i := range all {
		parts := []string{document.Passing(len(fallen[i][document.Pass]), len(units), thing)}
		for _, o := range worstFirst {
			if names := fallen[i][o]; len(names) > 0 && o != document.Pass {
				parts = append(parts, outcome(o.String())+": "+listed(names))
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

// limitKey is what makes limits of different units the same.
type limitKey struct{ quantity, over, rule, limit string }

func keyOf(l record.Limit) limitKey {
	return limitKey{l.Quantity, l.Over, l.Rule, string(l.Limit)}
}

// limitsOf lists the limits of all units, each once.
func limitsOf(units []unit) []limitKey {
	var order []limitKey
	for _, u := range units {
		for _, l := range u.Limits {
			if k := keyOf(l); !slices.Contains(order, k) {
				order = append(order, k)
			}
		}
	}
	return order
}

// closest has each limit once, with the unit that keeps it by least or breaks it by most.
func closest(units []unit) (t document.Table, limits []record.Limit) {
	t = document.Table{
		Caption: "Limits, and the unit with the smallest margin to each",
		Compact: true,
		Columns: columns("No.", "Quantity", "Conditions", ">Limit", "Unit", ">Measured", ">U", ">Margin", ">Guard band",
			"Outcome"),
	}
	for i, k := range limitsOf(units) {
		var least record.Limit
		var of unit
		some := false
		for _, u := range units {
			for _, l := range u.Limits {
				// A unit whose figure is not known comes first: nothing is known to be closer than that.
				if keyOf(l) == k && (!some || least.Margin != "" &&
					(l.Margin == "" || l.Margin.Float() < least.Margin.Float())) {
					least, of, some = l, u, true
				}
			}
		}
		limits = append(limits, least)
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), labelled(plainName(k.quantity), least.Unit),
			document.Brief(k.over), ruleSign(k.rule) + least.Limit.Text(),
			of.Called(), measured(least), expanded(least), least.Margin.Signed(), least.GuardBand.Text(),
			least.Outcome})
	}
	return t, limits
}

// mostMargins is how many limits have a column of margins in the table of units; of more, the least margin stands
// there.
const mostMargins = 4

// unitTable has a row for each unit: its three verdicts, how far the model is off at worst, and its margins.
func unitTable(units []unit) document.Table {
	t := document.Table{
		Caption: "Units: verdicts, largest |En| of the key figures, and margins to the limits above, each in the " +
			"unit of its limit",
		Columns: columns(">No.", "Unit", "Model agreement", ">|En|", "Limit conformity"),
		Compact: true,
	}
	keys := limitsOf(units)
	var lots []string
	for _, u := range units {
		lots = append(lots, u.Lot)
	}
	if plural("", lots) != "" {
		t.Columns = slices.Insert(t.Columns, 2, columns("Lot")...)
	}
	switch {
	case len(keys) > mostMargins:
		t.Columns = append(t.Columns, columns(">Smallest margin", ">Limit")...)
	default:
		for i := range keys {
			t.Columns = append(t.Columns, columns(fmt.Sprintf(">Margin to %d", i+1))...)
		}
	}
	t.Columns = append(t.Columns, columns("Data quality")...)
	for i, u := range units {
		row := []string{fmt.Sprint(i + 1), u.Called()}
		if plural("", lots) != "" {
			row = append(row, u.Lot)
		}
		v := verdicts(u.Unit)
		row = append(row, loud(v[0].Outcome), greatestError(u.Unit), loud(v[1].Outcome))
		row = append(append(row, margins(u, keys)...), loud(v[2].Outcome))
		t.Rows = append(t.Rows, row)
	}
	return t
}

// loud words an outcome so that what is no pass leaps to the eye in a column of passes.
func loud(o document.Outcome) string {
	if o == document.Pass {
		return o.String()
	}
	return strings.ToUpper(outcome(o.String()))
}

// greatestError prints the greatest |En| of the key figures against the specified model.
func greatestError(u record.Unit) string {
	greatest := record.Number("")
	for _, f := range u.Figures {
		if n := f.Specified.NormalizedError.Abs(); n != "" && (greatest == "" || n.Float() > greatest.Float()) {
			greatest = n
		}
	}
	return greatest.Or("–")
}

// margins prints the margins of a unit to the limits, or of many the least and the limit it belongs to.
func margins(u unit, keys []limitKey) []string {
	all := make([]string, len(keys))
	least, to := record.Number(""), 0
	for i, k := range keys {
		all[i] = "–"
		for _, l := range u.Limits {
			if keyOf(l) == k && l.Margin != "" {
				all[i] = l.Margin.Signed()
				if to == 0 || l.Margin.Float() < least.Float() {
					least, to = l.Margin, i+1
				}
			}
		}
	}
	switch {
	case len(keys) <= mostMargins:
		return all
	case to == 0:
		return []string{"–", "–"}
	}
	return []string{least.Signed(), fmt.Sprint(to)}
}

// summary is what is signed when a report holds several units. Of more rows than have room before the signatures those
// of the units follow them first, and then all but the most urgent limits.
func summary(s Source) document.Section {
	units := s.units()
	table, least := closest(units)
	limits := len(table.Rows)
	return front(limits+len(units), func(rows int) []document.Block {
		b := append(retests(s), lotStanding(s)...)
		var behind []document.Block
		switch {
		case limits == 0:
		case rows < limits:
			b = append(b, some(table, least, rows)...)
			behind = append(behind, table)
		default:
			b = append(b, table)
		}
		if rows == limits+len(units) {
			b = append(b, unitTable(units))
		} else {
			behind = append(behind, unitTable(units))
		}
		b = append(b, s.circumstances(), signatures())
		return append(b, behind...)
	})
}

// lotStanding says in a few sentences what verdicts do not: how each lot stands, and which readings were left out.
func lotStanding(s Source) []document.Block {
	var b []document.Block
	for _, l := range s.Record.Lots {
		name := "The units together"
		if l.Lot != "" {
			name = "Lot " + l.Lot
		}
		text := name + ", " + l.Order + ". " + inFront(l.Sentence, "in the section of the lot")
		if len(l.Unstable) > 0 {
			text += " " + inFront("these figures: "+document.Brief(document.Signs(strings.Join(l.Unstable, "; "))),
				"in the section of the lot")
		}
		b = append(b, document.Plain(text))
	}
	var out []string
	for _, u := range s.units() {
		if text := excluded(u.Unit); text != "" {
			out = append(out, "unit "+u.Called()+", "+text)
		}
	}
	if len(out) > 0 {
		b = append(b, document.Plain(inFront("outliers: "+strings.Join(out, "; "), "on the pages of the units")))
	}
	if text := notUsed(s.units()); text != "" {
		b = append(b, document.Plain("Not used: "+text+"."))
	}
	return b
}

// notUsed says what of the files of units is compared with nothing; what is the same for all units stands once.
func notUsed(units []unit) string {
	var order []string
	of := map[string][]unit{}
	for _, u := range units {
		for _, what := range u.Unused {
			if of[what] == nil {
				order = append(order, what)
			}
			of[what] = append(of[what], u)
		}
	}
	var parts []string
	for _, what := range order {
		parts = append(parts, what+" ("+who(of[what], units)+")")
	}
	return strings.Join(parts, "; ")
}

// signatures is the block that the change board signs.
func signatures() document.Signatures {
	return document.Signatures{Disposition: []string{"accept", "reject", "rework", "concession no."},
		Rows: []document.Signature{{Role: "Prepared"}, {Role: "Reviewed"}, {Role: "Approved"}}}
}
