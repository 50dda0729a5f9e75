package regenerate

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"strings"
	"sync"
	"time"

	"wedgework/reports/job"
	"wedgework/reports/memory"
)

// Made is what became of a job.
type Made struct {
	Status  Status   // what the verdicts say
	Summary string   // the same for people
	Read    []Hash   // files that the notebook read by itself, as the program opened them, and what was in them
	Written []string // the files of the report
	Error   string   // why there is no report
	Note    string   // what became of a report that stood in its place
	About   About    // what a file says of itself, for a task that only looks into it
	Valid   string   // the version under which a report that stands stays valid, when it was to be checked and is
}

// Status is what the verdicts of a report say, taken together; the numbers are the exit statuses of the program.
type Status int

// What a report's verdicts, or a whole plan's, come to.
const (
	AllPass  Status = 0
	SomeFail Status = 1 // some verdict is not a pass
	NotMade  Status = 2 // there is no report, or none that belongs to the inputs
)

// Maker is what a worker can do. Both end when ctx ends.
type Maker struct {
	// Make makes one report and puts it in place, whole or not at all; or finds that the one that stands stays valid.
	Make func(ctx context.Context, t *Task) (Made, error)

	// Look reads what a file of readings says of its unit and lot.
	Look func(ctx context.Context, f job.File) (About, error)
}

// Work is the life of a worker: it does the tasks that come in, one after another, until there are no more. The
// terminal's interrupt is for the program that started it; when that is gone, the input ends, and so does the task
// under way.
func Work(in io.Reader, out io.Writer, m Maker) error {
	signal.Ignore(os.Interrupt)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	tasks := tasksFrom(in, stop)
	answers := json.NewEncoder(out)
	for t := range tasks {
		if err := answers.Encode(work(ctx, &t, m)); err != nil {
			return err
		}
	}
	return nil
}

// tasksFrom reads tasks; when the input ends it says stop to the one under way.
func tasksFrom(in io.Reader, stop func()) <-chan Task {
	tasks := make(chan Task)
	go func() {
		defer close(tasks)
		defer stop()
		d := json.NewDecoder(in)
		for {
			var t Task
			if err := d.Decode(&t); err != nil {
				return
			}
			tasks <- t
		}
	}()
	return tasks
}

func work(ctx context.Context, t *Task, m Maker) Made {
	runtime.GOMAXPROCS(t.Processors) // no less than 1, or it stays as it is
	if err := memory.Limit(t.Bounds.Memory); err != nil {
		return Made{Status: NotMade, Error: err.Error()}
	}
	if t.Bounds.Time > 0 {
		var done context.CancelFunc
		ctx, done = context.WithTimeout(ctx, t.Bounds.Time)
		defer done()
	}
	made, err := m.do(ctx, t)
	if err != nil {
		made = Made{Status: NotMade, Error: err.Error()}
		if errors.Is(ctx.Err(), context.DeadlineExceeded) {
			made.Error = overTime(t.Bounds.Time) + ": " + made.Error
		}
	}
	return made
}

func (m Maker) do(ctx context.Context, t *Task) (Made, error) {
	if t.Look == nil {
		return m.Make(ctx, t)
	}
	about, err := m.Look(ctx, *t.Look)
	return Made{About: about}, t.Look.At.Wrap(err)
}

func overTime(limit time.Duration) string {
	return "took longer than the " + limit.String() + " that the plan allows"
}

// worker is a process that makes reports, seen from the program that started it.
type worker struct {
	command *exec.Cmd
	in      io.WriteCloser
	answers *json.Decoder
	errors  *tail
}

// startWorker starts a worker. Memory that it lets go stays its own as long as nobody else wants it, unless GODEBUG
// says otherwise: every report would have to ask for it anew.
func startWorker(command *exec.Cmd) (*worker, error) {
	command.Env = command.Environ()
	own := ""
	for _, v := range command.Env {
		if value, ok := strings.CutPrefix(v, "GODEBUG="); ok {
			own = "," + value // what comes later goes before
		}
	}
	command.Env = append(command.Env, "GODEBUG=madvdontneed=0"+own)
	w := &worker{command: command, errors: &tail{}}
	command.Stderr = w.errors
	var err error
	if w.in, err = command.StdinPipe(); err != nil {
		return nil, err
	}
	out, err := command.StdoutPipe()
	if err != nil {
		return nil, err
	}
	w.answers = json.NewDecoder(bufio.NewReader(out))
	return w, command.Start()
}

// grace is how long a worker may take, after a job's time is over, to stop by itself and say in which cell it was.
const grace = 3 * time.Second

// do has a job made. When the worker dies of it, or must be killed, ok is false: it can do no further ones.
func (w *worker) do(ctx context.Context, t Task) (made Made, ok bool) {
	over := make(chan struct{})
	defer close(over)
	var reason string
	var mu sync.Mutex
	kill := func(why string) {
		mu.Lock()
		defer mu.Unlock()
		if reason == "" {
			reason = why
			w.command.Process.Kill()
		}
	}
	go func() {
		var late <-chan time.Time
		if t.Bounds.Time > 0 {
			timer := time.NewTimer(t.Bounds.Time + grace)
			defer timer.Stop()
			late = timer.C
		}
		select {
		case <-over:
		case <-late:
			kill(overTime(t.Bounds.Time))
		case <-ctx.Done():
			w.in.Close() // the worker then stops by itself
			select {
			case <-over:
			case <-time.After(grace):
				kill("interrupted")
			}
		}
	}()
	err := json.NewEncoder(w.in).Encode(t)
	if err == nil {
		if err = w.answers.Decode(&made); err == nil {
			return made, ctx.Err() == nil
		}
	}
	w.command.Wait()
	mu.Lock()
	defer mu.Unlock()
	if reason == "" {
		reason = w.errors.cause(t.Bounds.Memory)
	}
	return Made{Status: NotMade, Error: reason}, false
}

// end lets the worker go.
func (w *worker) end() {
	w.in.Close()
	w.command.Wait()
}

// tail keeps the beginning of what a worker says before it dies: the Go runtime tells the cause first.
type tail struct {
	mu   sync.Mutex
	text []byte
}

// tailLength is how much is kept.
const tailLength = 8 << 10

func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.text = append(t.text, p[:min(len(p), tailLength-len(t.text))]...)
	return len(p), nil
}

// cause words why the worker died.
func (t *tail) cause(limit uint64) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	text := string(t.text)
	if memory.Ended(text, limit > 0) {
		return "took more than the " + memory.Text(limit) + " of memory that the plan allows"
	}
	first, _, _ := strings.Cut(strings.TrimSpace(text), "\n")
	if first == "" {
		first = "without a word"
	}
	return "the process that made it ended: " + first
}
