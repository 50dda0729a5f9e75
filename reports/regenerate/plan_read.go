package regenerate

import (
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/dustin/go-humanize"
	"github.com/pelletier/go-toml/v2"

	"wedgework/reports/job"
	"wedgework/reports/nearest"
	"wedgework/reports/signature"
)

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
				message += fmt.Sprintf("; did you mean %q?", near)
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
			f.Message = fmt.Sprintf("%s: found TOML of type %s, expected %s", strings.Join(at.Key(), "."), m[1],
				expectedTypes[m[2]])
		}
	}
	r.faults = append(r.faults, f)
	return false
}

// otherType is what the TOML library says of a value of another type than the key's.
var otherType = regexp.MustCompile(
	`^cannot decode TOML (\w+) into (?:struct field .* of|a Go value of) type (int|string|\[\]string)$`)

var expectedTypes = map[string]string{"int": "a whole number", "string": "a text in quotes",
	"[]string": "a list of texts in quotes"}

func (r *planReader) entry(key string, t reportTable, all job.Bounds) Entry {
	e := Entry{
		Line: r.line(key), At: r.place(key, ""), Lead: -1,
		Notebook: job.File{Path: t.Notebook, At: r.place(key+".notebook", "notebook")},
		OutputAt: r.place(key+".output", "output"),
		Fonts:    r.named(key+".fonts", "fonts", t.Fonts), Roots: r.named(key+".roots", "roots", t.Roots),
		Bounds: r.bounds(key, t.Time, t.Memory, all), Issued: r.issued(key+".issued", t.Issued),
		Paper:    r.paper(key+".paper", t.Paper),
		NumberAt: r.place(key+".number", "number"), Signing: r.signing(key+".sign", t.Sign),
	}
	if !strings.HasSuffix(t.Notebook, ".ipynb") {
		r.fault(key+".notebook", "notebook: found %q, expected the path of a notebook, as in \"verify.ipynb\"",
			t.Notebook)
	}
	for name, text := range t.Data {
		at := key + ".data." + name
		p, err := ParsePattern(text)
		if err == nil {
			err = job.CheckName(name)
		}
		if err != nil {
			r.fault(at, "data %s: %v", job.Key(name), err)
			continue
		}
		e.Data = append(e.Data, Binding{Name: name, At: r.place(at, "data "+job.Key(name)), Pattern: p})
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
	e.Number = r.filled(key+".number", "number", t.Number, known)
	for name, text := range t.Set {
		at := key + ".set." + name
		err := job.CheckName(name)
		if err == nil && strings.TrimSpace(text) == "" {
			err = errors.New("found nothing, expected an expression, as in \"4.5*deg\"")
		}
		if err != nil {
			r.fault(at, "set %s: %v", job.Key(name), err)
			continue
		}
		place := r.place(at, "set "+job.Key(name))
		e.Settings = append(e.Settings, Setting{Name: name, At: place, Value: parseTemplate(text, known)})
	}
	slices.SortFunc(e.Settings, func(a, b Setting) int { return strings.Compare(a.Name, b.Name) })
	if e.Lead >= 0 {
		r.followers(key, e)
	}
	return e
}

// lead finds the input whose files make the reports: the one named, or the only one with groups or wildcards of its
// own.
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
	r.fault(key+".data",
		"several inputs have patterns with groups of their own; name the one whose files make the reports, as in "+
			"lead = %q",
		data[open[0]].Name)
	return -1
}

func subset(some, of []string) bool {
	return !slices.ContainsFunc(some, func(s string) bool { return !slices.Contains(of, s) })
}

