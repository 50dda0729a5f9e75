package rerun

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"wedgework/optics/stack"
	"wedgework/reports/measured"
	"wedgework/reports/qualify"
	"wedgework/reports/record"
	"wedgework/reports/review"
	"wedgework/reports/verify"
)

// Desk is where the words of a running cell find what they need and leave what they report. It belongs
// to one run and is used from the goroutine that runs the cell. Outputs do not pass over it: the session
// keeps them in order with what the cell prints.
type Desk struct {
	req     *Request
	out     *Outcome
	model   *stack.Stack            // of the verification under way
	wanted  []string                // inputs asked for, in order
	inputs  map[string]int          // name to index of out.Inputs
	setting map[string]int          // name to index of out.Settings
	paths   map[string]string       // default path each input was first asked for with
	read    map[string]measuredFile // defaults read so far, by path

	demanded []string // metadata that files of readings must state
}

type measuredFile struct {
	file measured.File
	err  error
}

// Retest takes the rule by which units count that were measured more than once. Two rules in one notebook are an error.
func (d *Desk) Retest(rule string) error {
	if d.out.Retest != "" && d.out.Retest != rule {
		return fmt.Errorf("retest=%q after retest=%q: a report has one rule for retests", rule, d.out.Retest)
	}
	d.out.Retest = rule
	return nil
}

// Demand takes the metadata that every file of readings must state. What was verified before did not know of it: that
// is an error.
func (d *Desk) Demand(keys []string) error {
	if len(d.out.Verified) > 0 {
		return errors.New("require= comes after a verify(), which did not know of it: call report() before")
	}
	d.demanded = append(d.demanded, keys...)
	return nil
}

// Demanded returns that metadata.
func (d *Desk) Demanded() []string { return d.demanded }

// NewDesk returns a desk for cells that run without a notebook: of the request, Data, Settings and
// ReadFile count.
func NewDesk(req Request) *Desk { return newDesk(&req, &Outcome{}) }

func newDesk(req *Request, out *Outcome) *Desk {
	return &Desk{
		req: req, out: out,
		inputs:  map[string]int{},
		setting: map[string]int{},
		paths:   map[string]string{},
		read:    map[string]measuredFile{},
	}
}

// Input returns the files bound to the named input: those of the request, else the file at path, the
// notebook's default. Asking again for the same name gives the same files. An input that is neither
// bound nor has a default is an error, as is a default that cannot be read. Reading ends with the context.
func (d *Desk) Input(ctx context.Context, name, path string) ([]measured.File, error) {
	if !slices.Contains(d.wanted, name) {
		d.wanted = append(d.wanted, name)
	}
	if files, ok := d.req.Data[name]; ok {
		d.use(name, Input{Name: name, Files: files, Bound: true})
		return files, nil
	}
	if path == "" {
		return nil, d.unbound(name)
	}
	if first, ok := d.paths[name]; ok && first != path {
		return nil, fmt.Errorf("input %q has two defaults, %q and %q: give each input a name of its own", name, first,
			path)
	}
	f, err := d.readDefault(ctx, path)
	if err != nil {
		return nil, fmt.Errorf("default of input %q: %w", name, err)
	}
	d.paths[name] = path
	in := Input{Name: name, Files: []measured.File{f}}
	d.use(name, in)
	return in.Files, nil
}

func (d *Desk) use(name string, in Input) {
	if _, ok := d.inputs[name]; !ok {
		d.inputs[name] = len(d.out.Inputs)
		d.out.Inputs = append(d.out.Inputs, in)
	}
}

func (d *Desk) readDefault(ctx context.Context, path string) (measured.File, error) {
	if d.req.ReadFile == nil {
		return measured.File{}, errors.New("no file can be read here")
	}
	m, ok := d.read[path]
	if !ok {
		m.file, m.err = d.req.ReadFile(ctx, path)
		if ctx.Err() != nil {
			return m.file, m.err // not what reading it gives
		}
		d.read[path] = m
	}
	return m.file, m.err
}

