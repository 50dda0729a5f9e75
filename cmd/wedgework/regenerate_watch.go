package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"wedgework/reports/document"
	"wedgework/reports/regenerate"
	observe "wedgework/reports/watch"
)

// around is what a run of a plan does beside its reports.
type around struct {
	noIndex bool
	watch   bool
	every   time.Duration // at which watching looks by itself
	notify  string        // a command that is told of new failures
	metrics string        // a file for a monitoring system
	shard   string        // the part of the plan, "3/8"; "" for all of it
	slurm   int           // parts to have made by Slurm; 0 for none
}

func (w *around) check() error {
	if w.watch && w.every < time.Second {
		return fmt.Errorf("--every: found %s, expected at least 1s", w.every)
	}
	if w.metrics != "" && filepath.Ext(w.metrics) != ".prom" {
		return fmt.Errorf("--metrics: found %q, expected a file that ends in .prom", w.metrics)
	}
	if w.slurm < 0 || w.slurm > mostArray {
		return fmt.Errorf("--slurm: found %d, expected 1 to %d parts", w.slurm, mostArray)
	}
	alone := 0
	for _, one := range []bool{w.watch, w.shard != "", w.slurm > 0} {
		if one {
			alone++
		}
	}
	if alone > 1 {
		return errors.New("found more than one of --watch, --shard and --slurm, expected one of them")
	}
	if w.shard != "" && (w.notify != "" || w.metrics != "") {
		return errors.New("--shard: a part of a plan takes no --notify and no --metrics; give them to the run of the " +
			"whole plan")
	}
	return nil
}

// watchPlan runs a plan whenever something that it is about has changed, until ctx ends. A plan that cannot be read now
// is read again when it changes.
func (a *app) watchPlan(ctx context.Context, path string, o regenerate.Options, w around) error {
	plan, err := readPlan(path)
	if err != nil {
		return err
	}
	now := func() *regenerate.Plan {
		if p, err := readPlan(path); err == nil {
			plan = p
		}
		return plan
	}
	said := "" // of a plan that cannot be run; once, not every second
	observe.Run(ctx, observe.Options{
		Files:   func() []string { files, _ := now().Inputs(); return files },
		Folders: func() []string { _, folders := now().Inputs(); return folders },
		Every:   w.every,
		Say:     func(err error) { a.say("changes are seen only every %s: %v", w.every, err) },
		Do: func() bool {
			err := a.regenerateOnce(ctx, path, o, w)
			switch {
			case err == nil:
				said = ""
			case errors.Is(err, regenerate.ErrInterrupted):
			case err.Error() != said:
				said = err.Error()
				a.fail(err)
			}
			return errors.Is(err, regenerate.ErrBusy)
		},
	})
	a.status = allPass
	return nil
}

// tellOthers tells of new failures, and writes the metrics, after a run. Neither can undo what was made: a failure sets
// the exit status.
func (a *app) tellOthers(ctx context.Context, plan *regenerate.Plan, outcomes []regenerate.Outcome, w around,
	begun time.Time) {
	wrong := func(flag string, err error) {
		if err != nil {
			a.status = failed
			a.say("%s: %v", flag, err)
		}
	}
	if w.notify != "" {
		wrong("--notify", a.notify(ctx, plan, outcomes, w.notify))
	}
	if w.metrics != "" {
		m := measures(outcomes)
		m.Plan, m.Ended, m.Took = filepath.Base(plan.Path), time.Now(), time.Since(begun)
		wrong("--metrics", m.Write(w.metrics))
	}
}

// notify tells a command of the failures that were not there before.
func (a *app) notify(ctx context.Context, plan *regenerate.Plan, outcomes []regenerate.Outcome, command string) error {
	folder := plan.Folders()[0]
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return err
	}
	all := failures(outcomes)
	fresh, err := observe.NewFailures(folder, all)
	if err != nil {
		return err
	}
	if len(fresh) > 0 {
		m := observe.Message{Plan: plan.Path, Time: time.Now().UTC().Truncate(time.Second), Failures: fresh}
		if err := observe.Tell(ctx, command, m); err != nil {
			return fmt.Errorf("%w; %s not told, and the next run tries again", err, document.Count(len(fresh),
				"failure"))
		}
	}
	return observe.Remember(folder, all)
}

// failures lists the reports that could not be made, or of which some verdict does not pass.
func failures(outcomes []regenerate.Outcome) []observe.Failure {
	var all []observe.Failure
	for _, o := range outcomes {
		switch {
		case o.Error != "":
			all = append(all, observe.Failure{Report: o.Task.Output.Text, Kind: observe.NotMade, Says: o.Error})
		case o.Status != regenerate.AllPass:
			all = append(all, observe.Failure{Report: o.Task.Output.Text, Kind: observe.NotPassing, Says: o.Says})
		}
	}
	return all
}

// measures counts what became of reports.
func measures(outcomes []regenerate.Outcome) observe.Metrics {
	var m observe.Metrics
	for _, o := range outcomes {
		if o.Remade() {
			m.Made++
		}
		switch {
		case o.Error != "":
			m.NotMade++
			if came := arrived(o.Task); !came.IsZero() && (m.Waiting.IsZero() || came.Before(m.Waiting)) {
				m.Waiting = came
			}
		case o.Status == regenerate.AllPass:
			m.Passing++
		default:
			m.NotPassing++
		}
	}
	return m
}

// arrived is when the last file of a report came.
func arrived(t *regenerate.Task) time.Time {
	var last time.Time
	for _, b := range t.Data {
		for _, f := range b.Files {
			if info, err := os.Stat(f.Path); err == nil && info.ModTime().After(last) {
				last = info.ModTime()
			}
		}
	}
	return last
}
