package regenerate

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gofrs/flock"

	"wedgework/optics/parallel"
	"wedgework/reports/files"
	"wedgework/reports/fileset"
	"wedgework/reports/job"
	"wedgework/reports/reason"
)

// Options say how a plan is run.
type Options struct {
	Workers  int              // at once; 0: as the plan says
	Force    bool             // make also what is fresh
	Shard    Shard            // make only the reports of this part of the plan
	Identity Identity         // of the program that makes the reports
	Command  func() *exec.Cmd // starts a worker: a process that calls Work
	Start    func(total int)  // when the number of reports is known; may be nil
	Each     func(Outcome)    // called for each report as it is done with, from one goroutine at a time; may be nil
}

// Outcome is what became of one report.
type Outcome struct {
	Task   *Task
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
	// The tasks of a plan are held all at once, and little else is allocated here: garbage may be a third of them.
	defer debug.SetGCPercent(debug.SetGCPercent(30))
	r := &run{options: o, plan: p.Path, ledgers: map[string]*ledger{}, eye: newEye(o.Identity)}
	defer r.close()
	workers := o.Workers
	if workers == 0 {
		workers = p.Workers
	}
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	for range max(1, workers) {
		r.hands = append(r.hands, &hand{run: r})
	}
	tasks := p.Tasks(func(of []job.File, b job.Bounds) []Described { return r.describe(ctx, of, b) })
	if ctx.Err() != nil {
		return nil, ErrInterrupted
	}
	if err := r.open(tasks); err != nil {
		return nil, err
	}
	tasks = o.Shard.of(tasks, r.cost)
	r.outcomes = make([]Outcome, len(tasks))
	if o.Start != nil {
		o.Start(len(tasks))
	}
	r.all(ctx, len(tasks), func(h *hand, i int) { r.done(i, h.outcome(ctx, &tasks[i])) })
	r.keep()
	if ctx.Err() != nil {
		return r.outcomes, ErrInterrupted
	}
	return r.outcomes, r.failed
}

// run is a plan under way.
type run struct {
	options  Options
	plan     string             // its path
	ledgers  map[string]*ledger // by folder
	locks    []*flock.Flock
	hands    []*hand
	eye      *eye
	outcomes []Outcome
	mu       sync.Mutex // over Each and failed
	failed   error      // of the run as a whole

	making atomic.Int64 // reports being made
}

// open makes, locks and reads the folders of the reports, in the order of their names so that two runs cannot wait for
// each other. A folder that cannot be used fails its reports.
func (r *run) open(tasks []Task) error {
	in := map[string][]*Task{}
	for i := range tasks {
		if t := &tasks[i]; t.Refused == "" {
			folder := filepath.Dir(t.Output.Text)
			in[folder] = append(in[folder], t)
		}
	}
	for _, folder := range slices.Sorted(maps.Keys(in)) {
		err := r.openFolder(folder, in[folder][0].Base)
		if errors.Is(err, ErrBusy) {
			return err
		}
		if err != nil {
			for _, t := range in[folder] {
				t.Refused = t.Output.At.Wrap(err).Error()
			}
		}
	}
	return nil
}

// ErrBusy is returned when another run is at work in a folder of the plan.
var ErrBusy = errors.New("another run is regenerating this folder")

func (r *run) openFolder(folder, base string) error {
	if err := makeFolder(folder, base); err != nil {
		return err
	}
	part := r.options.Shard.suffix()
	for _, name := range []string{LockName, LedgerName, SeenName, SeenName + "-new", LockName + part, LedgerName + part} {
		if err := ownFile(filepath.Join(folder, name)); err != nil {
			return err
		}
	}
	// Parts of a plan share the lock of the folder, which a run of the whole plan has alone; each has one of its own.
	whole := flock.New(filepath.Join(folder, LockName))
	try := whole.TryLock
	if part != "" {
		try = whole.TryRLock
	}
	if err := r.lock(whole, try, folder); err != nil {
		return err
	}
	if part != "" {
		own := flock.New(filepath.Join(folder, LockName+part))
		if err := r.lock(own, own.TryLock, folder); err != nil {
			return err
		}
	}
	if _, err := fileset.Settle(folder); err != nil { // what a killed run left, fresh or not
		return err
	}
	l, err := openLedger(folder, r.options.Shard)
	if err != nil {
		return fmt.Errorf("%s: the ledger: %w", folder, err)
	}
	l.plan = l.planName(r.plan)
	r.ledgers[folder] = l
	return nil
}

// keep writes what was seen of files. A part of a plan leaves that to the whole.
func (r *run) keep() {
	if !r.options.Shard.whole() {
		return
	}
	for _, folder := range slices.Sorted(maps.Keys(r.ledgers)) {
		if err := r.ledgers[folder].keep(); err != nil {
			r.fail(err)
		}
	}
}

// lock keeps a lock until the run is over.
func (r *run) lock(l *flock.Flock, try func() (bool, error), folder string) error {
	got, err := try()
	if err != nil {
		return fmt.Errorf("the folder of reports cannot be locked: %w", err)
	}
	if !got {
		return fmt.Errorf("%s: %w", folder, ErrBusy)
	}
	r.locks = append(r.locks, l)
	return nil
}

