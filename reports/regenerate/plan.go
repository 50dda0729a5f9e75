package regenerate

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/dustin/go-humanize"
	"github.com/pelletier/go-toml/v2"

	"wedgework/reports/nearest"
)

// Plan is a file that says which reports there are, as checked by ReadPlan.
type Plan struct {
	Path    string // of the plan; paths in it are relative to its folder
	Workers int    // 0: as many as there are processors
	Entries []Entry
}

// Entry is one table of the plan: a notebook and the reports it makes.
type Entry struct {
	Line     int // of the table's head
	Notebook string
	Data     []Binding // sorted by the name of the input
	Lead     int       // index of the Binding whose files make the reports; -1 when no pattern has groups or wildcards
	Per      string    // "file", or the group whose every value makes a report
	Settings []Setting // sorted by name
	Output   template
	Fonts    []string
	Roots    []string
	Issued   string // a date to be printed; none when empty
	Limits   Limits
}

// Binding ties a named input to the files that match a pattern.
type Binding struct {
	Name    string
	Line    int
	Pattern *Pattern
}

// Setting replaces a setting of the notebook by an expression, in which groups are put.
type Setting struct {
	Name  string
	Line  int
	Value template
}

// Limits bound the making of one report. Zero is no limit.
type Limits struct {
	Time   time.Duration
	Memory uint64 // bytes of data of the process that makes it
}

// DefaultLimits hold where a plan says nothing. A demonstration report takes under a second and some 100 MB;
// these bounds (a choice) leave a factor of a hundred and of ten.
var DefaultLimits = Limits{Time: 2 * time.Minute, Memory: 1 << 30}

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
}

// The keys of a plan, for the nearest spelling.
var planKeys = []string{"workers", "time", "memory", "fonts", "roots", "issued", "report", "notebook", "data", "per", "lead", "set", "output"}

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
	all := r.limits("", file.Time, file.Memory, DefaultLimits)
	for i, t := range file.Report {
		e := r.entry(fmt.Sprintf("report.%d", i), t, all)
		e.Fonts = append(slices.Clone(file.Fonts), e.Fonts...)
		e.Roots = append(slices.Clone(file.Roots), e.Roots...)
		if e.Issued == "" {
			e.Issued = r.issued("issued", file.Issued)
		}
		p.Entries = append(p.Entries, e)
	}
	if err := r.err(); err != nil {
		return nil, err
	}
	return p, nil
}

// planReader collects what is wrong.
type planReader struct {
	path   string
	lines  map[string]int
	faults []*Fault

	misspelt bool // some keys are: one that is missing may be among them
}

// fault notes what is wrong at a key, such as "report.0.output".
func (r *planReader) fault(key, format string, args ...any) {
	if _, written := r.lines[key]; r.misspelt && !written {
		return
	}
	r.faults = append(r.faults, &Fault{Plan: r.path, Line: r.line(key), Message: fmt.Sprintf(format, args...)})
}

// line returns the line of a key, or of the table it is missing from.
func (r *planReader) line(key string) int {
	for {
		if n, ok := r.lines[key]; ok {
			return n
		}
		cut := strings.LastIndexByte(key, '.')
		if cut < 0 {
			return 0
		}
		key = key[:cut]
	}
}

func (r *planReader) err() error {
	slices.SortStableFunc(r.faults, func(a, b *Fault) int { return a.Line - b.Line })
	var errs []error
	for i, f := range r.faults {
		if i == 0 || *f != *r.faults[i-1] {
			errs = append(errs, f)
		}
	}
	return errors.Join(errs...)
}

