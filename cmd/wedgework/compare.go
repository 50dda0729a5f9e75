package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"wedgework/reports/changes"
	"wedgework/reports/fileset"
	"wedgework/reports/pdf"
	"wedgework/reports/publish"
	"wedgework/reports/record"
	"wedgework/reports/reproduce"
)

func (a *app) compareCommand() *cobra.Command {
	var out string
	var asJSON bool
	c := &cobra.Command{
		Use:   "compare OLD.json NEW.json",
		Short: "list what changed between two records",
		Long: `compare lists what changed between two records, by consequence: verdicts, margins, fitted parameters,
then limits, settings, inputs, constants and cells. Results that moved by one unit of their last digit are counted in
one line. It prints text or JSON; --out writes pages, of which the first can precede the new report. For a report's PDF,
the record inside it is used. Cells are compared line by line when the PDF or the executed notebook beside the record
is there.

Exit status: 0 no differences; 1 differences; 2 the comparison could not be made.`,
		Example: "  wedgework compare rev-a/0417.json rev-b/0417.json --out changes.pdf",
		Args:    exactly(2, "an old and a new record"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.compare(args[0], args[1], out, asJSON)
		},
	}
	c.Flags().StringVar(&out, "out", "", "also write the changes as `CHANGES.pdf`")
	c.Flags().BoolVar(&asJSON, "json", false, "print the changes as JSON")
	return c
}

func (a *app) compare(before, after, out string, asJSON bool) error {
	if out != "" {
		if _, err := publish.Paths(out); err != nil {
			return fmt.Errorf("--out: %w", err)
		}
		if err := publish.Apart([]string{out}, []string{before, after}); err != nil {
			return fmt.Errorf("--out: %w", err)
		}
		switch is, err := publish.ReportAt(out); {
		case err != nil:
			return fmt.Errorf("--out: %w", err)
		case is:
			return fmt.Errorf("--out: %s is a report, which is not overwritten; give the changes another name or "+
				"folder", out)
		}
	}
	was, err := readRevision(before)
	if err != nil {
		return err
	}
	is, err := readRevision(after)
	if err != nil {
		return err
	}
	c, err := changes.Compare(was, is)
	if err != nil {
		return err
	}
	data, err := c.Bytes()
	if err != nil {
		return err
	}
	if out != "" {
		if err := a.writeChanges(c, data, out); err != nil {
			return err
		}
	}
	if !c.Same() {
		a.status = someFail
	}
	if asJSON {
		_, err = a.out.Write(data)
	} else {
		_, err = fmt.Fprint(a.out, c.Document().Text())
	}
	return err
}

// writeChanges writes the changes as pages that carry both records and the changes as JSON.
func (a *app) writeChanges(c *changes.Comparison, data []byte, out string) error {
	p := program()
	page, warnings, err := pdf.Render(c.Numbered(data), pdf.Options{
		Program: p.Name + " " + p.Version,
		Issued:  c.New.Record.Issued,
		Attachments: []pdf.Attachment{
			{Name: "changes.json", Description: "the changes", MIME: "application/json", Relation: "Data", Data: data},
			{
				Name: "old-" + record.FileName, Description: "the old record", MIME: "application/json",
				Relation: "Source",
				Data:     c.Old.JSON,
			},
			{
				Name: "new-" + record.FileName, Description: "the new record", MIME: "application/json",
				Relation: "Source",
				Data:     c.New.JSON,
			},
		},
	})
	if err != nil {
		return err
	}
	for _, w := range warnings {
		a.say("warning: %s", w)
	}
	return fileset.Replace([]fileset.File{{Path: out, Data: page}})
}

// readRevision reads a record, or the one that a report carries.
func readRevision(path string) (r changes.Revision, err error) {
	data, err := readBounded(path)
	if err != nil {
		return r, err
	}
	r.Name, r.JSON = filepath.Base(path), data
	if bytes.HasPrefix(data, []byte("%PDF-")) {
		carried, err := reproduce.Open(data)
		if err != nil {
			return r, fmt.Errorf("%s: %w", path, err)
		}
		r.JSON, r.Notebook = carried.JSON, carried.Notebook.Data
	}
	if r.Record, err = record.Read(r.JSON); err != nil {
		return r, hinted{fmt.Errorf("%s: %w", path, err), "give compare a REPORT.json or a REPORT.pdf"}
	}
	r.SHA256 = record.Digest(r.JSON)
	if r.Notebook == nil {
		r.Notebook = executedBeside(path, r.Record)
	}
	return r, nil
}

// executedBeside returns the executed notebook that stands beside a record, when it is the one that the record names;
// else nil.
func executedBeside(path string, r *record.Record) []byte {
	data, err := readBounded(strings.TrimSuffix(path, ".json") + ".ipynb")
	if err != nil || record.Digest(data) != r.Executed.SHA256 {
		return nil
	}
	return data
}