// followers checks that other inputs have no groups but the lead's.
func (r *planReader) followers(key string, e Entry) {
	lead := e.Data[e.Lead]
	for i, b := range e.Data {
		for _, g := range b.Pattern.Groups() {
			if i != e.Lead && !slices.Contains(e.groups(), g) {
				r.fault(key+".data."+b.Name, "data %s: there is no group {%s} in the pattern of %s, whose files make "+
					"the reports",
					job.Key(b.Name), g, lead.Name)
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
	if text == "" {
		r.fault(key, "found no output, expected the report to write, as in \"reports/{unit}.pdf\"")
	} else if err := job.CheckOutput(text); err != nil {
		r.fault(key, "output: %v", err)
	}
	if !told {
		return parseTemplate(text, known)
	}
	return r.filled(key, "output", text, known)
}

// filled is a text in which no group but a known one may stand.
func (r *planReader) filled(key, what, text string, known []string) template {
	t := parseTemplate(text, known)
	for _, name := range t.unknown() {
		r.fault(key, "%s: there is no group {%s}, expected %s", what, name, oneOf(known))
	}
	return t
}

// remake reads what a change of the program does.
func (r *planReader) remake(key, text string, otherwise Remake) Remake {
	all := []Remake{RemakeInputs, RemakeFigures, RemakeAlways}
	switch m := Remake(text); {
	case text == "":
		return otherwise
	case slices.Contains(all, m):
		return m
	}
	r.fault(key, "remake: found %q, expected \"inputs\", \"figures\" or \"always\"", text)
	return otherwise
}

// signing reads sign = "KEY" or sign.reviewed = "KEY".
func (r *planReader) signing(key string, v any) []job.Signing {
	const want = "expected a key as in sign = \"quality.key\", or one for each role as in sign.approved = " +
		"\"quality.key\""
	var all []job.Signing
	add := func(at, role string, v any) {
		path, ok := v.(string)
		err := signature.CheckRole(role)
		switch {
		case err != nil:
			r.fault(at, "sign: %v", err)
		case !ok || path == "":
			r.fault(at, "sign: found %v, %s", v, want)
		default:
			all = append(all, job.Signing{Role: role, Key: job.File{Path: path, At: r.place(at, "sign")}})
		}
	}
	switch v := v.(type) {
	case nil:
	case map[string]any:
		for _, role := range slices.Sorted(maps.Keys(v)) {
			add(key+"."+role, role, v[role])
		}
	default:
		add(key, "", v)
	}
	return all
}

func oneOf(groups []string) string {
	if len(groups) == 0 {
		return "no group: no input has a pattern"
	}
	return "one of {" + strings.Join(groups, "}, {") + "}"
}

func (r *planReader) bounds(key, duration, memory string, otherwise job.Bounds) job.Bounds {
	at := func(name string) string { return strings.TrimPrefix(key+"."+name, ".") }
	l := otherwise
	if duration != "" {
		d, err := time.ParseDuration(duration)
		if err != nil || d <= 0 {
			r.fault(at("time"), "time: found %q, expected how long one report may take, as in \"90s\" or \"2m\"",
				duration)
		}
		l.Time = d
	}
	if memory != "" {
		n, err := humanize.ParseBytes(memory)
		if err != nil || n < minimumMemory {
			r.fault(at("memory"), "memory: found %q, expected what one report may take, at least %s, as in \"1 GB\"",
				memory, humanize.Bytes(minimumMemory))
		}
		l.Memory = n
	}
	return l
}

// minimumMemory is what a worker needs before it has done anything, doubled.
const minimumMemory = 100_000_000

func (r *planReader) issued(key, date string) job.Text {
	if date == "" {
		return job.Text{}
	}
	if err := job.Day(date); err != nil {
		r.fault(key, "issued: %v", err)
	}
	return job.Text{Text: date, At: r.place(key, "issued")}
}

func (r *planReader) paper(key, name string) job.Text {
	if name == "" {
		return job.Text{}
	}
	if err := job.CheckPaper(name); err != nil {
		r.fault(key, "paper: %v", err)
	}
	return job.Text{Text: name, At: r.place(key, "paper")}
}

// named is a list of paths with the place it was written at.
func (r *planReader) named(key, what string, paths []string) []job.File {
	var all []job.File
	for _, p := range paths {
		all = append(all, job.File{Path: p, At: r.place(key, what)})
	}
	return all
}

// place says where a key stands: "plan.toml:7: data sweep".
func (r *planReader) place(key, what string) job.Place {
	at := fmt.Sprintf("%s:%d", r.path, r.line(key))
	if what != "" {
		at += ": " + what
	}
	return job.Place(at)
}