// undecoded turns what the TOML library found into faults of ours, and reports whether it is no more than keys that a
// plan does not have.
func (r *planReader) undecoded(err error) (onlyKeys bool) {
	var unknown *toml.StrictMissingError
	if errors.As(err, &unknown) {
		for _, e := range unknown.Errors {
			line, _ := e.Position()
			key := e.Key()
			name := key[len(key)-1]
			if i := slices.IndexFunc(key, func(k string) bool { return !slices.Contains(planKeys, k) }); i >= 0 {
				name = key[i] // of a misspelt table, not what stands in it
			}
			message := fmt.Sprintf("there is no key %q in a plan", name)
			if near := nearest.To(name, planKeys); near != "" {
				message += fmt.Sprintf(": did you mean %q?", near)
			}
			r.faults = append(r.faults, &Fault{r.path, line, message})
		}
		return true
	}
	f := &Fault{Plan: r.path, Message: strings.TrimPrefix(err.Error(), "toml: ")}
	var at *toml.DecodeError
	if errors.As(err, &at) {
		f.Line, _ = at.Position()
		if m := otherType.FindStringSubmatch(f.Message); m != nil {
			f.Message = fmt.Sprintf("%s: found TOML of type %s, expected %s", strings.Join(at.Key(), "."), m[1], expectedTypes[m[2]])
		}
	}
	r.faults = append(r.faults, f)
	return false
}

// otherType is what the TOML library says of a value of another type than the key's.
var otherType = regexp.MustCompile(`^cannot decode TOML (\w+) into (?:struct field .* of|a Go value of) type (int|string|\[\]string)$`)

var expectedTypes = map[string]string{"int": "a whole number", "string": "a text in quotes", "[]string": "a list of texts in quotes"}

func (r *planReader) entry(key string, t reportTable, all Limits) Entry {
	e := Entry{
		Line: r.line(key), Notebook: t.Notebook, Lead: -1, Fonts: t.Fonts, Roots: t.Roots,
		Limits: r.limits(key, t.Time, t.Memory, all), Issued: r.issued(key+".issued", t.Issued),
	}
	if !strings.HasSuffix(t.Notebook, ".ipynb") {
		r.fault(key+".notebook", "notebook: found %q, expected the path of a notebook, as in \"verify.ipynb\"", t.Notebook)
	}
	for name, text := range t.Data {
		at := key + ".data." + name
		p, err := ParsePattern(text)
		if err != nil {
			r.fault(at, "data %s: %v", name, err)
			continue
		}
		e.Data = append(e.Data, Binding{Name: name, Line: r.line(at), Pattern: p})
	}
	slices.SortFunc(e.Data, func(a, b Binding) int { return strings.Compare(a.Name, b.Name) })
	if len(e.Data) < len(t.Data) { // what rests on the patterns cannot be told
		r.output(key+".output", t.Output, nil, false)
		return e
	}
	e.Lead = r.lead(key, t.Lead, e.Data)
	known := e.groups()
	e.Per = r.per(key+".per", t.Per, known)
	e.Output = r.output(key+".output", t.Output, known, true)
	for name, text := range t.Set {
		at := key + ".set." + name
		if strings.TrimSpace(text) == "" {
			r.fault(at, "set %s: found nothing, expected an expression, as in \"4.5*deg\"", name)
			continue
		}
		e.Settings = append(e.Settings, Setting{Name: name, Line: r.line(at), Value: parseTemplate(text, known)})
	}
	slices.SortFunc(e.Settings, func(a, b Setting) int { return strings.Compare(a.Name, b.Name) })
	if e.Lead >= 0 {
		r.followers(e)
	}
	return e
}

// lead finds the input whose files make the reports: the one named, or the only one with groups or wildcards of its own.
func (r *planReader) lead(key, named string, data []Binding) int {
	if named != "" {
		i := slices.IndexFunc(data, func(b Binding) bool { return b.Name == named })
		if i < 0 {
			r.fault(key+".lead", "lead: found %q, expected the name of an input in data", named)
		}
		return i
	}
	var open []int
	for i, b := range data {
		if b.Pattern.Many() {
			open = append(open, i)
		}
	}
	switch len(open) {
	case 0:
		return -1
	case 1:
		return open[0]
	}
	// Of several, the one that has every group of the others leads.
	for _, i := range open {
		if len(data[i].Pattern.Groups()) > 0 && !slices.ContainsFunc(open, func(j int) bool {
			return !subset(data[j].Pattern.Groups(), data[i].Pattern.Groups())
		}) {
			return i
		}
	}
	r.fault(key+".data", "several inputs have patterns with groups of their own: say which makes the reports, as in lead = %q", data[open[0]].Name)
	return -1
}

