package regenerate

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"wedgework/reports/job"
)

// Task is one report of a plan, to be made when it is not up to date.
type Task struct {
	job.Job
	Line       int    // of its table in the plan
	Refused    string // why it cannot be made, when the plan alone shows it
	Remake     Remake // what a change of the program does
	Check      bool   // nothing but the program changed: to be made when a printed figure changes; set by the run
	Processors int    // to make it on; what the run sets as it hands the task out
}

// About is what a file of readings says of itself.
type About struct{ Units, Lots []string }

// Describe reads what a file says of itself. It is asked only where a plan groups or names reports by unit or lot and
// the pattern has no such group.
type Describe func(path string) (About, error)

// Tasks returns the reports of the plan, in the order of its tables and, in one, of the values that tell its reports
// apart. What is wrong with one report (no file matches, two would write the same file) refuses that one.
func (p *Plan) Tasks(describe Describe) ([]Task, error) {
	folder := filepath.Dir(p.Path)
	var all []Task
	for _, e := range p.Entries {
		tasks, err := e.tasks(folder, describe)
		if err != nil {
			return nil, &Fault{p.Path, e.Line, err.Error()}
		}
		all = append(all, tasks...)
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

func (e *Entry) tasks(folder string, describe Describe) ([]Task, error) {
	if e.Lead < 0 {
		return []Task{e.task(folder, &batch{})}, nil
	}
	lead := e.Data[e.Lead]
	matches, err := lead.Pattern.Find(folder, nil)
	if err != nil {
		return nil, err
	}
	if len(matches) == 0 {
		t := e.task(folder, &batch{wrong: lead.At.Errorf("no file matches %q", lead.Pattern).Error()})
		t.Output.Text = e.Output.text
		return []Task{t}, nil
	}
	batches := e.batches(matches, folder, describe)
	tasks := make([]Task, len(batches))
	for i, b := range batches {
		tasks[i] = e.task(folder, b)
	}
	return tasks, nil
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
	need := slices.Concat([]string{e.Per}, e.Output.groups, e.Number.groups)
	for _, s := range e.Settings {
		need = append(need, s.Value.groups...)
	}
	for _, b := range e.Data {
		need = append(need, b.Pattern.Groups()...)
	}
	return need
}

// complete adds to the groups of a match what else is asked for: the stem of the file, and what the file says of
// itself.
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
			return values, fmt.Sprintf("%s: found %s, expected one %s in the file, or a group {%s} in the pattern",
				base, several(word, found), word, word)
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

// task makes the task of a batch.
func (e *Entry) task(folder string, b *batch) Task {
	at := func(named []job.File) []job.File {
		var all []job.File
		for _, f := range named {
			all = append(all, job.File{Path: below(folder, f.Path), At: f.At})
		}
		return all
	}
	t := Task{Line: e.Line, Refused: b.wrong, Remake: e.Remake, Job: job.Job{
		At: e.At, Notebook: at([]job.File{e.Notebook})[0], Fonts: at(e.Fonts), Roots: at(e.Roots), Issued: e.Issued,
		Bounds: e.Bounds,
	}}
	values, wrong := e.agree(b)
	if t.Refused == "" {
		t.Refused = wrong
	}
	for _, s := range e.Signing {
		t.Signing = append(t.Signing, job.Signing{Role: s.Role, Key: at([]job.File{s.Key})[0]})
	}
	if e.Number.text != "" {
		t.Number = job.Text{Text: e.Number.fill(values, fileName), At: e.NumberAt}
	}
	t.Output = job.Text{Text: below(folder, e.Output.fill(values, fileName)), At: e.OutputAt}
	for _, s := range e.Settings {
		expression := s.Value.fill(values, func(v string) string { return v })
		t.Settings = append(t.Settings, job.Setting{Name: s.Name, Expression: expression, At: s.At})
	}
	for i, d := range e.Data {
		files := b.files
		if i != e.Lead {
			found, err := d.files(folder, values)
			if err != nil && t.Refused == "" {
				t.Refused = d.At.Wrap(err).Error()
			}
			files = found
		}
		for _, f := range files {
			t.Bind(d.Name, d.At, job.File{Path: below(folder, f), At: d.At})
		}
	}
	return t
}

// files finds what an input other than the lead is bound to.
func (b *Binding) files(folder string, values map[string]string) ([]string, error) {
	matches, err := b.Pattern.Find(folder, values)
	if err != nil {
		return nil, err
	}
	if len(matches) == 0 {
		wanted := template{b.Pattern.text, b.Pattern.groups}.fill(values, func(v string) string { return v })
		return nil, fmt.Errorf("no file matches %q", wanted)
	}
	var files []string
	for _, m := range matches {
		files = append(files, m.Path)
	}
	return files, nil
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
	named := slices.Concat(e.Output.groups, e.Number.groups)
	for _, s := range e.Settings {
		named = append(named, s.Value.groups...)
	}
	for _, n := range named {
		if _, same := values[n]; !same && b.wrong == "" && len(b.values) > 0 {
			return values, fmt.Sprintf("the files of %s %s differ in {%s}, which stands in the output or a setting", e.Per,
				b.value, n)
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

// refuseTwins refuses reports that would be written to the same file or bear the same number.
func refuseTwins(tasks []Task) {
	output := func(t *Task) string { return t.Output.Text }
	number := func(t *Task) string { return t.Number.Text }
	refuseSame(tasks, output, "several reports would be written to %s (lines %d and %d of the plan); "+
		"add what distinguishes them to the output")
	refuseSame(tasks, number, "several reports would bear the number %s (lines %d and %d of the plan); "+
		"add what distinguishes them to the number")
}

func refuseSame(tasks []Task, of func(*Task) string, message string) {
	first := map[string]int{"": -1}
	for i := range tasks {
		t := &tasks[i]
		k, twice := first[of(t)]
		if k < 0 && twice {
			continue
		}
		if twice {
			for _, one := range []*Task{&tasks[k], t} {
				if one.Refused == "" {
					one.Refused = fmt.Sprintf(message, of(t), tasks[k].Line, t.Line)
				}
			}
		}
		first[of(t)] = i
	}
}
