package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"wedgework/kernel/session"
	"wedgework/optics/material"
	"wedgework/reports/document"
	"wedgework/reports/files"
	"wedgework/reports/job"
	"wedgework/reports/measured"
	"wedgework/reports/publish"
	"wedgework/reports/record"
	"wedgework/reports/regenerate"
)

func (a *app) regenerateCommand() *cobra.Command {
	var o regenerate.Options
	var w around
	c := &cobra.Command{
		Use:   "regenerate PLAN.toml",
		Short: "make the reports of a plan whose inputs have changed",
		Long: `regenerate makes the reports that a plan lists, but only those whose notebook, inputs, settings, constants or
program have changed since, or whose files are no longer the ones that were written. Each report is made in a process
of its own with limited time and memory. An error fails one report only, and its previous files stay in place.

  workers = 2                                 reports made at the same time; default: one per processor
  time = "2m"                                 limit for one report; also allowed in a [[report]]
  memory = "1 GB"                             likewise

  [[report]]
  notebook = "verify.ipynb"                   paths are relative to the plan
  output = "reports/{lot}/{unit}.pdf"         one report for every file that matches, named by its groups
  data.sweep = "incoming/lot-{lot}-unit-{unit}.csv"
  data.reference = "incoming/reference-{lot}.csv"
  set.apex = "5*deg"

In a pattern * matches any text, ? one character, {name} a text that can then be used under that name, and ** any
number of folders. per = "unit" or "lot", or any group, makes one report of all files that share it. If the pattern has
no group unit or lot, these are read from the file of readings; {file} is its name. lead = "sweep" names the input whose
files make the reports, if several inputs have patterns. fonts, roots, issued and number are as for wedgework report. A
name that is more than letters, digits, - and _ is quoted: data."my sweep".

  sign = "quality.key"                        or sign.prepared = "...": signs every report, as report --sign
  remake = "figures"                          after a change of the program, only reports of which a printed figure
                                              changes are made again; "inputs": none, "always": all

A report that is signed, or was changed after it was written, is never overwritten: its files are moved to a folder
named superseded.

With --watch the program keeps running: a report is made as soon as its file has been written to the end. A COMMAND
given with --notify, a path without arguments, is run when a report fails that did not fail before, and gets
{"plan": ..., "time": ..., "failures": [{"report": ..., "kind": "not made" or "not passing", "says": ...}]}.

With --shard I/N, a run makes the reports of one part of the plan; parts run side by side, on one machine or on several
that share the folder, and the time that each report last took divides the plan evenly. The next run without --shard
takes the parts together, makes what is missing, and writes the index. --slurm N submits N parts as an array, and that
run after them; partition, account and the like come from the variables of sbatch, such as SBATCH_PARTITION.

The folder of the reports gets an index: index.html to look at, index.csv and index-values.csv for other programs (see
wedgework help index).

Exit status: 0 every verdict of every report passes; 1 some verdict does not; 2 some report, or the index, could not be
made; 3 another run of the plan is at work, and nothing was done.`,
		Example: "  wedgework regenerate plan.toml",
		Args:    exactly(1, "a plan"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.regenerate(c.Context(), args[0], o, w)
		},
	}
	c.Flags().IntVar(&o.Workers, "jobs", 0, "reports made at the same time; default: as the plan says")
	c.Flags().BoolVar(&o.Force, "force", false, "make every report, even those that are up to date")
	c.Flags().StringVar(&w.shard, "shard", "",
		"make only part `I/N` of the plan, as in 3/8; the next run of the whole plan takes the parts together")
	c.Flags().IntVar(&w.slurm, "slurm", 0, "have Slurm make the plan in `N` parts, and take them together")
	c.Flags().BoolVar(&w.noIndex, "no-index", false, "do not write the index of the reports")
	c.Flags().BoolVar(&w.watch, "watch", false, "keep running, and make reports as files come and change")
	c.Flags().DurationVar(&w.every, "every", 10*time.Second,
		"with --watch, how often to look where the system reports no changes, as on network shares")
	c.Flags().StringVar(&w.notify, "notify", "", "run `COMMAND` with new failures as JSON on its standard input")
	c.Flags().StringVar(&w.metrics, "metrics", "", "write counts and times for Prometheus to `FILE.prom`")
	return c
}

