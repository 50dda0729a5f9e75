package changes

import (
	"encoding/json"
	"fmt"
	"slices"

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

// kinds are tried in their order, which is that of the document: what somebody changed, then what followed from it. A
// change belongs to the first that takes it, and the last takes all.
var kinds = []kind{
	{"Limits", func(p []string) bool {
		return under("units", "*", "limits")(p) &&
			(len(p) == 4 || slices.Contains([]string{"limit", "rule", "over", "unit"}, p[4]))
	}},
	{"Settings", under("settings")},
	{"Parameters of the model", under("units", "*", "model")},
	{"Inputs", under("inputs")},
	{"Constants", under("constants")},
	{"Notebook", under("notebook")},
	{"Program", func(p []string) bool { return under("program")(p) || under("fonts")(p) }},
	{"Identification", func(p []string) bool {
		return under("header")(p) || under("issued")(p) || under("number")(p) || under("supersedes")(p)
	}},
	{"Verdicts", under("units", "*", "verdicts")},
	{"Margins", under("units", "*", "limits")},
	{"Fitted parameters", func(p []string) bool {
		return under("units", "*", "diagnosis", "fitted")(p) || under("units", "*", "diagnosis", "causes")(p)
	}},
	{"Figures against the model", under("units", "*", "figures")},
	{"Diagnosis", func(p []string) bool {
		return under("units", "*", "diagnosis")(p) && !under("units", "*", "diagnosis", "explanations")(p)
	}},
	{"Uncertainty", under("units", "*", "budgets")},
	{"Data quality", under("units", "*", "checks")},
	{"Leak", under("units", "*", "leaks")},
	{"Lots", under("lots")},
	{"Explanations tried", under("units", "*", "diagnosis")},
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

// pair returns the two records as they are to be compared: one unit each is the same unit of a new build, or another
// one in its place, and is compared as one.
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

// Bytes returns the comparison as JSON, indented.
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
	}{"wedgework changes", 1, file{c.Old.Name, c.Old.SHA256}, file{c.New.Name, c.New.SHA256}, c.Same(), groups}, "",
		"  ")
	if err != nil {
		return nil, fmt.Errorf("the changes cannot be written: %w", err)
	}
	return append(data, '\n'), nil
}
