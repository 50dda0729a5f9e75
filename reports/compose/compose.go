// Package compose turns what a rerun left into a report: a document for the page and a record for the
// machine. It chooses what is shown and in what order, and words it; it computes nothing that a
// verification has not found, and knows no PDF.
package compose

import (
	"cmp"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
	"wedgework/reports/verify"
)

// Source is everything a report is made from.
type Source struct {
	Outcome *rerun.Outcome
	Record  *record.Record // of the same run
	Digest  string         // of the record, as record.Digest has it; may be empty
}

// Document lays the report out, and returns warnings for the person who asked for it: what of the notebook's
// narrative could not be set. The order of the sections is the order of the list.
func Document(s Source) (document.Document, []string) {
	words, warnings := s.narrative()
	d := document.Document{
		Title:    s.title(),
		Number:   s.Outcome.Header.Part,
		Revision: s.Outcome.Header.Revision,
		Covers:   s.covers(),
		Report:   s.Record.Number,
		Digest:   record.Short(s.Digest),
		Subtitle: s.subtitle(),
		Identity: s.identity(),
		Verdicts: s.verdicts(),
		Notice:   s.notice(),
	}
	if s.Record.Number != "" && s.Digest != "" {
		d.Code = record.Code(s.Record.Number, s.Digest)
	}
	found := alone
	if len(s.units()) > 1 {
		found = several
	}
	measured := found(s)
	first := min(1, len(measured)) // what is signed stands before all else
	d.Sections = slices.Concat(measured[:first], qualifications(s), measured[first:], notCounted(s), reviews(s))
	for _, section := range []func(Source) []document.Section{
		uncertainty, // what the numbers are worth
		data,        // how it was measured
		design,      // the parts, and the light among them
		words,       // the notebook's own words and outputs
		cautions,
		provenance, // what was computed from what
	} {
		d.Sections = append(d.Sections, section(s)...)
	}
	number(d.Sections)
	return d, warnings
}

func (s Source) title() string {
	if t := s.Outcome.Header.Title; t != "" {
		return t
	}
	return "Isolator verification"
}

// covers names the unit of the report, or its lot, for every page.
func (s Source) covers() string {
	all := s.units()
	switch designs := s.Record.Designs; {
	case len(all) == 0 && len(designs) == 1:
		return designs[0].Design
	case len(all) == 0 && len(designs) > 1:
		return document.Count(len(designs), "design")
	case len(all) == 0:
		return ""
	}
	if len(all) == 1 {
		return "unit " + all[0].Called()
	}
	var lots []string
	units := map[[2]string]bool{}
	for _, u := range all {
		lots = append(lots, u.Lot)
		units[[2]string{u.Lot, u.Named()}] = true
	}
	count := document.Count(len(units), "unit")
	if n := conditions(all); n > 1 {
		count += " in " + document.Count(n, "condition")
	}
	if named := distinct(lots); named != "" {
		return strings.ToLower(plural("Lot", lots)) + " " + named + " (" + count + ")"
	}
	return count
}

// conditions counts those in which units were measured.
func conditions(units []unit) int {
	all := map[string]bool{}
	for _, u := range units {
		all[u.Condition] = true
	}
	return len(all)
}

// subtitle says what kind of report this is: one without a verification verifies nothing.
func (s Source) subtitle() string {
	switch {
	case len(s.units()) == 0 && len(s.Record.Designs) > 0:
		return "Design verification report, before a unit exists"
	case len(s.units()) == 0:
		return "Design report"
	}
	return "Design verification report"
}

func (s Source) identity() []document.Field {
	h := s.Outcome.Header
	var f []document.Field
	add := func(name, value string) {
		if value != "" {
			f = append(f, document.Field{Name: name, Value: value})
		}
	}
	add("Part", h.Part)
	add("Revision", h.Revision)
	add("Change record", h.Change)
	add("Report", s.Record.Number)
	if old := s.Record.Supersedes; old != nil {
		add("Supersedes", old.Number+" ("+record.Short(old.SHA256)+")")
	}
	add("Issued", s.Record.Issued)
	var units, lots, days []string
	for _, u := range s.units() {
		if !slices.Contains(units, u.Unit.Unit) {
			units = append(units, u.Unit.Unit)
		}
		lots = append(lots, u.Lot)
		days = append(days, u.Measured)
	}
	if len(units) > mostNamed {
		units = []string{listed(units)}
		add("Units", units[0])
	} else {
		add(plural("Unit", units), distinct(units))
	}
	add("Lot", distinct(lots))
	add("Measured", distinct(days))
	for _, e := range h.Extra {
		add(e.Name, e.Value)
	}
	return f
}

func plural(name string, all []string) string {
	if strings.Contains(distinct(all), ",") {
		return name + "s"
	}
	return name
}