func (a *app) regenerate(ctx context.Context, path string, o regenerate.Options, w around) error {
	if o.Workers < 0 { // 0 is the plan's
		return fmt.Errorf("--jobs: found %d, expected at least 1", o.Workers)
	}
	if err := w.check(); err != nil {
		return err
	}
	self, err := os.Executable()
	if err != nil {
		return fmt.Errorf("cannot locate the wedgework executable: %w", err)
	}
	if o.Identity, err = identity(self); err != nil {
		return err
	}
	o.Command = func() *exec.Cmd { return exec.Command(self, workerCommand) }
	if w.shard != "" {
		if o.Shard, err = regenerate.ParseShard(w.shard); err != nil {
			return fmt.Errorf("--shard: %w", err)
		}
	}
	switch {
	case w.slurm > 0:
		return a.submit(ctx, self, path, o, w)
	case w.watch:
		return a.watchPlan(ctx, path, o, w)
	}
	err = a.regenerateOnce(ctx, path, o, w)
	if errors.Is(err, regenerate.ErrBusy) {
		a.status = busy
		a.say("%v; nothing was done", err)
		return nil
	}
	return err
}

func readPlan(path string) (*regenerate.Plan, error) {
	data, err := files.Read(path)
	if err != nil {
		return nil, err
	}
	return regenerate.ReadPlan(path, data)
}

// regenerateOnce runs a plan once, and does what is done around it.
func (a *app) regenerateOnce(ctx context.Context, path string, o regenerate.Options, w around) error {
	begun := time.Now()
	plan, err := readPlan(path)
	if err != nil {
		return err
	}
	bar := a.bar("reports")
	o.Start = bar.start
	o.Each = func(one regenerate.Outcome) {
		bar.clear()
		a.regenerated(one)
		bar.step()
	}
	outcomes, err := regenerate.Run(ctx, plan, o)
	bar.clear()
	if err != nil {
		return err
	}
	a.summarize(outcomes)
	if w.shard != "" { // the index and what others are told are about the whole
		return nil
	}
	if !w.noIndex {
		a.indexPlan(plan, outcomes)
	}
	a.tellOthers(ctx, plan, outcomes, w, begun)
	return nil
}

// identity hashes the program and the constants in it.
func identity(self string) (regenerate.Identity, error) {
	sum, err := files.Hash(self)
	if err != nil {
		return regenerate.Identity{}, fmt.Errorf("cannot read the wedgework executable: %w", err)
	}
	return regenerate.Identity{Program: sum, Constants: material.SHA256()}, nil
}

// lookInto reads what a file of readings says of its unit and lot.
func lookInto(ctx context.Context, f job.File) (regenerate.About, error) {
	data, err := files.ReadWithin(ctx, f.Path, f.Within)
	if err != nil {
		return regenerate.About{}, err
	}
	file, err := measured.Hashed(ctx, filepath.Base(f.Path), data)
	if err != nil {
		return regenerate.About{}, err
	}
	t, err := measured.ReadPart(ctx, file, measured.Part{Condition: measured.FirstCondition})
	if err != nil {
		return regenerate.About{}, err
	}
	return regenerate.About{Units: each(t.Units, t.Unit()), Lots: each(t.Lots, t.Lot())}, nil
}

// each lists the different values of a column, or the one that stands for the whole file.
func each(column []string, all string) []string {
	if column == nil {
		return []string{all}
	}
	return slices.Compact(slices.Sorted(slices.Values(column)))
}

// reportBar shows on the terminal how many reports are done with.
type reportBar struct {
	show  watcher // nil where there is no terminal
	p     session.Progress
	begun time.Time
}

func (a *app) bar(task string) *reportBar {
	return &reportBar{show: a.watcher(), p: session.Progress{Task: task}, begun: time.Now()}
}

func (b *reportBar) start(total int) { b.p.Total = total; b.draw(false) }
func (b *reportBar) step()           { b.p.Done++; b.draw(false) }
func (b *reportBar) clear()          { b.draw(true) } // for a line of its own

func (b *reportBar) draw(over bool) {
	if b.show != nil {
		b.p.Elapsed, b.p.Over = time.Since(b.begun), over
		b.show(b.p, nil)
	}
}

