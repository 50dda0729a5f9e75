package index

import (
	"cmp"
	"math"
	"path"
	"slices"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/fileset"
	"wedgework/reports/lot"
	"wedgework/reports/record"
)

// State says how a report stands to the plan and to the others.
type State string

// The states of a report. Without a plan a report is current or superseded.
const (
	Current    State = "current"
	Stale      State = "stale"      // its inputs changed, and it has not been made again
	Failed     State = "failed"     // there is none: it could not be made
	Orphaned   State = "orphaned"   // the plan does not make it any more: its input is gone
	Superseded State = "superseded" // a later one takes its place
)

// Row is one unit of one report, or one design that a report reviews; a report without any is one row.
type Row struct {
	Report    string    `json:"report"` // path of the PDF below the folder, with slashes
	Digest    string    `json:"digest,omitempty"`
	Replaces  string    `json:"replaces,omitempty"` // digest of the report that it takes the place of
	Number    string    `json:"number,omitempty"`
	Title     string    `json:"title,omitempty"`
	Part      string    `json:"part,omitempty"`
	Program   string    `json:"program,omitempty"` // name and version
	Issued    string    `json:"issued,omitempty"`
	Unit      string    `json:"unit,omitempty"`
	Lot       string    `json:"lot,omitempty"`
	Bench     string    `json:"bench,omitempty"`
	Measured  string    `json:"measured,omitempty"` // as the file of readings states it
	Input     string    `json:"input,omitempty"`    // base name of the file of readings
	Verdict   string    `json:"verdict,omitempty"`  // the worst of the verdicts; "" where there is none
	Verdicts  []Verdict `json:"verdicts,omitempty"`
	Causes    []string  `json:"causes,omitempty"`
	Retested  bool      `json:"retested,omitempty"` // a later test of the unit in the same report counts instead
	Values    []Value   `json:"values,omitempty"`
	State     State     `json:"state"`
	Says      string    `json:"says,omitempty"`      // why it is not current
	Condition string    `json:"condition,omitempty"` // before, during or after a test of a qualification
	Design    string    `json:"design,omitempty"`    // name of the design, of a row that is about no unit
	Rework    string    `json:"rework,omitempty"`    // what was done to the unit before this test, as its file states it

	Gains []record.Gain `json:"gains,omitempty"` // what the diagnosis predicts of a correction
	Chain *Chain        `json:"-"`               // among the measurements of the unit; Chains finds it
}

// called is how a page calls what a row is about.
func (r *Row) called() string {
	if r.Design != "" {
		return "design " + r.Design
	}
	return joined(r.Unit, r.Condition)
}

// joined puts a text behind another, with a comma where there are both.
func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + ", " + b
}

// Verdict is one of the judgements of a report.
type Verdict struct {
	Subject string `json:"subject"`
	Outcome string `json:"outcome"`
}

// Kinds of a Value.
const (
	OfLimit     = "limit"
	OfParameter = "parameter"
	OfDesign    = "design" // the extreme of a design before a limit; no unit's
)

// Value is a figure held against a limit, or a fitted parameter.
type Value struct {
	Kind        string        `json:"kind"`
	Name        string        `json:"name"`
	At          string        `json:"at,omitempty"`
	Unit        string        `json:"unit,omitempty"`
	Rule        string        `json:"rule,omitempty"`  // "at least" or "at most", of a limit
	Limit       record.Number `json:"limit"`           // of a parameter the value specified
	Tolerance   record.Number `json:"tolerance"`       // of a parameter, to either side
	Value       record.Number `json:"value"`           // as measured or fitted
	Margin      record.Number `json:"margin"`          // to the limit; of a parameter to the end of its tolerance
	Uncertainty record.Number `json:"uncertainty"`     // expanded
	Outcome     string        `json:"outcome"`         // of a parameter, whether it is within its tolerance
	Bound       bool          `json:"bound,omitempty"` // the readings prove at least this much and no more
}

// said is the name of a value as a person reads it.
func (v *Value) said() string {
	if v.Kind != OfParameter {
		return strings.ReplaceAll(v.Name, "_", " ")
	}
	return v.Name
}

// BenchKeys are the names of metadata lines that say on which bench a unit was measured; the first that a file has
// counts.
var BenchKeys = []string{"bench", "station", "setup", "operator"}

// Rows returns the rows of a record. Report is where its PDF stands.
func Rows(report, digest string, r *record.Record) []Row {
	base := Row{Report: report, Digest: digest, Number: r.Number, Title: r.Header.Title, Part: r.Header.Part,
		Issued: r.Issued, Program: strings.TrimSpace(r.Program.Name + " " + r.Program.Version), State: Current}
	if r.Supersedes != nil {
		base.Replaces = r.Supersedes.SHA256
	}
	if inKept(report) {
		base.State, base.Says = Superseded, "kept when another took its place"
	}
	if len(r.Units)+len(r.Designs) == 0 {
		return []Row{base}
	}
	rows := make([]Row, len(r.Units), len(r.Units)+len(r.Designs))
	for i, u := range r.Units {
		row := base
		row.Unit, row.Lot, row.Condition, row.Measured, row.Input = u.Unit, u.Lot, u.Condition, u.Measured, u.Input
		row.Retested, row.Causes, row.Bench = !u.Counts(), u.Diagnosis.Causes, stated(r.Inputs, u, BenchKeys...)
		row.Rework = stated(r.Inputs, u, ReworkKey)
		if c := u.Diagnosis.Correction; c != nil {
			row.Gains = c.Gains
		}
		row.judged(u.Verdicts)
		row.Values = slices.Concat(ofLimits(u.Limits), ofParameters(u.Diagnosis.Fitted))
		rows[i] = row
	}
	for _, d := range r.Designs {
		row := base
		row.Design = d.Design
		row.judged(d.Verdicts)
		row.Values = ofDesign(d.Limits)
		rows = append(rows, row)
	}
	return rows
}

