package regenerate

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
)

// Job is one report to be made. Its paths are as the program can open them.
type Job struct {
	Output   string              // the PDF; the record and the executed notebook go beside it
	Notebook string              //
	Data     map[string][]string // files by the input they are bound to
	Settings map[string]string   // expressions
	Fonts    []string            //
	Roots    []string            // further folders the notebook may read from
	Issued   string              // a date to be printed, or nothing
	Limits   Limits              //
	Line     int                 // of its table in the plan
	Refused  string              // why it cannot be made, when the plan alone shows it

	Processors int // to make it on; what the run sets as it hands the job out
}

// About is what a file of readings says of itself.
type About struct{ Units, Lots []string }

// Describe reads what a file says of itself. It is asked only where a plan groups or names reports by unit or lot and
// the pattern has no such group.
type Describe func(path string) (About, error)

// Jobs returns the reports of the plan, in the order of its tables and, in one, of the values that tell its reports
// apart. What is wrong with one report (no file matches, two would write the same file) refuses that one.
func (p *Plan) Jobs(describe Describe) ([]Job, error) {
	folder := filepath.Dir(p.Path)
	var all []Job
	for _, e := range p.Entries {
		jobs, err := e.jobs(folder, describe)
		if err != nil {
			return nil, &Fault{p.Path, e.Line, err.Error()}
		}
		all = append(all, jobs...)
	}
	refuseTwins(all)
	return all, nil
}

// batch is the files of one report.
type batch struct {
	value  string              // of the group that tells reports apart
	files  []string            // as found, below the plan's folder
	values []map[string]string // of the groups, file by file
	wrong  string
}

func (e *Entry) jobs(folder string, describe Describe) ([]Job, error) {
	if e.Lead < 0 {
		return []Job{e.job(folder, &batch{})}, nil
	}
	lead := e.Data[e.Lead]
	matches, err := lead.Pattern.Find(folder, nil)
	if err != nil {
		return nil, err
	}
	if len(matches) == 0 {
		j := e.job(folder, &batch{wrong: fmt.Sprintf("data %s: no file matches %q", lead.Name, lead.Pattern)})
		j.Output = e.Output.text
		return []Job{j}, nil
	}
	batches := e.batches(matches, folder, describe)
	jobs := make([]Job, len(batches))
	for i, b := range batches {
		jobs[i] = e.job(folder, b)
	}
	return jobs, nil
}

// batches puts together the files that share a report.
func (e *Entry) batches(matches []Match, folder string, describe Describe) []*batch {
	asked := e.asked()
	var all []*batch
	byValue := map[string]*batch{}
	for _, m := range matches {
		values, wrong := complete(m, below(folder, m.Path), asked, describe)
		value := values[e.Per]
		if e.Per == PerFile || wrong != "" {
			value = m.Path
		}
		b := byValue[value]
		if b == nil {
			b = &batch{value: value}
			byValue[value] = b
			all = append(all, b)
		}
		if wrong != "" && b.wrong == "" {
			b.wrong = wrong
		}
		b.files = append(b.files, m.Path)
		b.values = append(b.values, values)
	}
	slices.SortStableFunc(all, func(a, b *batch) int { return strings.Compare(a.value, b.value) })
	return all
}

// asked lists the groups whose values the entry needs.
func (e *Entry) asked() []string {
	need := append([]string{e.Per}, e.Output.groups...)
	for _, s := range e.Settings {
		need = append(need, s.Value.groups...)
	}
	for _, b := range e.Data {
		need = append(need, b.Pattern.Groups()...)
	}
	return need
}

// complete adds to the groups of a match what else is asked for: the stem of the file, and what the file says of itself.
func complete(m Match, path string, asked []string, describe Describe) (values map[string]string, wrong string) {
	values = map[string]string{}
	base := filepath.Base(path)
	values[PerFile] = strings.TrimSuffix(base, filepath.Ext(base))
	maps.Copy(values, m.Groups)
	var about *About
	for _, word := range []string{PerUnit, PerLot} {
		if _, known := values[word]; known || !slices.Contains(asked, word) {
			continue
		}
		if about == nil {
			a, err := describe(path)
			if err != nil {
				return values, err.Error()
			}
			about = &a
		}
		found := about.Units
		if word == PerLot {
			found = about.Lots
		}
		if len(found) != 1 || found[0] == "" {
			return values, fmt.Sprintf("%s: found %s, expected one %s in the file, or a group {%s} in the pattern", base, several(word, found), word, word)
		}
		values[word] = found[0]
	}
	return values, ""
}

