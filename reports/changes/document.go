package changes

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"
	"unicode/utf8"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

// Document lays the comparison out, to be read alone or in front of the new report.
func (c *Comparison) Document() document.Document {
	h := c.New.Record.Header
	d := document.Document{
		Title: "Changes: " + h.Title, Subtitle: "What differs between two records",
		Number: h.Part, Revision: h.Revision,
	}
	switch all := c.New.Record.Units; {
	case len(all) == 1 && all[0].Unit != "":
		d.Covers = "unit " + all[0].Unit
	case len(all) > 1:
		d.Covers = document.Count(len(all), "unit")
	}
	for _, f := range []struct{ name, was, is string }{
		{"Report", c.Old.Record.Number, c.New.Record.Number},
		{"Record", c.Old.Name, c.New.Name},
		{"SHA-256", c.Old.SHA256, c.New.SHA256},
		{"Unit", units(c.Old.Record), units(c.New.Record)},
		{"Revision", c.Old.Record.Header.Revision, h.Revision},
		{"Change record", c.Old.Record.Header.Change, h.Change},
		{"Issued", c.Old.Record.Issued, c.New.Record.Issued},
	} {
		if f.was == f.is && f.is != "" {
			d.Identity = append(d.Identity, document.Field{Name: f.name, Value: f.is})
			continue
		}
		if f.was != "" {
			d.Identity = append(d.Identity, document.Field{Name: f.name + ", old", Value: f.was})
		}
		if f.is != "" {
			d.Identity = append(d.Identity, document.Field{Name: f.name + ", new", Value: f.is})
		}
	}
	d.Verdicts = verdicts(c.Old.Record, c.New.Record)
	if c.Same() {
		d.Sections = append(d.Sections, document.Section{Title: "Changes", Level: 1,
			Blocks: []document.Block{document.Plain("Nothing differs.")}})
	}
	if s := c.summary(); len(s) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "In short", Level: 1, Blocks: s})
	}
	for _, g := range c.Groups {
		d.Sections = append(d.Sections, document.Section{Title: cmp.Or(headings[g.Title], g.Title), Level: 1,
			Blocks: c.blocks(g)})
		if g.Title == "Notebook" && len(c.Cells) > 0 {
			d.Sections = append(d.Sections, document.Section{Title: "Cells", Level: 1, Blocks: cellBlocks(c.Cells)})
		}
	}
	return d
}

// headings are those of groups that are printed under another name than programs find in the JSON: all verdicts stand
// under a heading of their own before, and the report calls the others by these names.
var headings = map[string]string{"Verdicts": "Changed verdicts", "Leak": "Leakage",
	"Explanations tried": "Candidate explanations"}

// Numbered is the document as it is printed: with a number of its own, which follows from the changes as JSON, the
// beginning of their digest on every page, and the code of both on the first.
func (c *Comparison) Numbered(json []byte) document.Document {
	d := c.Document()
	digest := record.Digest(json)
	d.Report, d.Digest, d.DigestOf = record.ChangesNumber(digest), record.Short(digest), "changes"
	d.Code = record.Code(d.Report, digest)
	d.Identity = append([]document.Field{{Name: "Number", Value: d.Report}}, d.Identity...)
	return d
}

// blocks are a table of what is short, and sentences one below the other.
func (c *Comparison) blocks(g Group) []document.Block {
	const long = 48 // characters that a column of a table still holds well; a choice
	t := document.Table{Columns: []document.Column{{Head: "What"}, {Head: "Old"}, {Head: "New"},
		{Head: "Difference", Align: document.Right}}}
	numbers := false
	var sentences []document.Block
	for _, x := range c.merged(g.Changes) {
		what := x.what(c.oneUnit())
		named := ", name " + x.Path[len(x.Path)-1] // which the path says
		x.Was = cmp.Or(c.whole(c.Old.Record, x), strings.TrimSuffix(x.Was, named))
		x.Is = cmp.Or(c.whole(c.New.Record, x), strings.TrimSuffix(x.Is, named))
		if utf8.RuneCountInString(x.Was) > long || utf8.RuneCountInString(x.Is) > long {
			sentences = append(sentences, document.Fields{Caption: what,
				Rows: []document.Field{{Name: "Old", Value: document.Signs(shown(x.Was))},
					{Name: "New", Value: document.Signs(shown(x.Is))}}})
			continue
		}
		difference := x.Difference()
		numbers = numbers || difference != ""
		t.Rows = append(t.Rows, []string{document.Signs(what), document.Signs(shown(x.Was)),
			document.Signs(shown(x.Is)), document.Signs(difference)})
	}
	if numbers {
		t.Columns[1].Align, t.Columns[2].Align = document.Right, document.Right
	} else {
		t.Columns = t.Columns[:3]
		for i := range t.Rows {
			t.Rows[i] = t.Rows[i][:3]
		}
	}
	if len(t.Rows) == 0 {
		return sentences
	}
	return append([]document.Block{t}, sentences...)
}

