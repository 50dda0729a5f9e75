package regenerate

import (
	"fmt"
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
	Base       string // the folder of reports that the plan names; below it no link is followed
	Processors int    // to make it on; what the run sets as it hands the task out

	// Look is a file of readings to be looked into, by a worker under the bounds of the report that it is for. Such a
	// task makes no report.
	Look *job.File `json:"look,omitempty"`
}

// About is what a file of readings says of itself.
type About struct{ Units, Lots []string }

// Described is what a file says of itself, or why it cannot be told.
type Described struct {
	About
	Err error
}

// Describe looks into files, within the bounds for a report. It is asked only where a plan groups or names reports by
// unit or lot and the pattern has no such group.
type Describe func(of []job.File, within job.Bounds) []Described

// Tasks returns the reports of the plan, in the order of its tables and, in one, of the values that tell its reports
// apart. What is wrong with one report (no file matches, a file cannot be read, two would write the same file) refuses
// that one.
func (p *Plan) Tasks(describe Describe) []Task {
	folder := filepath.Dir(p.Path)
	var all []Task
	for _, e := range p.Entries {
		all = append(all, e.tasks(folder, describe)...)
	}
	refuseTwins(all)
	return all
}

// batch is the files of one report.
type batch struct {
	value  string   // of the group that tells reports apart
	files  []string // as found, below the plan's folder
	values []Groups // of the groups, file by file
	wrong  string
}

func (e *Entry) tasks(folder string, describe Describe) []Task {
	c := e.common(folder)
	if e.Lead < 0 {
		return []Task{e.task(folder, c, &batch{})}
	}
	lead := e.Data[e.Lead]
	matches := lead.Pattern.Find(folder, nil)
	if len(matches) == 0 {
		t := e.task(folder, c, &batch{wrong: lead.At.Errorf("no file matches %q", lead.Pattern).Error()})
		t.Output.Text = e.Output.text
		return []Task{t}
	}
	batches := e.batches(matches, e.complete(matches, folder, describe))
	tasks := make([]Task, len(batches))
	for i, b := range batches {
		tasks[i] = e.task(folder, c, b)
		batches[i] = nil // of a hundred thousand, what is done with is let go
	}
	return tasks
}

// common is what all tasks of the entry share.
func (e *Entry) common(folder string) Task {
	within := e.within(folder)
	at := func(named []job.File) []job.File {
		var all []job.File
		for _, f := range named {
			all = append(all, job.File{Path: below(folder, f.Path), At: f.At, Within: within})
		}
		return all
	}
	t := Task{Line: e.Line, Remake: e.Remake, Base: e.base(folder), Job: job.Job{
		At: e.At, Notebook: at([]job.File{e.Notebook})[0], Fonts: at(e.Fonts), Roots: at(e.Roots), Issued: e.Issued,
		Paper: e.Paper, Bounds: e.Bounds,
	}}
	for _, s := range e.Signing {
		key := job.File{Path: below(folder, s.Key.Path), At: s.Key.At}
		t.Signing = append(t.Signing, job.Signing{Role: s.Role, Key: key})
	}
	return t
}

// base is the folder below which the plan puts reports: its own, or one that it names outside of it.
func (e *Entry) base(folder string) string {
	text := filepath.ToSlash(e.Output.text)
	if at := strings.IndexByte(text, '{'); at >= 0 {
		text = text[:at]
	}
	named := below(folder, text[:strings.LastIndexByte(text, '/')+1])
	if rel, err := filepath.Rel(folder, named); err == nil && filepath.IsLocal(rel) {
		return folder
	}
	return named
}

// Folders are those below which the plan puts its reports, as far as they do not depend on groups: one that holds all
// of them where they lie in the plan's folder, else each that the plan names.
func (p *Plan) Folders() []string {
	folder := filepath.Dir(p.Path)
	var all []string
	within := true
	for _, e := range p.Entries {
		text := filepath.ToSlash(e.Output.text)
		if at := strings.IndexByte(text, '{'); at >= 0 {
			text = text[:at]
		}
		f := below(folder, text[:strings.LastIndexByte(text, '/')+1])
		rel, err := filepath.Rel(folder, f)
		within = within && err == nil && filepath.IsLocal(rel)
		all = append(all, f)
	}
	slices.Sort(all)
	all = slices.Compact(all)
	if within && len(all) > 1 {
		return []string{common(all)}
	}
	return all
}