// judged takes the verdicts of a row, and the worst of them.
func (r *Row) judged(all []record.Verdict) {
	for _, v := range all {
		r.Verdicts = append(r.Verdicts, Verdict{v.Subject, v.Outcome})
		r.Verdict = worse(r.Verdict, v.Outcome)
	}
}

// inKept reports whether a path leads through a folder of reports that others took the place of.
func inKept(report string) bool {
	for dir := path.Dir(report); dir != "." && dir != "/"; dir = path.Dir(dir) {
		if path.Base(dir) == fileset.SupersededFolder {
			return true
		}
	}
	return false
}

// worse returns the worse of two outcomes: fail, then whatever else is no pass, then pass.
func worse(a, b string) string {
	rank := func(s string) int {
		return slices.Index([]string{"", document.Pass.String(), "", document.Fail.String()}, s)
	}
	level := func(s string) int {
		if n := rank(s); n >= 0 {
			return n
		}
		return 2
	}
	if level(b) > level(a) {
		return b
	}
	return a
}

// stated is what the file of a unit states under the first of some names of metadata lines that it has.
func stated(inputs []record.Input, u record.Unit, keys ...string) string {
	for _, in := range inputs {
		if in.File.Name != u.Input {
			continue
		}
		for _, key := range keys {
			for _, m := range in.Meta {
				if strings.EqualFold(m.Name, key) {
					return m.Value
				}
			}
		}
	}
	return ""
}

func ofLimits(all []record.Limit) []Value {
	values := make([]Value, len(all))
	for i, l := range all {
		values[i] = Value{Kind: OfLimit, Name: l.Quantity, At: l.Over, Unit: l.Unit, Rule: l.Rule, Limit: l.Limit,
			Value: l.Measured, Margin: l.Margin, Uncertainty: l.Uncertainty, Outcome: l.Outcome, Bound: l.Bound}
	}
	return values
}

func ofDesign(all []record.DesignLimit) []Value {
	values := make([]Value, len(all))
	for i, l := range all {
		values[i] = Value{Kind: OfDesign, Name: l.Quantity, At: l.Over, Unit: l.Unit, Rule: l.Rule, Limit: l.Limit,
			Value: l.Computed, Margin: l.Margin, Outcome: l.Outcome}
	}
	return values
}

func ofParameters(all []record.Fitted) []Value {
	values := make([]Value, len(all))
	for i, f := range all {
		values[i] = Value{Kind: OfParameter, Name: f.Name, Unit: f.Unit, Limit: f.Specified, Tolerance: f.Tolerance,
			Value: f.Value, Uncertainty: f.Uncertainty, Outcome: f.Within}
		if m := f.Tolerance.Float() - math.Abs(f.Departure.Float()); !math.IsNaN(m) {
			values[i].Margin = record.Decimal(m, decimals(f.Tolerance, f.Departure))
		}
	}
	return values
}

// decimals is how many the finest of some numbers has.
func decimals(all ...record.Number) int {
	most := 0
	for _, n := range all {
		if at := strings.IndexByte(string(n), '.'); at >= 0 {
			most = max(most, len(n)-at-1)
		}
	}
	return min(most, 12)
}

// tightest is the value of a row with the least margin among its limits; nil where it has none.
func (r *Row) tightest() *Value {
	var least *Value
	for i := range r.Values {
		v := &r.Values[i]
		m := v.Margin.Float()
		if v.Kind != OfParameter && !math.IsNaN(m) && (least == nil || m < least.Margin.Float()) {
			least = v
		}
	}
	return least
}

// Sort puts rows in order of time measured, lot, unit and path. Those without a time come last.
func Sort(rows []Row) {
	type dated struct {
		at    int64
		known bool
		row   Row
	}
	all := make([]dated, len(rows))
	for i, r := range rows {
		t, ok := lot.ParseWhen(r.Measured)
		all[i] = dated{t.UnixMicro(), ok, r}
	}
	slices.SortStableFunc(all, func(a, b dated) int {
		switch {
		case a.known != b.known && a.known:
			return -1
		case a.known != b.known:
			return 1
		case a.known && a.at != b.at:
			return cmp.Compare(a.at, b.at)
		}
		return cmp.Or(lot.Natural(a.row.Lot, b.row.Lot), lot.Natural(a.row.Unit, b.row.Unit),
			strings.Compare(a.row.Report, b.row.Report), strings.Compare(a.row.Input, b.row.Input))
	})
	for i := range all {
		rows[i] = all[i].row
	}
}