// regenerated says what was done about a report; about one that is up to date there is nothing to say.
func (a *app) regenerated(o regenerate.Outcome) {
	switch {
	case o.Error != "":
		a.say("%s: not made: %s", o.Task.Output.Text, o.Error)
	case o.Valid != "":
		fmt.Fprintf(a.out, "%s: %s; still valid under version %s, no printed figure changes\n", o.Task.Output.Text,
			o.Why,
			o.Valid)
	case o.Remade():
		fmt.Fprintf(a.out, "%s: %s; %s\n", o.Task.Output.Text, o.Why, o.Says)
		if o.Note != "" {
			a.say("%s: %s", o.Task.Output.Text, o.Note)
		}
	}
}

// summarize counts the reports, lists again what failed, and sets the exit status.
func (a *app) summarize(outcomes []regenerate.Outcome) {
	count := map[string]int{}
	var failed []string
	for _, o := range outcomes {
		a.status = max(a.status, int(o.Status))
		what := "up to date"
		switch {
		case o.Error != "":
			failed = append(failed, o.Task.Output.Text)
			count["failed"]++
			continue
		case o.Remade():
			what = "made"
		case o.Valid != "":
			what = "still valid"
		}
		count[what]++
		if o.Older {
			count["older"]++
		}
		if o.Status != regenerate.AllPass {
			count["failing"]++
		}
	}
	fmt.Fprintln(a.out, totals(len(outcomes), count))
	if len(failed) > 0 {
		a.say("not made:\n%s", strings.Join(failed, "\n"))
	}
}

// totals words what became of the reports of a plan.
func totals(all int, count map[string]int) string {
	text := fmt.Sprintf("%s: %d made, %d up to date", document.Count(all, "report"), count["made"], count["up to date"])
	if n := count["older"]; n > 0 {
		text += fmt.Sprintf(" (%d by another version)", n)
	}
	if n := count["still valid"]; n > 0 {
		text += fmt.Sprintf(", %d still valid", n)
	}
	text += fmt.Sprintf(", %d failed", count["failed"])
	switch {
	case count["failing"] > 0:
		text += fmt.Sprintf("; in %d, not every verdict passes", count["failing"])
	case count["failed"] == 0:
		text += "; every verdict passes"
	}
	return text
}

// workerCommand is how regenerate starts this program again, to make reports for it. It is not for people.
const workerCommand = "make-for-regenerate"

func (a *app) workerCommand() *cobra.Command {
	return &cobra.Command{
		Use:    workerCommand,
		Hidden: true,
		Args:   exactly(0, "no argument"),
		RunE: func(*cobra.Command, []string) error {
			collectLess()
			return regenerate.Work(a.in, a.out, regenerate.Maker{Make: makeReport, Look: lookInto})
		},
	}
}

// makeReport makes one report of a plan and puts it in place.
func makeReport(ctx context.Context, t *regenerate.Task) (regenerate.Made, error) {
	j := &t.Job
	if _, err := publish.Target(j); err != nil {
		return regenerate.Made{}, err
	}
	with := tools(nil)
	with.KeepValid = t.Check
	r, err := publish.Make(ctx, j, with)
	if err != nil {
		return regenerate.Made{}, notebookError(err)
	}
	made := regenerate.Made{Summary: verdicts(r.Record)}
	for _, f := range r.Read {
		made.Read = append(made.Read, regenerate.Hash(f))
	}
	if !r.Record.Passes() {
		made.Status = regenerate.SomeFail
	}
	if r.StillValid {
		made.Valid = program().Version
		return made, nil
	}
	placed, err := r.Place(j.Output.Text)
	if err != nil {
		return regenerate.Made{}, err
	}
	made.Written, made.Note = placed.Paths, placed.Says(r)
	return made, nil
}

// verdicts counts the verdicts of a report that pass.
func verdicts(r *record.Record) string {
	all, pass := 0, 0
	count := func(verdicts []record.Verdict) {
		for _, v := range verdicts {
			all++
			if v.Outcome == document.Pass.String() {
				pass++
			}
		}
	}
	for _, u := range r.Units {
		if u.Counts() {
			count(u.Verdicts)
		}
	}
	for _, d := range r.Designs {
		count(d.Verdicts)
	}
	for _, q := range r.Qualifications {
		count([]record.Verdict{q.Verdict})
	}
	if all == 0 {
		return "no call of verify()"
	}
	return document.Passing(pass, all, "verdict")
}
