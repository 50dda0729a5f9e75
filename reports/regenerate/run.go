package regenerate

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"github.com/gofrs/flock"

	"wedgework/optics/parallel"
	"wedgework/reports/files"
	"wedgework/reports/fileset"
	"wedgework/reports/job"
)

// Options say how a plan is run.
type Options struct {
	Workers  int              // at once; 0: as the plan says
	Force    bool             // make also what is fresh
	Identity Identity         // of the program that makes the reports
	Command  func() *exec.Cmd // starts a worker: a process that calls Work
	Describe Describe         // reads what a file says of itself
	Start    func(total int)  // when the number of reports is known; may be nil
	Each     func(Outcome)    // called for each report as it is done with, from one goroutine at a time; may be nil
}

// Outcome is what became of one report.
type Outcome struct {
	Task   Task
	Status Status
	Says   string // what the verdicts come to, for people
	Why    string // why it was made anew: "new", "the data changed"; nothing for a fresh one
	Error  string // why it could not be made; what stood in its place is as it was
	Note   string // what became of a report that stood in its place
	Valid  string // the version of the program under which a report of another one stays valid; it was not made anew
	Older  bool   // it is up to date, and made by another version of the program
}

// Remade reports whether the report was written in this run.
func (o *Outcome) Remade() bool { return o.Why != "" && o.Error == "" && o.Valid == "" }

// LockName is the file by which a run keeps another out of a folder of reports. The lock ends with the process, however
// it ends; the file may stay.
const LockName = ".wedgework-regenerate"

// ErrInterrupted is returned when ctx ended before the last report. The next run goes on from there.
var ErrInterrupted = errors.New("interrupted; what is done is in place, and the next run goes on from there")

// Run makes the reports of a plan that are not fresh. The outcomes come in the plan's order. The error is for what
// concerns the plan as a whole: another run at work in a folder, a folder that cannot be made, an interrupt.
func Run(ctx context.Context, p *Plan, o Options) ([]Outcome, error) {
	tasks, err := p.Tasks(o.Describe)
	if err != nil {
		return nil, err
	}
	r := &run{options: o, ledgers: map[string]*ledger{}, outcomes: make([]Outcome, len(tasks))}
	defer r.close()
	if err := r.open(tasks); err != nil {
		return nil, err
	}
	if o.Start != nil {
		o.Start(len(tasks))
	}
	workers := o.Workers
	if workers == 0 {
		workers = p.Workers
	}
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	r.all(ctx, tasks, max(1, min(workers, len(tasks))))
	if ctx.Err() != nil {
		return r.outcomes, ErrInterrupted
	}
	return r.outcomes, r.failed
}

// run is a plan under way.
type run struct {
	options  Options
	ledgers  map[string]*ledger // by folder
	locks    []*flock.Flock
	outcomes []Outcome
	mu       sync.Mutex // over Each and failed
	failed   error      // of the run as a whole

	making atomic.Int64 // reports being made
}

// open makes, locks and reads the folders of the reports, in the order of their names so that two runs cannot wait for
// each other.
func (r *run) open(tasks []Task) error {
	var folders []string
	for _, t := range tasks {
		if folder := filepath.Dir(t.Output.Text); t.Refused == "" && !slices.Contains(folders, folder) {
			folders = append(folders, folder)
		}
	}
	slices.Sort(folders)
	for _, folder := range folders {
		if err := os.MkdirAll(folder, 0o777); err != nil {
			return fmt.Errorf("the folder of reports: %w", err)
		}
		lock := flock.New(filepath.Join(folder, LockName))
		got, err := lock.TryLock()
		if err != nil {
			return fmt.Errorf("the folder of reports cannot be locked: %w", err)
		}
		if !got {
			return fmt.Errorf("%s: another run is regenerating this folder", folder)
		}
		r.locks = append(r.locks, lock)
		if _, err := fileset.Settle(folder); err != nil { // what a killed run left, fresh or not
			return err
		}
		l, err := openLedger(folder)
		if err != nil {
			return fmt.Errorf("%s: the ledger: %w", folder, err)
		}
		r.ledgers[folder] = l
	}
	return nil
}

