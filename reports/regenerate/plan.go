package regenerate

import (
	"bytes"
	"fmt"
	"slices"
	"time"

	"github.com/pelletier/go-toml/v2"

	"wedgework/reports/job"
)

// Plan is a file that says which reports there are, as checked by ReadPlan.
type Plan struct {
	Path    string // of the plan; paths in it are relative to its folder
	Workers int    // 0: as many as there are processors
	Entries []Entry
}

// Entry is one table of the plan: a notebook and the reports it makes. Paths in it are as they are written.
type Entry struct {
	Line     int // of the table's head
	At       job.Place
	Notebook job.File
	Data     []Binding // sorted by the name of the input
	Lead     int       // index of the Binding whose files make the reports; -1 when no pattern has groups or wildcards
	Per      string    // "file", or the group whose every value makes a report
	Settings []Setting // sorted by name
	Output   template
	OutputAt job.Place
	Fonts    []job.File
	Roots    []job.File
	Issued   job.Text // a date to be printed; none when empty
	Paper    job.Text // "a4" or "letter"; the notebook's when empty
	Number   template // of the report; empty for one of its own
	NumberAt job.Place
	Signing  []job.Signing // sorted by role
	Remake   Remake
	Bounds   job.Bounds
}

// Remake says what a change of the program, or of a constant in it, does to reports whose inputs are the same.
type Remake string

// What remake = "..." can be.
const (
	RemakeInputs  Remake = "inputs"  // nothing: the report stands
	RemakeFigures Remake = "figures" // it is made again in memory, and in its place when a printed figure changes
	RemakeAlways  Remake = "always"  // it is made again
)

// Binding ties a named input to the files that match a pattern.
type Binding struct {
	Name    string
	At      job.Place
	Pattern *Pattern
}

// Setting replaces a setting of the notebook by an expression, in which groups are put.
type Setting struct {
	Name  string
	At    job.Place
	Value template
}

// DefaultBounds hold where a plan says nothing. A demonstration report takes under a second and some 100 MB;
// these bounds (a choice) leave a factor of a hundred and of ten.
var DefaultBounds = job.Bounds{Time: 2 * time.Minute, Memory: 1 << 30}

// Words of "per" that are no groups of a pattern: the file itself, and what a file of readings says of itself.
const (
	PerFile = "file"
	PerUnit = "unit"
	PerLot  = "lot"
)

// planFile is a plan as it is written.
type planFile struct {
	Workers int           `toml:"workers"`
	Time    string        `toml:"time"`
	Memory  string        `toml:"memory"`
	Fonts   []string      `toml:"fonts"`
	Roots   []string      `toml:"roots"`
	Issued  string        `toml:"issued"`
	Paper   string        `toml:"paper"`
	Sign    any           `toml:"sign"`
	Remake  string        `toml:"remake"`
	Report  []reportTable `toml:"report"`
}

type reportTable struct {
	Notebook string            `toml:"notebook"`
	Data     map[string]string `toml:"data"`
	Per      string            `toml:"per"`
	Lead     string            `toml:"lead"`
	Set      map[string]string `toml:"set"`
	Output   string            `toml:"output"`
	Time     string            `toml:"time"`
	Memory   string            `toml:"memory"`
	Fonts    []string          `toml:"fonts"`
	Roots    []string          `toml:"roots"`
	Issued   string            `toml:"issued"`
	Paper    string            `toml:"paper"`
	Number   string            `toml:"number"`
	Sign     any               `toml:"sign"`
	Remake   string            `toml:"remake"`
}

// The keys of a plan, for the nearest spelling.
var planKeys = []string{"workers", "time", "memory", "fonts", "roots", "issued", "paper", "report", "notebook", "data",
	"per", "lead", "set", "output", "number", "sign", "remake"}

// A Fault is something wrong in a plan.
type Fault struct {
	Plan    string
	Line    int // 0: the plan as a whole
	Message string
}

func (f *Fault) Error() string {
	if f.Line == 0 {
		return f.Plan + ": " + f.Message
	}
	return fmt.Sprintf("%s:%d: %s", f.Plan, f.Line, f.Message)
}

// ReadPlan reads a plan. All that is wrong with it comes back at once, a *Fault each, in the order of the lines.
func ReadPlan(path string, data []byte) (*Plan, error) {
	r := &planReader{path: path}
	var file planFile
	d := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields()
	if err := d.Decode(&file); err != nil && !r.undecoded(err) {
		return nil, r.err()
	} else if err != nil {
		// Keys are misspelt: what stands in the others is checked too, so that one run names all.
		r.misspelt, file = true, planFile{}
		if err := toml.Unmarshal(data, &file); err != nil {
			r.undecoded(err)
			return nil, r.err()
		}
	}
	r.lines = lineNumbers(data)
	p := &Plan{Path: path, Workers: file.Workers}
	if p.Workers < 0 {
		r.fault("workers", "found %d workers, expected at least 1", p.Workers)
	}
	if len(file.Report) == 0 {
		r.fault("", "found no [[report]], expected at least one")
	}
	all := r.bounds("", file.Time, file.Memory, DefaultBounds)
	signing, remake := r.signing("sign", file.Sign), r.remake("remake", file.Remake, RemakeFigures)
	fonts, roots := r.named("fonts", "fonts", file.Fonts), r.named("roots", "roots", file.Roots)
	for i, t := range file.Report {
		key := fmt.Sprintf("report.%d", i)
		e := r.entry(key, t, all)
		e.Remake = r.remake(key+".remake", t.Remake, remake)
		if e.Signing == nil {
			e.Signing = signing
		}
		e.Fonts = slices.Concat(fonts, e.Fonts)
		e.Roots = slices.Concat(roots, e.Roots)
		if e.Issued.Text == "" {
			e.Issued = r.issued("issued", file.Issued)
		}
		if e.Paper.Text == "" {
			e.Paper = r.paper("paper", file.Paper)
		}
		p.Entries = append(p.Entries, e)
	}
	if err := r.err(); err != nil {
		return nil, err
	}
	return p, nil
}