// distinct joins the different values, in their order.
func distinct(all []string) string {
	var kept []string
	seen := map[string]bool{"": true}
	for _, a := range all {
		if !seen[a] {
			seen[a] = true
			kept = append(kept, a)
		}
	}
	return strings.Join(kept, ", ")
}

// meta returns a metadata value of the file, by its key.
func meta(r *verify.Result, key string) string {
	for _, m := range r.Meta {
		if strings.EqualFold(m[0], key) {
			return m[1]
		}
	}
	return ""
}

// verdicts gives the judgements, never folded into one: the three of the unit, or of several units together, and those
// of designs.
func (s Source) verdicts() []document.Verdict {
	return slices.Concat(s.qualificationVerdicts(), s.unitVerdicts(), s.designVerdicts())
}

func (s Source) unitVerdicts() []document.Verdict {
	all := s.units()
	if len(all) != 1 {
		return s.together()
	}
	front := verdicts(all[0].Unit)
	for i, v := range all[0].Verdicts {
		if v.Subject == conformity && len([]rune(v.Sentence)) > frontRoom {
			front[i].Sentence = inFront(v.Sentence, "see Table 1")
		}
	}
	return front
}

func (s Source) results() []*verify.Result {
	all := make([]*verify.Result, len(s.Outcome.Verified))
	for i, v := range s.Outcome.Verified {
		all[i] = v.Result
	}
	return all
}

// notice repeats on every page that the data is invented, when its file says so.
func (s Source) notice() string {
	for _, r := range s.results() {
		for _, m := range r.Meta {
			if strings.Contains(strings.ToLower(m[1]), "invented data") {
				return "Invented data: a demonstration, not a measurement."
			}
		}
	}
	return ""
}

// unit is one verified unit: what was found, and the record of it, whose numbers are the printed ones.
type unit struct {
	record.Unit
	found *verify.Result
}

// units are those that count, in the order of their lots.
func (s Source) units() []unit {
	var all []unit
	for i, v := range s.Outcome.Verified {
		if u := s.Record.Units[i]; u.Counts() {
			all = append(all, unit{u, v.Result})
		}
	}
	place := func(u unit) (lot, at int) {
		lot = slices.IndexFunc(s.Record.Lots, func(l record.Lot) bool { return l.Lot == u.LotCalled() })
		if lot < 0 {
			return slices.IndexFunc(all, func(o unit) bool { return o.LotCalled() == u.LotCalled() }), 0
		}
		at = slices.IndexFunc(s.Record.Lots[lot].Units, func(m record.LotUnit) bool { return m.Unit == u.Named() })
		return slices.IndexFunc(all, func(o unit) bool { return o.LotCalled() == u.LotCalled() }), at
	}
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b unit) int {
		lotA, atA := place(a)
		lotB, atB := place(b)
		return cmp.Or(cmp.Compare(lotA, lotB), cmp.Compare(atA, atB))
	})
	return sorted
}

// superseded are tests of units that a later test counts for.
func (s Source) superseded() []record.Unit {
	return slices.DeleteFunc(slices.Clone(s.Record.Units), func(u record.Unit) bool { return u.Counts() })
}

// verdicts are the three judgements of a unit, as a page has them.
func verdicts(u record.Unit) []document.Verdict {
	all := make([]document.Verdict, len(u.Verdicts))
	for i, v := range u.Verdicts {
		all[i] = Verdict(v)
	}
	return all
}

// conformity is the subject of the judgement whose sentence names each limit that is not met.
const conformity = "limit conformity"

// Verdict is a judgement as a page has it.
func Verdict(v record.Verdict) document.Verdict {
	return document.Verdict{Subject: document.Capital(v.Subject), Outcome: document.OutcomeOf(v.Outcome),
		Sentence: document.Sentence(v.Sentence)}
}

// alone is what was found of a single unit, at length.
func alone(s Source) []document.Section {
	var all []document.Section
	for _, u := range s.units() {
		for _, part := range []struct {
			title string
			build func(unit) []document.Block
		}{
			{"Result", nil},                        // diagnosis and limits: what a reviewer signs
			{"Measured against model", comparison}, // pictures and declared figures
			{"Diagnosis", diagnosis},               // which parameter explains the difference
		} {
			if part.title == "Result" {
				all = append(all, front(len(u.Limits), func(rows int) []document.Block { return results(s, u, rows) }))
				continue
			}
			if b := part.build(u); len(b) > 0 {
				all = append(all, document.Section{Title: part.title, Level: 1, Blocks: b})
			}
		}
	}
	return all
}

// several is what was found of several units: what a reviewer signs, what they show together, then a page for each.
func several(s Source) []document.Section {
	all := []document.Section{summary(s), reading(s)}
	all = append(all, lots(s)...)
	return append(all, pages(s)...)
}