// unbound says what to do about an input without a file, and names bound inputs that nobody asked for
// yet: one of them is probably this one, misspelt.
func (d *Desk) unbound(name string) error {
	msg := fmt.Sprintf("input %q has no file and no default", name)
	if d.req.Remedy != nil {
		msg += "; " + d.req.Remedy(name)
	}
	var spare []string
	for _, n := range slices.Sorted(maps.Keys(d.req.Data)) {
		if !slices.Contains(d.wanted, n) {
			spare = append(spare, n)
		}
	}
	if len(spare) > 0 {
		msg += "; given but not used so far: " + strings.Join(spare, ", ")
	}
	return errors.New(msg)
}

// Setting returns the expression that the request binds the setting to; bound is false when the
// notebook's default holds. The caller evaluates, then says SettingIs.
func (d *Desk) Setting(name string) (expression string, bound bool) {
	expression, bound = d.req.Settings[name]
	if _, ok := d.setting[name]; !ok {
		d.setting[name] = len(d.out.Settings)
		d.out.Settings = append(d.out.Settings, record.Setting{Name: name, Value: expression, Expression: expression,
			Bound: bound})
	}
	return expression, bound
}

// SettingIs records the value in force, as printed. A setting that was never asked for is not recorded.
func (d *Desk) SettingIs(name, printed string) {
	if i, ok := d.setting[name]; ok {
		d.out.Settings[i].Value = printed
	}
}

// Report takes the identification of the report. The last call holds; a second one is a warning, since
// two cells then claim to name the report.
func (d *Desk) Report(h record.Header) {
	if d.out.Reported {
		d.Warn("report() was called more than once: the last call holds")
	}
	d.out.Header, d.out.Reported = h, true
}

// Paper takes the paper that the report is to be printed on, "a4" or "letter".
func (d *Desk) Paper(name string) { d.out.Paper = name }

// Model takes the model of the verification whose result comes next.
func (d *Desk) Model(s *stack.Stack) { d.model = s }

// Took takes what was read from the files of an input, one table a file, sheet and condition; none where they hold no readings.
func (d *Desk) Took(name string, tables []*measured.Table) {
	i, ok := d.inputs[name]
	if !ok {
		return
	}
	in := &d.out.Inputs[i]
	if in.Tables == nil {
		in.Tables = []*measured.Table{}
	}
	for _, t := range tables {
		same := func(o *measured.Table) bool {
			return o.File.SHA256 == t.File.SHA256 && o.Sheet == t.Sheet && o.Condition == t.Condition
		}
		if !slices.ContainsFunc(in.Tables, same) {
			in.Tables = append(in.Tables, t)
		}
	}
}

// Constants takes a data file of the program's own that the cells asked for, by the name of the material.
func (d *Desk) Constants(name string, data []byte) {
	for _, c := range d.out.Constants {
		if c.Name == name {
			return
		}
	}
	d.out.Constants = append(d.out.Constants, measured.NewFile(name, data))
}

// Verified takes the result of a verification, a *verify.Result; anything else is a slip of the session's
// words and panics.
func (d *Desk) Verified(result any) {
	d.out.Verified = append(d.out.Verified, Verification{Model: d.model, Result: result.(*verify.Result)})
	d.model = nil
}

// Qualified takes a qualification, a qualify.Qualification; anything else is a slip of the session's words and panics.
func (d *Desk) Qualified(result any) {
	d.out.Qualified = append(d.out.Qualified, result.(qualify.Qualification))
}

// Reviewed takes the review of a design, a *review.Result; anything else is a slip of the session's words and panics.
func (d *Desk) Reviewed(result any) {
	d.out.Reviewed = append(d.out.Reviewed, result.(*review.Result))
}

// Save takes a file that a cell has made.
func (d *Desk) Save(name string, data []byte) error {
	if d.req.Save != nil {
		return d.req.Save(name, data)
	}
	if !slices.Contains(d.out.Unsaved, name) && len(d.out.Unsaved) < mostUnsaved {
		d.out.Unsaved = append(d.out.Unsaved, name)
	}
	return nil
}

// mostUnsaved bounds the names that are kept of files that nobody wrote (a choice).
const mostUnsaved = 1000

// Outcome returns what the words have left so far.
func (d *Desk) Outcome() *Outcome { return d.out }

// Warn takes a warning that the report must carry. The same text is kept once.
func (d *Desk) Warn(text string) {
	if !slices.Contains(d.out.Warnings, text) {
		d.out.Warnings = append(d.out.Warnings, text)
	}
}
