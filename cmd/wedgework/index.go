package main

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"wedgework/reports/document"
	"wedgework/reports/index"
	"wedgework/reports/regenerate"
)

func (a *app) indexCommand() *cobra.Command {
	var pdfs bool
	c := &cobra.Command{
		Use:   "index FOLDER",
		Short: "list all reports of a folder in one page and two tables",
		Long: `index reads the records of all reports below FOLDER and writes there

  index.html          a page to search, sort and filter, with control charts, capability and steps of the mean of every
                      margin and fitted parameter over units and lots; it needs no network
  index.csv           a line for each unit of each report
  index-values.csv    a line for each limit and each fitted parameter

wedgework regenerate writes them after every run that changed something, and then also knows which reports could not be
made, are out of date, or have lost their input. The bench of a unit is the metadata line bench of its file of readings,
or else station, setup or operator. A file of readings whose metadata line rework says what was done to the unit, as in
"# rework: wedge 2 turned by 0.6 deg", is a test after rework: the index shows it in the chain of all measurements of the
unit, with the isolation that the diagnosis before had predicted and the one that was measured. In the tables a text that begins with = + - or @ has an apostrophe in front, so that
a spreadsheet does not take it for a formula.`,
		Example: "  wedgework index reports",
		Args:    exactly(1, "a folder of reports"),
		RunE: func(_ *cobra.Command, args []string) error {
			from := index.Records
			if pdfs {
				from = index.PDFs
			}
			return a.index(args[0], index.Options{From: from})
		},
	}
	c.Flags().BoolVar(&pdfs, "from-pdfs", false, "read the records that the PDFs carry, not the JSON files beside them")
	return c
}

// index writes the index of a folder.
func (a *app) index(folder string, o index.Options) error {
	info, err := os.Stat(folder)
	if err == nil && !info.IsDir() {
		err = fmt.Errorf("%s: found a file, expected a folder of reports", folder)
	}
	if err != nil {
		return err
	}
	p := program()
	o.Program, o.Now = p.Name+" "+p.Version, time.Now()
	x, err := index.Build(folder, o)
	if err != nil {
		return err
	}
	if err := x.Write(folder); err != nil {
		return err
	}
	if o.Plan == nil {
		fmt.Fprintf(a.out, "%s: %s\n", filepath.Join(folder, index.PageName), document.Count(len(x.Rows), "row"))
	}
	for _, p := range x.Problems {
		a.say("%s: %s", filepath.Join(folder, filepath.FromSlash(p.Path)), p.Says)
		if o.Plan == nil {
			a.status = max(a.status, someFail)
		}
	}
	return nil
}

// indexPlan writes the index of every folder of a plan, where the run changed something.
func (a *app) indexPlan(plan *regenerate.Plan, outcomes []regenerate.Outcome) {
	for _, folder := range plan.Folders() {
		standing, changed := standings(folder, outcomes)
		if len(standing) == 0 || !changed && index.UpToDate(folder, regenerate.NameOf(plan, folder), standing) {
			continue
		}
		if _, err := os.Stat(folder); err != nil { // no report could be made in it
			continue
		}
		if err := a.index(folder, index.Options{From: index.Records, Plan: standing,
			Name: regenerate.NameOf(plan, folder), Made: regenerate.MadeBy(plan, folder)}); err != nil {
			a.status = failed
			a.say("the index: %v", err)
		}
	}
}

// standings says how the reports below a folder stand after a run, and whether one of them was written.
func standings(folder string, outcomes []regenerate.Outcome) (all []index.Standing, changed bool) {
	for _, o := range outcomes {
		rel, err := filepath.Rel(folder, o.Task.Output.Text)
		if err != nil || !filepath.IsLocal(rel) {
			continue
		}
		s := index.Standing{Report: filepath.ToSlash(rel), State: index.Current}
		if o.Error != "" {
			s.State, s.Says = index.Failed, o.Error
		}
		all = append(all, s)
		changed = changed || o.Remade()
	}
	return all, changed
}
