// Package recording turns what was found into its record: the result of a verification, what the units of a lot show
// together, and all that a run leaves. It is the one place where a figure is rounded; pages, summaries in a notebook,
// the command and lists of changes print what the record holds.
package recording

import (
	"wedgework/reports/lot"
	"wedgework/reports/measured"
	"wedgework/reports/record"
	"wedgework/reports/rerun"
	"wedgework/reports/verify"
)

// Run returns the record of what a run left. A file that is no table of readings is recorded without rows.
func Run(o *rerun.Outcome, program record.Program, notebook record.Source) *record.Record {
	r := &record.Record{Program: program, Header: o.Header, Notebook: notebook, Cautions: o.Warnings,
		Settings: o.Settings}
	for _, c := range o.Constants {
		r.Constants = append(r.Constants, Source(c))
	}
	for _, in := range o.Inputs {
		for _, f := range in.Files {
			r.Inputs = append(r.Inputs, inputRecords(in, f)...)
		}
	}
	results := make([]*verify.Result, len(o.Verified))
	for i, v := range o.Verified {
		r.Units, results[i] = append(r.Units, Unit(v.Result, v.Model)), v.Result
	}
	for _, d := range o.Reviewed {
		r.Designs = append(r.Designs, Design(d))
	}
	for _, q := range o.Qualified {
		r.Qualifications = append(r.Qualifications, Qualification(q))
	}
	tests := lot.Judge(results, lot.Retest(o.Retest))
	for i, by := range tests.By {
		if by >= 0 {
			r.Units[i].Later = results[by].File
		}
	}
	if s := tests.Words(results); s != "" {
		r.Retests = &record.Retests{Rule: string(tests.Rule), Sentence: s}
	}
	for _, s := range Studies(o) {
		r.Lots = append(r.Lots, Lot(s))
	}
	return r
}

// Source is what the record says of a file.
func Source(f measured.File) record.Source {
	return record.Source{Name: f.Name, SHA256: f.SHA256, Bytes: len(f.Data)}
}

// inputRecords are those of one file: one for each sheet that was read, one for a file that no word took for readings.
func inputRecords(in rerun.Input, f measured.File) []record.Input {
	bare := record.Input{Name: in.Name, File: Source(f)}
	var all []record.Input
	for _, t := range in.Read() {
		if t.File.SHA256 != f.SHA256 || t.File.Name != f.Name {
			continue
		}
		r := bare
		r.Sheet, r.Rows, r.Unit, r.Lot, r.Unused = t.Sheet, t.Rows(), t.Unit(), t.Lot(), t.Unknown
		for _, remark := range t.Remarks {
			r.Remarks = append(r.Remarks, remark.Text)
		}
		for _, kv := range t.Meta {
			r.Meta = append(r.Meta, record.Field{Name: kv.Key, Value: kv.Value})
		}
		all = append(all, r)
	}
	if all == nil {
		return []record.Input{bare}
	}
	return all
}