// Inputs are the files that the plan is about, as they are there now: the plan itself, notebooks, fonts and the files
// that its patterns match; and the folders below which others can come.
func (p *Plan) Inputs() (paths, folders []string) {
	folder := filepath.Dir(p.Path)
	paths = []string{p.Path}
	folders = []string{folder}
	for _, e := range p.Entries {
		paths = append(paths, below(folder, e.Notebook.Path))
		for _, f := range e.Fonts {
			paths = append(paths, below(folder, f.Path))
		}
		for _, b := range e.Data {
			folders = append(folders, b.Pattern.Folder(folder))
			for _, m := range b.Pattern.Find(folder, nil) {
				paths = append(paths, below(folder, m.Path))
			}
		}
	}
	slices.Sort(paths)
	slices.Sort(folders)
	return slices.Compact(paths), slices.Compact(folders)
}

// FontFiles are the fonts that the plan names.
func (p *Plan) FontFiles() []string {
	var all []string
	for _, e := range p.Entries {
		for _, f := range e.Fonts {
			all = append(all, below(filepath.Dir(p.Path), f.Path))
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// common is the folder that holds some others.
func common(folders []string) string {
	all := folders[0]
	for _, f := range folders[1:] {
		for {
			if rel, err := filepath.Rel(all, f); err == nil && filepath.IsLocal(rel) {
				break
			}
			all = filepath.Dir(all)
		}
	}
	return all
}

// within are the folders that links of the entry's files may lead to: that of the plan, those that the plan names
// outside of it, and the roots.
func (e *Entry) within(folder string) []string {
	all := []string{folder}
	named := []string{filepath.Dir(below(folder, e.Notebook.Path))}
	for _, b := range e.Data {
		named = append(named, b.Pattern.Folder(folder))
	}
	for _, f := range e.Fonts {
		named = append(named, filepath.Dir(below(folder, f.Path)))
	}
	for _, n := range named {
		if rel, err := filepath.Rel(folder, n); err != nil || !filepath.IsLocal(rel) {
			all = append(all, n)
		}
	}
	for _, r := range e.Roots {
		all = append(all, below(folder, r.Path))
	}
	return all
}

// batches puts together the files that share a report.
func (e *Entry) batches(matches []Match, of []completed) []*batch {
	var all []*batch
	byValue := map[string]*batch{}
	for i, m := range matches {
		value, known := of[i].values.Get(e.Per)
		if e.Per == PerFile || !known {
			value = m.Path
		}
		b := byValue[value]
		if b == nil {
			b = &batch{value: value}
			byValue[value] = b
			all = append(all, b)
		}
		if b.wrong == "" {
			b.wrong = of[i].wrong
		}
		b.files = append(b.files, m.Path)
		b.values = append(b.values, of[i].values)
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

// completed are the values of all groups for one file, or why they are not known.
type completed struct {
	values Groups
	wrong  string
}

// complete adds to the groups of each match what else is asked for: the stem of the file, and what the file says of
// itself. Matches may share their groups.
func (e *Entry) complete(matches []Match, folder string, describe Describe) []completed {
	asked := e.asked()
	all := make([]completed, len(matches))
	var unknown []int
	var files []job.File
	within := e.within(folder)
	for i, m := range matches {
		lacks := len(missing(m.Groups, asked)) > 0
		if all[i].values = m.Groups; lacks || slices.Contains(asked, PerFile) {
			base := filepath.Base(filepath.FromSlash(m.Path))
			all[i].values = slices.Clone(m.Groups)
			if _, named := m.Groups.Get(PerFile); !named {
				all[i].values = append(all[i].values, Group{PerFile, strings.TrimSuffix(base, filepath.Ext(base))})
			}
		}
		switch path := below(folder, m.Path); {
		case m.Err != nil:
			all[i].wrong = e.Data[e.Lead].At.Errorf("%s: %w", strings.ToValidUTF8(path, "?"), m.Err).Error()
		case lacks:
			unknown = append(unknown, i)
			files = append(files, job.File{Path: path, At: e.Data[e.Lead].At, Within: within})
		}
	}
	if len(files) > 0 {
		for k, d := range describe(files, e.Bounds) {
			all[unknown[k]].add(filepath.Base(files[k].Path), d, asked)
		}
	}
	return all
}

// missing lists what a file must say of itself.
func missing(values Groups, asked []string) []string {
	var all []string
	for _, word := range [...]string{PerUnit, PerLot} {
		if _, known := values.Get(word); !known && slices.Contains(asked, word) {
			all = append(all, word)
		}
	}
	return all
}

// add takes what a file says of itself.
func (c *completed) add(base string, d Described, asked []string) {
	if d.Err != nil {
		c.wrong = d.Err.Error()
		return
	}
	for _, word := range missing(c.values, asked) {
		found := d.Units
		if word == PerLot {
			found = d.Lots
		}
		if len(found) != 1 || found[0] == "" {
			c.wrong = fmt.Sprintf("%s: found %s, expected one %s in the file, or a group {%s} in the pattern",
				base, several(word, found), word, word)
			return
		}
		c.values = append(c.values, Group{word, found[0]})
	}
}

func several(word string, found []string) string {
	found = slices.DeleteFunc(slices.Clone(found), func(s string) bool { return s == "" })
	if len(found) == 0 {
		return "no " + word
	}
	return word + "s " + strings.Join(found, ", ")
}

// task makes the task of a batch from what all of the entry share.
func (e *Entry) task(folder string, t Task, b *batch) Task {
	values, wrong := e.agree(b)
	if t.Refused = b.wrong; t.Refused == "" {
		t.Refused = wrong
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
		for k, f := range files {
			named := values
			if i == e.Lead {
				named = b.values[k]
			}
			bound := job.File{Path: below(folder, f), At: d.At, Within: t.Notebook.Within}
			if slices.Contains(d.Pattern.Groups(), PerUnit) {
				bound.Unit, _ = named.Get(PerUnit)
			}
			t.Bind(d.Name, d.At, bound)
		}
	}
	return t
}

// files finds what an input other than the lead is bound to.
func (b *Binding) files(folder string, values Groups) ([]string, error) {
	matches := b.Pattern.Find(folder, values)
	if len(matches) == 0 {
		wanted := template{b.Pattern.text, b.Pattern.groups}.fill(values, func(v string) string { return v })
		return nil, fmt.Errorf("no file matches %q", wanted)
	}
	var files []string
	for _, m := range matches {
		if m.Err != nil {
			return nil, fmt.Errorf("%s: %w", strings.ToValidUTF8(below(folder, m.Path), "?"), m.Err)
		}
		files = append(files, m.Path)
	}
	return files, nil
}

// agree returns the values that all files of a batch share. It is wrong for files to differ in a group that names the
// report or stands in a setting.
func (e *Entry) agree(b *batch) (values Groups, wrong string) {
	if len(b.values) == 0 {
		return nil, ""
	}
	if len(b.values) == 1 {
		return b.values[0], ""
	}
	differ := func(g Group) bool {
		return slices.ContainsFunc(b.values, func(v Groups) bool { return !slices.Contains(v, g) })
	}
	values = slices.DeleteFunc(slices.Clone(b.values[0]), differ)
	named := slices.Concat(e.Output.groups, e.Number.groups)
	for _, s := range e.Settings {
		named = append(named, s.Value.groups...)
	}
	for _, n := range named {
		if _, same := values.Get(n); !same && b.wrong == "" {
			return values, fmt.Sprintf("the files of %s %s differ in {%s}, which the output or a setting contains",
				e.Per,
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
	refuseSame(tasks, output, "several reports would be written to %s (lines %d and %d of the plan); add what "+
		"distinguishes them to the output")
	refuseSame(tasks, number, "several reports would bear the number %s (lines %d and %d of the plan); add what "+
		"distinguishes them to the number")
}

func refuseSame(tasks []Task, of func(*Task) string, message string) {
	first := make(map[string]int, len(tasks))
	twins := map[string][]int{} // of which there are few, however many tasks
	for i := range tasks {
		what := of(&tasks[i])
		if what == "" || tasks[i].Refused != "" {
			continue
		}
		if k, twice := first[what]; !twice {
			first[what] = i
		} else if twins[what] == nil {
			twins[what] = []int{k, i}
		} else {
			twins[what] = append(twins[what], i)
		}
	}
	for what, all := range twins {
		for _, i := range all {
			tasks[i].Refused = fmt.Sprintf(message, what, tasks[all[0]].Line, tasks[all[1]].Line)
		}
	}
}