func subset(some, of []string) bool {
	return !slices.ContainsFunc(some, func(s string) bool { return !slices.Contains(of, s) })
}

// followers checks that other inputs have no groups but the lead's.
func (r *planReader) followers(e Entry) {
	lead := e.Data[e.Lead]
	for i, b := range e.Data {
		for _, g := range b.Pattern.Groups() {
			if i != e.Lead && !slices.Contains(e.groups(), g) {
				r.faults = append(r.faults, &Fault{r.path, b.Line,
					fmt.Sprintf("data %s: there is no group {%s} in the pattern of %s, whose files make the reports", b.Name, g, lead.Name)})
			}
		}
	}
}

// groups lists what may stand in braces: the groups of the lead, and what its files say of themselves.
func (e *Entry) groups() []string {
	if e.Lead < 0 {
		return nil
	}
	g := slices.Clone(e.Data[e.Lead].Pattern.Groups())
	for _, word := range []string{PerFile, PerUnit, PerLot} {
		if !slices.Contains(g, word) {
			g = append(g, word)
		}
	}
	return g
}

func (r *planReader) per(key, per string, known []string) string {
	switch {
	case per == "":
		return PerFile
	case known == nil:
		r.fault(key, "per: found %q, but no input has a pattern with a group or a wildcard: there is one report", per)
	case !slices.Contains(known, per):
		r.fault(key, "per: found %q, expected one of %s", per, strings.Join(known, ", "))
	}
	return per
}

// output checks where the reports go, and when groups are told also those in it.
func (r *planReader) output(key, text string, known []string, told bool) template {
	switch base := filepath.Base(filepath.FromSlash(text)); {
	case text == "":
		r.fault(key, "found no output, expected the report to write, as in \"reports/{unit}.pdf\"")
	case !strings.HasSuffix(base, ".pdf") || base == ".pdf":
		r.fault(key, "output: found %q, expected a file name that ends in .pdf", text)
	}
	t := parseTemplate(text, known)
	for _, name := range t.unknown() {
		if !told {
			break
		}
		r.fault(key, "output: there is no group {%s}, expected %s", name, oneOf(known))
	}
	return t
}

func oneOf(groups []string) string {
	if len(groups) == 0 {
		return "no group: no input has a pattern"
	}
	return "one of {" + strings.Join(groups, "}, {") + "}"
}

func (r *planReader) limits(key, duration, memory string, otherwise Limits) Limits {
	at := func(name string) string { return strings.TrimPrefix(key+"."+name, ".") }
	l := otherwise
	if duration != "" {
		d, err := time.ParseDuration(duration)
		if err != nil || d <= 0 {
			r.fault(at("time"), "time: found %q, expected how long one report may take, as in \"90s\" or \"2m\"", duration)
		}
		l.Time = d
	}
	if memory != "" {
		n, err := humanize.ParseBytes(memory)
		if err != nil || n < minimumMemory {
			r.fault(at("memory"), "memory: found %q, expected what one report may take, at least %s, as in \"1 GB\"", memory, humanize.Bytes(minimumMemory))
		}
		l.Memory = n
	}
	return l
}

// minimumMemory is what a worker needs before it has done anything, doubled.
const minimumMemory = 100_000_000

func (r *planReader) issued(key, date string) string {
	if date == "" {
		return ""
	}
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		r.fault(key, "issued: found %q, expected a date, as in \"2026-11-25\"", date)
	}
	return date
}