func (r *run) close() {
	for _, l := range r.ledgers {
		l.close()
	}
	for _, l := range r.locks {
		l.Unlock()
	}
}

// all hands the tasks out.
func (r *run) all(ctx context.Context, tasks []Task, workers int) {
	parallel.Share(workers, len(tasks), func(next func() (int, bool)) {
		h := &hand{run: r}
		defer h.end()
		for ctx.Err() == nil {
			i, ok := next()
			if !ok {
				return
			}
			r.done(i, h.outcome(ctx, tasks[i]))
		}
	})
}

func (r *run) done(i int, o Outcome) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.outcomes[i] = o
	if r.options.Each != nil {
		r.options.Each(o)
	}
}

func (r *run) fail(err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.failed == nil {
		r.failed = err
	}
}

// hand does one job at a time, with a worker that is started when the first report has to be made.
type hand struct {
	run    *run
	worker *worker
}

func (h *hand) end() {
	if h.worker != nil {
		h.worker.end()
	}
}

func (h *hand) outcome(ctx context.Context, t Task) Outcome {
	o := Outcome{Task: t, Status: NotMade, Error: t.Refused}
	if o.Error != "" {
		return o
	}
	from, err := h.run.options.Identity.sources(&t.Job)
	if err != nil {
		o.Error = err.Error()
		return o
	}
	l := h.run.ledgers[filepath.Dir(t.Output.Text)]
	now := l.stale(&t, from)
	o.Why, o.Older, t.Check = now.why, now.older, now.check && !h.run.options.Force
	if o.Why == "" && h.run.options.Force {
		o.Why = "asked for"
	}
	if o.Why == "" {
		m, _ := l.of(filepath.Base(t.Output.Text))
		o.Status, o.Says = m.Status, m.Says
		return o
	}
	made, err := h.make(ctx, t)
	if err == nil && made.Error != "" {
		err = errors.New(made.Error)
	}
	if err != nil {
		o.Error = err.Error()
		return o
	}
	o.Status, o.Says, o.Note, o.Valid = made.Status, made.Summary, made.Note, made.Valid
	if made.Valid != "" {
		m, _ := l.of(filepath.Base(t.Output.Text))
		o.Status, o.Says = m.Status, m.Says
		m.From = from
		err = l.add(m)
	} else {
		err = h.enter(l, &t.Job, from, made)
	}
	if err != nil {
		h.run.fail(err) // the report is made; without a line in the ledger the next run makes it again
	}
	return o
}

// make has the worker make the report, and starts another one when it died of the last.
func (h *hand) make(ctx context.Context, t Task) (Made, error) {
	// A share of the processors: a worker that reckons with those the others use wakes threads for nothing, a twelfth of
	// its time. The first of a run have more than theirs.
	making := int(h.run.making.Add(1))
	defer h.run.making.Add(-1)
	t.Processors = (runtime.GOMAXPROCS(0) + making - 1) / making
	if err := ctx.Err(); err != nil {
		return Made{}, errors.New("interrupted")
	}
	if h.worker == nil {
		w, err := startWorker(h.run.options.Command())
		if err != nil {
			return Made{}, fmt.Errorf("a worker does not start: %w", err)
		}
		h.worker = w
	}
	made, ok := h.worker.do(ctx, t)
	if !ok {
		h.worker.end()
		h.worker = nil
	}
	return made, nil
}

// enter writes the line of a report that has been made.
func (h *hand) enter(l *ledger, j *job.Job, from Sources, made Made) error {
	m := entryMade{Report: filepath.Base(j.Output.Text), From: from, Status: made.Status, Says: made.Summary}
	for _, read := range made.Read {
		m.Read = append(m.Read, Hash{l.relative(read.Path), read.SHA256})
	}
	for _, path := range made.Written {
		sum, err := files.Hash(path)
		if err != nil {
			return err
		}
		m.Files = append(m.Files, Hash{l.relative(path), sum})
	}
	return l.add(m)
}
