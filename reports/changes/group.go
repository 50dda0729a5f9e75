package changes

import (
	"cmp"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"wedgework/reports/record"
)

// Revision is one of the two records that are compared.
type Revision struct {
	Name   string // base name of its file
	SHA256 string // of the record
	Record *record.Record
	JSON   []byte

	// Notebook is the notebook that was run, with outputs or without; nil where it is not known.
	Notebook []byte
}

// Comparison is what differs between two revisions.
type Comparison struct {
	Old, New Revision
	Groups   []Group  // by consequence: verdicts, margins, parameters, then what was changed; none is empty
	Moved    []Change // results that moved by one unit of their last digit, which are in no group
	Cells    []Cell
	Unread   bool // that the cells differ is known, and not how: a notebook is missing
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

// kinds are tried in their order: a change belongs to the first that takes it, and the last takes all.
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

// ranking is the order of the groups by consequence: what is decided, what it rests on, then what somebody changed,
// then the particulars.
var ranking = []string{"Verdicts", "Margins", "Fitted parameters", "Diagnosis", "Limits", "Settings",
	"Parameters of the model", "Inputs", "Constants", "Notebook", "Program", "Identification",
	"Figures against the model", "Lots", "Uncertainty", "Data quality", "Leak", "Explanations tried", "Other"}

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
	a, b, err := pair(was, is)
	if err != nil {
		return nil, err
	}
	var d differ
	d.values(nil, a, b)
	all := d.found
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
		c.Moved = append(c.Moved, fold(&g)...)
		if len(g.Changes) > 0 {
			c.Groups = append(c.Groups, g)
		}
	}
	slices.SortStableFunc(c.Groups, func(x, y Group) int {
		return cmp.Compare(slices.Index(ranking, x.Title), slices.Index(ranking, y.Title))
	})
	return c, c.compareCells()
}

// compareCells compares the notebooks when they are not the same file.
func (c *Comparison) compareCells() (err error) {
	if c.Old.Record.Notebook.SHA256 == c.New.Record.Notebook.SHA256 {
		return nil
	}
	if c.Old.Notebook == nil || c.New.Notebook == nil {
		c.Unread = true
		return nil
	}
	c.Cells, err = Cells(c.Old.Notebook, c.New.Notebook)
	return err
}

// pair returns the two records as they are to be compared: one unit each is the same unit of a new build, or another
// one in its place, and is compared as one; and readings and checks are called by the limits that they are about, not
// by the numbers of those, which shift when a limit is added.
func pair(was, is Revision) (a, b any, err error) {
	if a, err = decode(was.JSON); err != nil {
		return nil, nil, err
	}
	if b, err = decode(is.JSON); err != nil {
		return nil, nil, err
	}
	single := boundOnce(was.Record, is.Record)
	for v, r := range map[*any]*record.Record{&a: was.Record, &b: is.Record} {
		units := unitsOf(*v)
		if len(was.Record.Units) == 1 && len(is.Record.Units) == 1 && len(units) == 1 &&
			was.Record.Units[0].Unit != is.Record.Units[0].Unit {
			units[0]["unit"] = was.Record.Units[0].Unit + " / " + is.Record.Units[0].Unit
		}
		for i, u := range units {
			if i < len(r.Units) {
				nameLimits(u, r.Units[i].Limits, single)
			}
		}
	}
	return a, b, nil
}

// boundOnce tells of a quantity and a rule whether no unit has two limits of them, so that they are name enough.
func boundOnce(records ...*record.Record) func(l record.Limit) bool {
	twice := map[string]bool{}
	for _, r := range records {
		for _, u := range r.Units {
			seen := map[string]bool{}
			for _, l := range u.Limits {
				key := l.Quantity + ", " + l.Rule
				twice[key], seen[key] = twice[key] || seen[key], true
			}
		}
	}
	return func(l record.Limit) bool { return !twice[l.Quantity+", "+l.Rule] }
}

func unitsOf(v any) (all []map[string]any) {
	fields, _ := v.(map[string]any)
	list, _ := fields["units"].([]any)
	for _, u := range list {
		m, _ := u.(map[string]any)
		all = append(all, m)
	}
	return all
}

var limitNumber = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\blimit (\d+)\b`) })

func nameLimits(unit map[string]any, limits []record.Limit, single func(l record.Limit) bool) {
	for _, key := range []string{"leaks", "checks"} {
		list, _ := unit[key].([]any)
		for _, l := range list {
			m, _ := l.(map[string]any)
			name, ok := m["name"].(string)
			if !ok {
				continue
			}
			m["name"] = limitNumber().ReplaceAllStringFunc(name, func(s string) string {
				n, err := strconv.Atoi(strings.TrimPrefix(s, "limit "))
				if err != nil || n < 1 || n > len(limits) {
					return s
				}
				l := limits[n-1]
				if single(l) {
					return spoken(l.Quantity) + " " + l.Rule
				}
				return spoken(l.Quantity) + " " + l.Rule + " (" + l.Over + ")"
			})
		}
	}
}

// Same tells whether nothing differs.
func (c *Comparison) Same() bool { return len(c.Groups) == 0 && len(c.Moved) == 0 }

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
		Schema  string   `json:"schema"`
		Version int      `json:"version"`
		Old     file     `json:"old"`
		New     file     `json:"new"`
		Same    bool     `json:"same"`
		Groups  []Group  `json:"groups"`
		Moved   []Change `json:"moved_by_last_digit,omitempty"`
		Cells   []Cell   `json:"cells,omitempty"`
	}{"wedgework changes", 1, file{c.Old.Name, c.Old.SHA256}, file{c.New.Name, c.New.SHA256}, c.Same(), groups,
		c.Moved, c.Cells}, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("the changes cannot be written: %w", err)
	}
	return append(data, '\n'), nil
}
