package index

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Standing is what the run of a plan knows of one report. Says is why it is not current.
type Standing struct {
	Report string `json:"report"` // path of the PDF below the folder, with slashes
	State  State  `json:"state"`  // Current, Stale or Failed
	Says   string `json:"says,omitempty"`
}

// Options say how an index is made.
type Options struct {
	From    Source
	Program string    // name and version of the program that makes it
	Now     time.Time // stands beside the changes

	// Plan holds a Standing for every report that the plan makes; nil where no plan is at hand, and then no report is
	// called stale, failed or orphaned.
	Plan []Standing
	// Name is the path of the plan as seen from the folder, with slashes: several plans may put reports into one.
	Name string
	// Made says whether the plan made a report before, by its path below the folder: one that it made and does not make
	// any more is orphaned, and one that it never made is somebody else's. nil: it made all of them.
	Made func(report string) bool
}

// Index is what is to be shown of a folder.
type Index struct {
	Program  string
	Planned  bool
	Rows     []Row // as Sort puts them
	Series   []Series
	Changes  []Change
	Changed  string // the time of the run that Changes is about; "" where nothing is known to have changed
	Problems []Problem

	cache     *Cache
	standings []string // of each plan
}

// Change is what became of one row since the index was made before.
type Change struct {
	Report string `json:"report"`
	Unit   string `json:"unit,omitempty"`
	What   string `json:"what"`
}

// Build works out the index of a folder.
func Build(folder string, o Options) (*Index, error) {
	c := openCache(folder)
	began := o.Now.UnixNano()
	rows, problems, err := Scan(folder, o.From, cacheFor(c, o.From))
	if err != nil {
		return nil, err
	}
	x := &Index{Program: o.Program, Planned: o.Plan != nil, Problems: problems, cache: c}
	if o.Plan != nil {
		c.dropPlans(folder, o.Name)
	}
	x.Rows = c.stand(rows, o)
	Sort(x.Rows)
	Chains(x.Rows)
	x.Series = Histories(x.Rows)
	x.compare(c, o.Now)
	if o.From == Records {
		c.Written, c.Files = began, c.next
	}
	for _, name := range slices.Sorted(maps.Keys(c.Plans)) {
		x.standings = append(x.standings, c.Plans[name].Standing)
	}
	return x, nil
}

// cacheFor is the cache for a source: what was read of records says nothing of PDFs.
func cacheFor(c *Cache, from Source) *Cache {
	if from == Records {
		return c
	}
	return nil
}

