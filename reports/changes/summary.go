package changes

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

// The summary is what stands on the first page: what has consequences, the worst first, and in a line each what was
// changed. How much of each is shown is bounded so that the page can precede the new report by itself; the sections
// behind it have the rest.
const (
	mostMargins    = 4
	mostParameters = 2
	mostNamed      = 2 // changes that a line names
	longest        = 80
)

// summary has the blocks of the first page.
func (c *Comparison) summary() []document.Block {
	if c.Same() {
		return nil
	}
	var b []document.Block
	b = append(b, c.margins()...)
	b = append(b, c.parameters()...)
	lines := document.Fields{Caption: "Further changes"}
	for _, title := range []string{"Limits", "Settings", "Parameters of the model", "Inputs", "Constants", "Notebook",
		"Program"} {
		if text := c.line(title); text != "" {
			lines.Rows = append(lines.Rows, document.Field{Name: title, Value: document.Signs(text)})
		}
	}
	if len(c.Moved) > 0 {
		lines.Rows = append(lines.Rows, document.Field{Name: "Last digits", Value: movedLine(c.Moved)})
	}
	if len(lines.Rows) > 0 {
		b = append(b, lines)
	}
	return b
}

// movedLine says in one line how many results moved by their last digit, and where.
func movedLine(moved []Change) string {
	var order []string
	count := map[string]int{}
	for _, m := range moved {
		for _, k := range kinds {
			if k.belongs(m.Path) {
				if count[k.title] == 0 {
					order = append(order, k.title)
				}
				count[k.title]++
				break
			}
		}
	}
	slices.SortStableFunc(order, func(x, y string) int {
		return cmp.Compare(slices.Index(ranking, x), slices.Index(ranking, y))
	})
	for i, title := range order {
		order[i] = fmt.Sprintf("%s %d", strings.ToLower(title), count[title])
	}
	if len(moved) == 1 {
		return "One result moved by one unit of its last digit: " + order[0] + "."
	}
	return fmt.Sprintf("%d results moved by one unit of their last digit: %s.", len(moved), strings.Join(order, ", "))
}

// line says in short what changed of a group; "" when nothing did.
func (c *Comparison) line(title string) string {
	at := slices.IndexFunc(c.Groups, func(g Group) bool { return g.Title == title })
	if at < 0 {
		return ""
	}
	if title == "Notebook" {
		return c.cellLine()
	}
	if title == "Inputs" || title == "Constants" || title == "Program" {
		return c.nameLine(title, c.Groups[at].Changes)
	}
	all := c.merged(c.Groups[at].Changes)
	var parts []string
	for _, x := range all[:min(len(all), mostNamed)] {
		what := strings.TrimSuffix(x.what(c.oneUnit()), ", value")
		if title == "Limits" && (len(x.Path) == 4 || len(x.Path) == 5) {
			what = limitText(x, c.oneUnit())
		}
		switch {
		case x.Was == "":
			what += ": new"
		case x.Is == "":
			what += ": removed"
		default:
			what += ": " + x.Was + " → " + x.Is
		}
		parts = append(parts, cut(what, longest))
	}
	return cut(strings.Join(parts, "; "), 2*longest) + more(len(all)-mostNamed)
}

// limitText names what a limit bounds, and its range where that is not what changed.
func limitText(x Change, oneUnit bool) string {
	parts := strings.SplitN(spoken(x.Path[3]), ", ", 3)
	text := strings.Join(parts[:min(len(parts), 2)], " ")
	if !oneUnit {
		text = x.Path[1] + ": " + text
	}
	switch {
	case len(x.Path) > 4 && x.Path[4] != "limit":
		text += " " + x.Path[4]
	case len(parts) == 3:
		text += " (" + parts[2] + ")"
	}
	return text
}

func more(n int) string {
	if n < 1 {
		return ""
	}
	return fmt.Sprintf("; and %d more", n)
}

// nameLine names what is another file, another set of constants or another program now.
func (c *Comparison) nameLine(title string, all []Change) string {
	if title == "Program" {
		return cut(programText(c.Old.Record.Program)+" → "+programText(c.New.Record.Program), longest)
	}
	var names []string
	for _, x := range all {
		if len(x.Path) > 1 && !slices.Contains(names, x.Path[1]) {
			names = append(names, x.Path[1])
		}
	}
	shown := make([]string, 0, mostNamed)
	for _, n := range names[:min(len(names), mostNamed)] {
		if title == "Inputs" {
			n += files(all, n)
		}
		shown = append(shown, cut(n, longest))
	}
	return cut(strings.Join(shown, "; "), longest) + more(len(names)-mostNamed)
}