// whole says in short what a limit, a figure or a budget says that is new or gone; "" for everything else, and where it
// is not in the record. All of its fields are in the JSON of the changes.
func (c *Comparison) whole(r *record.Record, x Change) string {
	if len(x.Path) != 4 || x.Path[0] != "units" || x.Was != "" && x.Is != "" {
		return ""
	}
	for _, u := range r.Units {
		if u.Unit != x.Path[1] && !c.oneUnit() {
			continue
		}
		if text := wholeOf(u, x.Path[2], x.Path[3]); text != "" {
			return text
		}
	}
	return ""
}

func wholeOf(u record.Unit, list, name string) string {
	switch list {
	case "limits":
		for _, l := range u.Limits {
			if name == l.Quantity+", "+l.Rule+", "+l.Over {
				return fmt.Sprintf("%s %s, measured %s, margin %s, %s", l.Limit.Text(), l.Unit, l.Measured.Or("–"),
					l.Margin.Or("–"), l.Outcome)
			}
		}
	case "budgets":
		for _, b := range u.Budgets {
			if name == b.Figure {
				return fmt.Sprintf("U = %s %s, k = %s", b.Expanded.Text(), b.Unit, b.K.Text())
			}
		}
	case "figures":
		for _, f := range u.Figures {
			if name == strings.TrimSuffix(f.Name+", "+f.At, ", ") {
				return fmt.Sprintf("measured %s %s, model %s, |En| %s", f.Measured.Value.Or("–"), f.Unit,
					f.Specified.Value.Or("–"), f.Specified.NormalizedError.Abs().Or("–"))
			}
		}
	}
	return ""
}

// everyUnit stands for a unit in the path of a change that is the same of all.
const everyUnit = "every unit"

// merged has a change that is the same of every unit once.
func (c *Comparison) merged(all []Change) []Change {
	if c.oneUnit() {
		return all
	}
	key := func(x Change) string {
		if x.Path[0] != "units" || len(x.Path) < 3 {
			return ""
		}
		return strings.Join(append(slices.Clone(x.Path[2:]), x.Was, x.Is), "\x00")
	}
	count := map[string]int{}
	for _, x := range all {
		count[key(x)]++
	}
	var kept []Change
	for _, x := range all {
		k := key(x)
		switch n := count[k]; {
		case n < 0: // said already
		case k == "" || n < len(c.New.Record.Units):
			kept = append(kept, x)
		default:
			x.Path = slices.Clone(x.Path)
			x.Path[1], count[k] = everyUnit, -1
			kept = append(kept, x)
		}
	}
	return kept
}

// oneUnit tells whether both records are of one unit, so that it need not be named at every change.
func (c *Comparison) oneUnit() bool {
	return len(c.Old.Record.Units) == 1 && len(c.New.Record.Units) == 1
}

func units(r *record.Record) string {
	var all []string
	for _, u := range r.Units {
		if u.Unit != "" {
			all = append(all, u.Unit)
		}
	}
	return listed(all, ", ")
}

// listed joins what may be too much for a line.
func listed(all []string, between string) string {
	const most = 8
	if n := len(all) - most; n > 0 {
		return strings.Join(all[:most], between) + fmt.Sprintf("%sand %d more", between, n)
	}
	return strings.Join(all, between)
}