// standing is a hash of what the run of a plan knows.
func standing(name string, plan []Standing) string {
	text, err := json.Marshal(struct {
		Name string
		Plan []Standing
	}{name, plan})
	if err != nil {
		panic(err) // texts in a list
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// dropPlans forgets plans that are no longer there, and the one that has been run.
func (c *Cache) dropPlans(folder, run string) {
	for name := range c.Plans {
		at := filepath.FromSlash(name)
		if !filepath.IsAbs(at) {
			at = filepath.Join(folder, at)
		}
		if _, err := os.Stat(at); name == run || errors.Is(err, fs.ErrNotExist) {
			delete(c.Plans, name)
		}
	}
}

// stand puts rows into the states that the plans and the rows among each other give them, and adds a row for each report
// that is not there. Of plans other than the one that has been run, what they knew when they were run last holds.
func (c *Cache) stand(rows []Row, o Options) []Row {
	replaced := map[string]string{}
	for _, r := range rows {
		if r.Replaces != "" {
			replaced[r.Replaces] = r.Number
		}
	}
	planned := map[string]Standing{}
	for _, s := range o.Plan {
		planned[s.Report] = s
	}
	others := c.others(o.Plan, planned)
	there := map[string]bool{}
	now := Stood{Standing: standing(o.Name, o.Plan)}
	for i := range rows {
		r := &rows[i]
		s, known := planned[r.Report]
		by, gone := replaced[r.Digest]
		switch {
		case r.State == Superseded:
		case gone && r.Digest != "":
			r.State, r.Says = Superseded, "by "+by
		case known && s.State != Current:
			r.State, r.Says = Stale, s.Says
		case !known && o.Plan != nil && (o.Made == nil || o.Made(r.Report)):
			r.State, r.Says = Orphaned, "the plan does not make it: its input is gone or the plan changed"
			if !there[r.Report] {
				now.Not = append(now.Not, Standing{r.Report, r.State, r.Says})
			}
		default:
			r.standBy(others)
		}
		there[r.Report] = true
	}
	for _, s := range o.Plan {
		if s.State != Current {
			now.Not = append(now.Not, s)
		}
	}
	for _, s := range append(slices.Clone(o.Plan), slices.Collect(maps.Values(others))...) {
		if s.State == Failed && !there[s.Report] {
			there[s.Report] = true
			rows = append(rows, Row{Report: s.Report, State: Failed, Says: s.Says})
		}
	}
	if o.Plan != nil {
		if c.Plans == nil {
			c.Plans = map[string]Stood{}
		}
		c.Plans[o.Name] = now
	}
	return rows
}

// standBy puts a row into the state that another plan than the one that has been run gives it.
func (r *Row) standBy(others map[string]Standing) {
	switch s := others[r.Report]; s.State {
	case Failed, Stale:
		r.State, r.Says = Stale, s.Says
	case Orphaned:
		r.State, r.Says = Orphaned, s.Says
	}
}

// others are the states that plans other than the one that has been run know of reports that it does not make; none
// where no plan has been run.
func (c *Cache) others(plan []Standing, planned map[string]Standing) map[string]Standing {
	all := map[string]Standing{}
	if plan == nil {
		return all
	}
	for _, p := range c.Plans {
		for _, s := range p.Not {
			if _, known := planned[s.Report]; !known {
				all[s.Report] = s
			}
		}
	}
	return all
}

// name tells rows apart from one index to the next.
func (r *Row) name() string {
	return strings.Join([]string{r.Report, r.Lot, r.called(), r.Input}, "\x00")
}

// compare lists what changed since the last index, and remembers this one. Where nothing did, the changes before stand.
func (x *Index) compare(c *Cache, now time.Time) {
	next := make(map[string]Last, len(x.Rows))
	var all []Change
	for i := range x.Rows {
		r := &x.Rows[i]
		is := Last{r.Digest, r.Verdict, r.State}
		next[r.name()] = is
		was, known := c.Last[r.name()]
		if what := is.since(was, known); what != "" {
			all = append(all, Change{r.Report, r.called(), what})
		}
	}
	for n := range c.Last {
		if _, stays := next[n]; !stays {
			parts := strings.Split(n, "\x00")
			all = append(all, Change{parts[0], parts[min(2, len(parts)-1)], "gone"})
		}
	}
	slices.SortFunc(all, func(a, b Change) int {
		return cmp.Or(strings.Compare(a.Report, b.Report), strings.Compare(a.Unit, b.Unit),
			strings.Compare(a.What, b.What))
	})
	if len(all) > 0 && c.Last != nil {
		c.Changes, c.Changed = all, now.Format("2006-01-02 15:04")
	}
	c.Last = next
	x.Changes, x.Changed = c.Changes, c.Changed
}

// since says what became of a row; "" for nothing.
func (is Last) since(was Last, known bool) string {
	outcome := func(l Last) string {
		if l.State != Current {
			return string(l.State)
		}
		return cmp.Or(l.Verdict, "no verdict")
	}
	switch {
	case !known:
		return "new: " + outcome(is)
	case outcome(was) != outcome(is):
		return fmt.Sprintf("%s, was %s", outcome(is), outcome(was))
	case was.Digest != is.Digest:
		return "made again: " + outcome(is)
	}
	return ""
}
