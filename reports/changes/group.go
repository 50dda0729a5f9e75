package changes

import (
	"encoding/json"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/record"
)

// Revision is one of the two records that are compared.
type Revision struct {
	Name   string // base name of its file
	SHA256 string // of the record
	Record *record.Record
	JSON   []byte
}

// Comparison is what differs between two revisions.
type Comparison struct {
	Old, New Revision
	Groups   []Group // in the order of groups; none is empty
}

// Group holds the changes of one kind.
type Group struct {
	Title   string   `json:"title"`
	Changes []Change `json:"changes"`
}

// kind tells to which group a change belongs, by its path.
type kind struct {
	title   string
	belongs func(path []string) bool
}

// kinds are tried in their order; a change belongs to the first that takes it, and the last takes all.
var kinds = []kind{
	{"Verdicts", under("units", "*", "verdicts")},
	{"Limits", func(p []string) bool {
		return under("units", "*", "limits")(p) && (len(p) == 4 || slices.Contains([]string{"limit", "rule", "over", "unit"}, p[4]))
	}},
	{"Margins", under("units", "*", "limits")},
	{"Fitted parameters", under("units", "*", "diagnosis")},
	{"Figures against the model", under("units", "*", "figures")},
	{"Inputs", under("inputs")},
	{"Settings", under("settings")},
	{"Constants", under("constants")},
	{"Parameters of the model", under("units", "*", "model")},
	{"Uncertainty", under("units", "*", "budgets")},
	{"Notebook", under("notebook")},
	{"Identification", func(p []string) bool { return under("header")(p) || under("issued")(p) }},
	{"Program", func(p []string) bool { return under("program")(p) || under("fonts")(p) }},
	{"Other", func([]string) bool { return true }},
}

func under(pattern ...string) func([]string) bool {
	return func(path []string) bool {
		if len(path) < len(pattern) {
			return false
		}
		for i, p := range pattern {
			if p != "*" && p != path[i] {
				return false
			}
		}
		return true
	}
}

// Compare groups what differs between two records. The executed notebook is left out: it follows from the rest, and its
// figures are those of the record.
func Compare(was, is Revision) (*Comparison, error) {
	all, err := Of(pair(was, is))
	if err != nil {
		return nil, err
	}
	c := &Comparison{Old: was, New: is}
	for _, k := range kinds {
		g := Group{Title: k.title}
		all = slices.DeleteFunc(all, func(d Change) bool {
			taken := k.belongs(d.Path)
			if taken && d.Path[0] != "executed" {
				g.Changes = append(g.Changes, d)
			}
			return taken
		})
		if len(g.Changes) > 0 {
			c.Groups = append(c.Groups, g)
		}
	}
	return c, nil
}

// pair returns the two records as they are to be compared: one unit each is the same unit of a new build, or another one
// in its place, and is compared as one.
func pair(was, is Revision) (a, b []byte) {
	if len(was.Record.Units) != 1 || len(is.Record.Units) != 1 || was.Record.Units[0].Unit == is.Record.Units[0].Unit {
		return was.JSON, is.JSON
	}
	both := was.Record.Units[0].Unit + " / " + is.Record.Units[0].Unit
	return renamed(was, both), renamed(is, both)
}

func renamed(r Revision, name string) []byte {
	var fields map[string]json.RawMessage
	var units []map[string]json.RawMessage
	if json.Unmarshal(r.JSON, &fields) != nil || json.Unmarshal(fields["units"], &units) != nil || len(units) != 1 {
		return r.JSON
	}
	units[0]["unit"], _ = json.Marshal(name)
	fields["units"], _ = json.Marshal(units)
	out, err := json.Marshal(fields)
	if err != nil {
		return r.JSON
	}
	return out
}

// Same tells whether nothing differs.
func (c *Comparison) Same() bool { return len(c.Groups) == 0 }