// files says which file an input was bound to and is now.
func files(all []Change, input string) string {
	for _, x := range all {
		if len(x.Path) == 4 && x.Path[1] == input && x.Path[2] == "file" && x.Path[3] == "name" {
			return ": " + x.Was + " → " + x.Is
		}
	}
	return ": other content"
}

func programText(p record.Program) string {
	return strings.TrimSpace(p.Name + " " + p.Version + ", " + p.Go)
}

func (c *Comparison) cellLine() string {
	if c.Unread {
		return "changed; give compare the PDF of both reports to see which cells"
	}
	var parts []string
	for _, x := range c.Cells {
		n := x.called()
		parts = append(parts, strings.ToLower(n[:1])+n[1:])
	}
	if len(parts) == 0 {
		return "changed; its cells are the same"
	}
	const most = 8
	return strings.Join(parts[:min(len(parts), most)], "; ") + more(len(parts)-most)
}

// cut shortens a text that would take more than a line or two, after a word where one ends near.
func cut(s string, most int) string {
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	short := string(r[:most-1])
	const near = 20 // bytes
	if at := strings.LastIndexByte(short, ' '); r[most-1] != ' ' && at > 0 && at > len(short)-near {
		short = short[:at]
	}
	return strings.TrimRight(short, " ,;:") + "…"
}

// marginRow is a limit whose outcome or margin changed.
type marginRow struct {
	unit    string
	was, is *record.Limit // nil: there is none
	worse   int           // steps from pass by undecided to fail
	gain    float64       // of margin, in expanded uncertainties
}

// margins are the limits by what became of them: first those with a worse outcome, then by how much margin was lost
// in expanded uncertainties, by which quantities of different kinds can be told apart.
func (c *Comparison) margins() []document.Block {
	var rows []marginRow
	for _, p := range c.units() {
		for _, l := range limitPairs(p.was, p.is) {
			l.unit = p.is.Called()
			if l.counts() {
				rows = append(rows, l)
			}
		}
	}
	if len(rows) == 0 {
		return nil
	}
	slices.SortStableFunc(rows, func(a, b marginRow) int {
		return cmp.Or(cmp.Compare(b.worse, a.worse), cmp.Compare(a.gain, b.gain))
	})
	t := document.Table{Caption: "Margins", Columns: []document.Column{{Head: "Limit"},
		{Head: "Old", Align: document.Right}, {Head: "New", Align: document.Right},
		{Head: "Difference", Align: document.Right}, {Head: "Outcome"}}}
	for _, r := range rows[:min(len(rows), mostMargins)] {
		t.Rows = append(t.Rows, r.cells(c.oneUnit()))
	}
	if len(rows) > mostMargins {
		t.Caption += fmt.Sprintf(", the first %d of %d that changed", mostMargins, len(rows))
	}
	return []document.Block{t}
}

// unitPair is a unit in both records.
type unitPair struct{ was, is record.Unit }

func (c *Comparison) units() (all []unitPair) {
	for _, u := range c.New.Record.Units {
		for _, o := range c.Old.Record.Units {
			if o.Unit == u.Unit || c.oneUnit() {
				all = append(all, unitPair{o, u})
				break
			}
		}
	}
	return all
}

// limitPairs matches limits as the list of changes does: by quantity, rule and range, then by what they bound.
func limitPairs(was, is record.Unit) (all []marginRow) {
	elements := func(ls []record.Limit) (all []element) {
		for _, l := range ls {
			v := map[string]any{"quantity": l.Quantity, "rule": l.Rule, "over": l.Over}
			all = append(all, element{nameOf(v), v})
		}
		return all
	}
	partner := matched(elements(was.Limits), elements(is.Limits))
	taken := make([]bool, len(is.Limits))
	for i := range was.Limits {
		r := marginRow{was: &was.Limits[i]}
		if j := partner[i]; j >= 0 {
			r.is, taken[j] = &is.Limits[j], true
		}
		all = append(all, r.weighed())
	}
	for j := range is.Limits {
		if !taken[j] {
			all = append(all, marginRow{is: &is.Limits[j]}.weighed())
		}
	}
	return all
}