// makeFolder makes a folder of reports. Below base, which the plan names, no link is followed: one that somebody else
// has put there would lead the reports anywhere.
func makeFolder(folder, base string) error {
	if err := os.MkdirAll(base, 0o777); err != nil {
		return fmt.Errorf("the folder of reports: %w", reason.Plain(err))
	}
	rel, err := filepath.Rel(base, folder)
	if err != nil || !filepath.IsLocal(rel) {
		return fmt.Errorf("the folder of reports %s lies outside %s", folder, base)
	}
	path := base
	for _, name := range strings.Split(filepath.ToSlash(rel), "/") {
		path = filepath.Join(path, name)
		err := os.Mkdir(path, 0o777)
		if err != nil && !errors.Is(err, fs.ErrExist) {
			return fmt.Errorf("the folder of reports: %w", reason.Plain(err))
		}
		info, err := os.Lstat(path)
		switch {
		case err != nil:
			return fmt.Errorf("the folder of reports: %w", reason.Plain(err))
		case info.Mode()&fs.ModeSymlink != 0 && name != ".":
			return fmt.Errorf("%s: found a link, expected a folder of reports; a link is not followed", path)
		case !info.IsDir() && name != ".":
			return fmt.Errorf("%s: found something else than a folder", path)
		}
	}
	return nil
}

// ownFile refuses a file of the program's own whose name is taken by something else.
func ownFile(path string) error {
	info, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return reason.Plain(err)
	case info.Mode()&fs.ModeSymlink != 0:
		return fmt.Errorf("%s: found a link, expected a regular file", path)
	}
	if err := files.Regular(info.Mode()); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return nil
}

func (r *run) close() {
	for _, h := range r.hands {
		h.end()
	}
	for _, l := range r.ledgers {
		l.close()
	}
	for _, l := range r.locks {
		l.Unlock()
	}
}

// all has the hands do n things.
func (r *run) all(ctx context.Context, n int, do func(h *hand, i int)) {
	var free atomic.Int64
	parallel.Share(len(r.hands), n, func(next func() (int, bool)) {
		h := r.hands[free.Add(1)-1]
		for ctx.Err() == nil {
			i, ok := next()
			if !ok {
				return
			}
			do(h, i)
		}
	})
}

// describe has workers look into files: whatever is in one fails the report that it is for.
func (r *run) describe(ctx context.Context, of []job.File, b job.Bounds) []Described {
	all := make([]Described, len(of))
	r.all(ctx, len(of), func(h *hand, i int) {
		made, err := h.make(ctx, Task{Look: &of[i], Job: job.Job{Bounds: b}})
		if err == nil && made.Error != "" {
			err = errors.New(made.Error)
		}
		all[i] = Described{About: made.About, Err: err}
	})
	return all
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
		h.worker = nil
	}
}

func (h *hand) outcome(ctx context.Context, t *Task) Outcome {
	o := Outcome{Task: t, Status: NotMade, Error: t.Refused}
	if o.Error != "" {
		return o
	}
	l := h.run.ledgers[filepath.Dir(t.Output.Text)]
	if !h.run.options.Force {
		if o, ok := l.seen.upToDate(h.run.eye, t, l.plan); ok {
			return o
		}
	}
	from, err := h.run.options.Identity.sources(ctx, &t.Job)
	if err == nil {
		err = l.need()
	}
	if ctx.Err() != nil {
		err = errors.New("interrupted")
	}
	if err != nil {
		o.Error = err.Error()
		return o
	}
	now := l.stale(t, from)
	o.Why, o.Older, t.Check = now.why, now.older, now.check && !h.run.options.Force
	if o.Why == "" && h.run.options.Force {
		o.Why = "asked for"
	}
	if o.Why == "" {
		h.stands(l, &o)
		return o
	}
	begun := time.Now()
	made, err := h.make(ctx, *t)
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
		m.From, m.Plan = from, l.plan
		err = l.add(m)
	} else {
		err = h.enter(l, &t.Job, from, made, time.Since(begun))
	}
	if err != nil {
		h.run.fail(err) // the report is made; without a line in the ledger the next run makes it again
	}
	return o
}

// stands notes a report that is up to date.
func (h *hand) stands(l *ledger, o *Outcome) {
	m, _ := l.of(filepath.Base(o.Task.Output.Text))
	o.Status, o.Says = m.Status, m.Says
	if m.Plan != l.plan {
		m.Plan = l.plan
		if err := l.add(m); err != nil {
			h.run.fail(err)
		}
	}
	l.seen.confirm(h.run.eye, o.Task, l.plan, m, o.Older)
}

// make has the worker make the report, and starts another one when it died of the last.
func (h *hand) make(ctx context.Context, t Task) (Made, error) {
	// A share of the processors: a worker that reckons with those the others use wakes threads for nothing, a twelfth
	// of its time. The first of a run have more than theirs.
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
func (h *hand) enter(l *ledger, j *job.Job, from Sources, made Made, took time.Duration) error {
	m := entryMade{Report: filepath.Base(j.Output.Text), From: from, Status: made.Status, Says: made.Summary,
		Cost: max(1, took.Milliseconds()), Plan: l.plan}
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