func several(word string, found []string) string {
	found = slices.DeleteFunc(slices.Clone(found), func(s string) bool { return s == "" })
	if len(found) == 0 {
		return "no " + word
	}
	return word + "s " + strings.Join(found, ", ")
}

// job makes the job of a batch.
func (e *Entry) job(folder string, b *batch) Job {
	j := Job{
		Notebook: below(folder, e.Notebook), Data: map[string][]string{}, Settings: map[string]string{},
		Issued: e.Issued, Limits: e.Limits, Line: e.Line, Refused: b.wrong,
	}
	for _, f := range e.Fonts {
		j.Fonts = append(j.Fonts, below(folder, f))
	}
	for _, r := range e.Roots {
		j.Roots = append(j.Roots, below(folder, r))
	}
	values, wrong := e.agree(b)
	if j.Refused == "" {
		j.Refused = wrong
	}
	j.Output = below(folder, e.Output.fill(values, fileName))
	for _, s := range e.Settings {
		j.Settings[s.Name] = s.Value.fill(values, func(v string) string { return v })
	}
	for i, d := range e.Data {
		files := b.files
		if i != e.Lead {
			matches, err := d.Pattern.Find(folder, values)
			switch {
			case j.Refused != "":
			case err != nil:
				j.Refused = err.Error()
			case len(matches) == 0:
				j.Refused = fmt.Sprintf("data %s: no file matches %q", d.Name, template{d.Pattern.text, d.Pattern.groups}.fill(values, func(v string) string { return v }))
			}
			files = nil
			for _, m := range matches {
				files = append(files, m.Path)
			}
		}
		for _, f := range files {
			j.Data[d.Name] = append(j.Data[d.Name], below(folder, f))
		}
	}
	return j
}

// agree returns the values that all files of a batch share. It is wrong for files to differ in a group that names the
// report or stands in a setting.
func (e *Entry) agree(b *batch) (values map[string]string, wrong string) {
	values = map[string]string{}
	for i, v := range b.values {
		for name, value := range v {
			if i == 0 {
				values[name] = value
			} else if values[name] != value {
				delete(values, name)
			}
		}
	}
	named := slices.Clone(e.Output.groups)
	for _, s := range e.Settings {
		named = append(named, s.Value.groups...)
	}
	for _, n := range named {
		if _, same := values[n]; !same && b.wrong == "" && len(b.values) > 0 {
			return values, fmt.Sprintf("the files of %s %s differ in {%s}, which stands in the output or a setting", e.Per, b.value, n)
		}
	}
	return values, ""
}

// below puts a path of the plan into the plan's folder.
func below(folder, path string) string {
	path = filepath.FromSlash(path)
	if filepath.IsAbs(path) {
		return filepath.Clean(path)
	}
	return filepath.Join(folder, path)
}

// fileName makes a group's value part of a file's name: what could lead elsewhere or is not allowed on some system
// becomes a low line.
func fileName(value string) string {
	clean := strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`/\:*?"<>|`, r) {
			return '_'
		}
		return r
	}, value)
	if strings.Trim(clean, ". ") == "" {
		return "_"
	}
	return clean
}

// refuseTwins refuses reports that would be written to the same file, and reports that would replace one of their inputs.
func refuseTwins(jobs []Job) {
	first := map[string]int{}
	for i := range jobs {
		j := &jobs[i]
		if k, twice := first[j.Output]; twice {
			for _, one := range []*Job{&jobs[k], j} {
				if one.Refused == "" {
					one.Refused = fmt.Sprintf("several reports would be written to %s (lines %d and %d of the plan): put what tells them apart into the output", j.Output, jobs[k].Line, j.Line)
				}
			}
		}
		first[j.Output] = i
	}
}

// outputs returns the three files of the report.
func (j *Job) outputs() []string {
	stem := strings.TrimSuffix(j.Output, ".pdf")
	return []string{stem + ".ipynb", stem + ".json", j.Output}
}