// verdicts are those of the new record, each with what it was. Of several units each judgement is as good as that of
// the worst, and its sentence names the units whose outcome is another now.
func verdicts(was, is *record.Record) []document.Verdict {
	if len(is.Units) > 1 {
		return together(was, is)
	}
	var all []document.Verdict
	for _, u := range is.Units {
		for k, v := range u.Verdicts {
			then, most := before(was, is, u, k), longestSentence
			if then == asBefore {
				most /= 3
			}
			all = append(all, document.Verdict{Subject: v.Subject, Outcome: outcomes[v.Outcome],
				Sentence: document.Signs(cut(then+": "+v.Sentence, most))})
		}
	}
	return all
}

const asBefore = "as before"

// longestSentence is what of a verdict stands on the first page, less where it is as before; all of it is in the new
// report.
const longestSentence = 300

var outcomes = map[string]document.Outcome{"pass": document.Pass, "fail": document.Fail,
	"undecided": document.Undecided}

// before says what the k-th verdict of a unit was in the old record.
func before(was, is *record.Record, u record.Unit, k int) string {
	for _, o := range was.Units {
		if (o.Unit == u.Unit || len(was.Units) == 1 && len(is.Units) == 1) && k < len(o.Verdicts) {
			if o.Verdicts[k].Outcome == u.Verdicts[k].Outcome {
				return asBefore
			}
			return "was " + o.Verdicts[k].Outcome
		}
	}
	return "there was none before"
}

func together(was, is *record.Record) []document.Verdict {
	var all []document.Verdict
	rank := []string{"fail", "undecided", "not examined", "pass"} // the worst first
	for k, first := range is.Units[0].Verdicts {
		worst, passed := len(rank)-1, 0
		var changed []string
		for _, u := range is.Units {
			if k >= len(u.Verdicts) {
				continue
			}
			outcome := u.Verdicts[k].Outcome
			worst = min(worst, max(slices.Index(rank, outcome), 0))
			if outcome == "pass" {
				passed++
			}
			if b := before(was, is, u, k); b != asBefore {
				changed = append(changed, fmt.Sprintf("%s: %s, %s", u.Unit, outcome, b))
			}
		}
		sentence := document.Passing(passed, len(is.Units), "unit") + "; "
		if len(changed) == 0 {
			sentence += "every unit as before"
		} else {
			sentence += listed(changed, "; ")
		}
		all = append(all, document.Verdict{Subject: first.Subject, Outcome: outcomes[rank[worst]], Sentence: sentence})
	}
	return all
}

// what names the place of a change, without the words that its group says already.
func (x Change) what(oneUnit bool) string {
	var parts []string
	for i, p := range x.Path {
		switch unit := x.Path[0] == "units"; {
		case i == 0 && len(x.Path) > 1, unit && i == 2 && len(x.Path) > 3, unit && i == 3 && p == "fitted", unit &&
			oneUnit && i == 1 && len(x.Path) > 2:
			continue
		case unit && i == 1 && p != everyUnit:
			p = "unit " + p
		}
		parts = append(parts, spoken(p))
	}
	return strings.Join(parts, ", ")
}

// spoken words the name of a field or of a quantity as people say it.
func spoken(name string) string {
	words := strings.Fields(strings.ReplaceAll(name, "_", " "))
	for i, w := range words {
		for _, letters := range []string{"pdl", "dgd"} {
			if strings.TrimRight(w, ",:") == letters {
				words[i] = strings.ToUpper(w)
			}
		}
	}
	return strings.Join(words, " ")
}

func shown(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

// Difference returns new less old where both are numbers, with the decimals of the finer one and a sign; else "".
func (x Change) Difference() string {
	if n := len(x.Path); n > 0 && slices.Contains([]string{"unit", "lot", "number", "name", "sha256"}, x.Path[n-1]) ||
		slices.Contains(x.Path, "metadata") {
		return "" // what something is called
	}
	a, okA := new(big.Rat).SetString(x.Was)
	b, okB := new(big.Rat).SetString(x.Is)
	if !okA || !okB {
		return ""
	}
	d := new(big.Rat).Sub(b, a)
	s := d.FloatString(max(decimals(x.Was), decimals(x.Is)))
	if d.Sign() > 0 {
		s = "+" + s
	}
	return s
}

func decimals(s string) int {
	if at := strings.IndexByte(s, '.'); at >= 0 {
		return len(s) - at - 1
	}
	return 0
}