var severity = []string{"pass", "undecided", "fail"}

func (r marginRow) weighed() marginRow {
	if r.was == nil || r.is == nil {
		r.worse = 3 // a limit more or less stands first
		return r
	}
	step := func(o string) int { return max(slices.Index(severity, o), 0) }
	r.worse = step(r.is.Outcome) - step(r.was.Outcome)
	r.gain = r.is.Margin.Float() - r.was.Margin.Float()
	if u := max(r.is.Uncertainty.Float(), r.was.Uncertainty.Float()); u > 0 {
		r.gain /= u
	}
	if math.IsNaN(r.gain) {
		r.gain = 0
	}
	return r
}

// counts reports whether a limit is another one, or its outcome or margin is, by more than the last digit.
func (r marginRow) counts() bool {
	return r.was == nil || r.is == nil || r.was.Outcome != r.is.Outcome ||
		r.was.Margin != r.is.Margin && !lastDigit(string(r.was.Margin), string(r.is.Margin))
}

func (r marginRow) cells(oneUnit bool) []string {
	l := cmp.Or(r.is, r.was)
	what := spoken(l.Quantity) + " " + l.Rule + " " + l.Limit.Text() + " " + l.Unit + ", " + l.Over
	if !oneUnit {
		what = r.unit + ": " + what
	}
	var old, now, difference, outcome string
	if r.was != nil {
		old, outcome = r.was.Margin.Or("–"), r.was.Outcome+", no longer asked"
	}
	if r.is != nil {
		now, outcome = r.is.Margin.Or("–"), r.is.Outcome
	}
	switch {
	case r.was == nil:
		outcome += ", new"
	case r.is != nil:
		difference = Change{Was: string(r.was.Margin), Is: string(r.is.Margin)}.Difference()
		if r.was.Outcome != r.is.Outcome {
			outcome += ", was " + r.was.Outcome
		}
	}
	return []string{document.Signs(cut(what, longest)), old, now, document.Signs(difference), outcome}
}

// parameters are the fitted ones that moved, the furthest in their uncertainties first; one that left its tolerance
// stands before all.
func (c *Comparison) parameters() []document.Block {
	type row struct {
		cells []string
		left  bool
		far   float64
	}
	var rows []row
	for _, p := range c.units() {
		for _, f := range p.is.Diagnosis.Fitted {
			at := slices.IndexFunc(p.was.Diagnosis.Fitted, func(g record.Fitted) bool { return g.Name == f.Name })
			if at < 0 {
				continue
			}
			g := p.was.Diagnosis.Fitted[at]
			if f.Within == g.Within && (f.Value == g.Value || lastDigit(string(g.Value), string(f.Value))) {
				continue
			}
			what, within := f.Name, f.Within
			if !c.oneUnit() {
				what = p.is.Called() + ": " + what
			}
			if f.Within != g.Within {
				within += ", was " + g.Within
			}
			far := math.Abs(f.Value.Float() - g.Value.Float())
			if u := max(f.Uncertainty.Float(), g.Uncertainty.Float()); u > 0 {
				far /= u
			}
			rows = append(rows, row{[]string{cut(what, longest),
				g.Value.Text() + " " + g.Unit, f.Value.Text() + " " + f.Unit,
				document.Signs(Change{Was: string(g.Value), Is: string(f.Value)}.Difference()), within},
				f.Within == "fail" && g.Within != "fail", far})
		}
	}
	if len(rows) == 0 {
		return nil
	}
	slices.SortStableFunc(rows, func(a, b row) int {
		if a.left != b.left {
			return map[bool]int{true: -1, false: 1}[a.left]
		}
		return cmp.Compare(b.far, a.far)
	})
	t := document.Table{Caption: "Fitted parameters", Columns: []document.Column{{Head: "Parameter"},
		{Head: "Old", Align: document.Right}, {Head: "New", Align: document.Right},
		{Head: "Difference", Align: document.Right}, {Head: "Within its tolerance"}}}
	for _, r := range rows[:min(len(rows), mostParameters)] {
		t.Rows = append(t.Rows, r.cells)
	}
	if len(rows) > mostParameters {
		t.Caption += fmt.Sprintf(", the first %d of %d that moved", mostParameters, len(rows))
	}
	return []document.Block{t}
}