// JSON returns the comparison as JSON, indented.
func (c *Comparison) Bytes() ([]byte, error) {
	type file struct {
		Name   string `json:"name"`
		SHA256 string `json:"sha256"`
	}
	groups := c.Groups
	if groups == nil {
		groups = []Group{}
	}
	data, err := json.MarshalIndent(struct {
		Schema  string  `json:"schema"`
		Version int     `json:"version"`
		Old     file    `json:"old"`
		New     file    `json:"new"`
		Same    bool    `json:"same"`
		Groups  []Group `json:"groups"`
	}{"wedgework changes", 1, file{c.Old.Name, c.Old.SHA256}, file{c.New.Name, c.New.SHA256}, c.Same(), groups}, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("the changes cannot be written: %w", err)
	}
	return append(data, '\n'), nil
}

// Document lays the comparison out, to be read alone or in front of the new report.
func (c *Comparison) Document() document.Document {
	h := c.New.Record.Header
	d := document.Document{
		Title: "Changes: " + h.Title, Subtitle: "What differs between two records",
		Number: h.Part, Revision: h.Revision,
	}
	for _, f := range []struct{ name, was, is string }{
		{"Record", c.Old.Name, c.New.Name},
		{"SHA-256", c.Old.SHA256, c.New.SHA256},
		{"Revision", c.Old.Record.Header.Revision, h.Revision},
		{"Change record", c.Old.Record.Header.Change, h.Change},
		{"Issued", c.Old.Record.Issued, c.New.Record.Issued},
	} {
		if f.was != "" {
			d.Identity = append(d.Identity, document.Field{Name: f.name + ", old", Value: f.was})
		}
		if f.is != "" {
			d.Identity = append(d.Identity, document.Field{Name: f.name + ", new", Value: f.is})
		}
	}
	for _, v := range verdicts(c.Old.Record, c.New.Record) {
		d.Verdicts = append(d.Verdicts, v)
	}
	if c.Same() {
		d.Sections = append(d.Sections, document.Section{Title: "Changes", Level: 1, Blocks: []document.Block{document.Plain("Nothing differs.")}})
	}
	for _, g := range c.Groups {
		t := document.Table{Columns: []document.Column{{Head: "What"}, {Head: "Old", Align: document.Right}, {Head: "New", Align: document.Right}, {Head: "Difference", Align: document.Right}}}
		for _, x := range g.Changes {
			t.Rows = append(t.Rows, []string{x.What(), shown(x.Was), shown(x.Is), x.Difference()})
		}
		if !slices.ContainsFunc(g.Changes, func(x Change) bool { return x.Difference() != "" }) {
			t.Columns = t.Columns[:3]
			t.Columns[1].Align, t.Columns[2].Align = document.Left, document.Left
			for i := range t.Rows {
				t.Rows[i] = t.Rows[i][:3]
			}
		}
		d.Sections = append(d.Sections, document.Section{Title: g.Title, Level: 1, Blocks: []document.Block{t}})
	}
	return d
}

// verdicts are those of the new record, each with what it was.
func verdicts(was, is *record.Record) []document.Verdict {
	var all []document.Verdict
	outcomes := map[string]document.Outcome{"pass": document.Pass, "fail": document.Fail, "undecided": document.Undecided}
	for i, u := range is.Units {
		for k, v := range u.Verdicts {
			subject := v.Subject
			if len(is.Units) > 1 {
				subject = "unit " + u.Unit + ": " + subject
			}
			before := "there was none before"
			for j, o := range was.Units {
				if (o.Unit == u.Unit || len(was.Units) == 1 && len(is.Units) == 1 && i == j) && k < len(o.Verdicts) {
					before = "was " + o.Verdicts[k].Outcome
					if o.Verdicts[k].Outcome == v.Outcome {
						before = "as before"
					}
				}
			}
			all = append(all, document.Verdict{Subject: subject, Outcome: outcomes[v.Outcome], Sentence: before + ": " + v.Sentence})
		}
	}
	return all
}

// What names the place of a change, without the words that its group says already.
func (x Change) What() string {
	var parts []string
	for i, p := range x.Path {
		switch {
		case i == 0 && len(x.Path) > 1, i == 2 && x.Path[0] == "units" && len(x.Path) > 3:
			continue
		case i == 1 && x.Path[0] == "units":
			p = "unit " + p
		}
		parts = append(parts, strings.ReplaceAll(p, "_", " "))
	}
	return strings.Join(parts, ", ")
}

func shown(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

// Difference returns new less old where both are numbers, with the decimals of the finer one and a sign; else "".
func (x Change) Difference() string {
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
