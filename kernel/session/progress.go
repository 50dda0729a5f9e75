package session

import (
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"go.starlark.net/starlark"

	"wedgework/reports/notebook"
)

// Progress is how far a piece of long work has come, for people who wait for it.
type Progress struct {
	ID      string // the work's own; a front end can use it as the name of a display
	Task    string // what is done: "trials"
	Done    int    // steps
	Total   int    // steps there are; 0 while that is not known
	Elapsed time.Duration
	First   bool // nothing was told of this work before
	Over    bool // nothing will be told of it after
}

// When work is long enough to be told of, and how often that is done. A choice: what takes less is over
// before anybody has read the bar, and ten changes a second look continuous.
const (
	progressAfter = 500 * time.Millisecond
	progressEvery = 100 * time.Millisecond
	progressIdle  = time.Second // with nothing new but the time
)

// Rate returns the steps a second so far.
func (p Progress) Rate() float64 {
	if p.Elapsed <= 0 {
		return 0
	}
	return float64(p.Done) / p.Elapsed.Seconds()
}

// Left estimates the time that the rest takes at the rate so far; ok is false while there is nothing to
// judge by.
func (p Progress) Left() (left time.Duration, ok bool) {
	if p.Done <= 0 || p.Total <= 0 {
		return 0, false
	}
	return time.Duration(float64(p.Elapsed) / float64(p.Done) * float64(max(p.Total-p.Done, 0))), true
}

// Part returns the part that is done, 0 to 1, and 0 while the whole is not known.
func (p Progress) Part() float64 {
	if p.Total <= 0 {
		return 0
	}
	return min(max(float64(p.Done)/float64(p.Total), 0), 1)
}

// String is one line: "trials: 45 %, 6 s left, 9,000 a second, 45,000 of 100,000", and in the end
// "trials: 100,000 in 10.8 s".
func (p Progress) String() string {
	var parts []string
	seconds := fmt.Sprintf("%.1f s", p.Elapsed.Seconds())
	switch {
	case p.Over && p.Total > 0 && p.Done < p.Total:
		return fmt.Sprintf("%s: stopped after %s of %s, %s", p.Task, grouped(p.Done), grouped(p.Total), seconds)
	case p.Over && p.Done > 0:
		return fmt.Sprintf("%s: %s in %s", p.Task, grouped(p.Done), seconds)
	case p.Over:
		return fmt.Sprintf("%s: %s", p.Task, seconds)
	case p.Total > 0:
		parts = append(parts, fmt.Sprintf("%d %%", int(100*p.Part())))
	case p.Done > 0:
		parts = append(parts, grouped(p.Done)+" done")
	}
	if left, ok := p.Left(); ok {
		parts = append(parts, coarse(left)+" left")
	} else {
		parts = append(parts, fmt.Sprintf("%.0f s so far", p.Elapsed.Seconds()))
	}
	if r := p.Rate(); r >= 10 {
		parts = append(parts, grouped(int(r))+" a second")
	} else if r > 0 {
		parts = append(parts, fmt.Sprintf("%.2g a second", r))
	}
	if p.Total > 0 {
		parts = append(parts, grouped(p.Done)+" of "+grouped(p.Total))
	}
	return p.Task + ": " + strings.Join(parts, ", ")
}

// coarse writes a time that is an estimate.
func coarse(d time.Duration) string {
	s := int(d.Round(time.Second).Seconds())
	switch {
	case s < 100:
		return fmt.Sprintf("%d s", s)
	case s < 100*60:
		return fmt.Sprintf("%d min", (s+30)/60)
	}
	return fmt.Sprintf("%d h", (s+1800)/3600)
}

// grouped writes a count with commas between thousands.
func grouped(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// Work is a piece of long work of a word.
type Work struct {
	task        string
	done, total atomic.Int64
	stop        chan struct{}
	told        sync.WaitGroup
}

// Begin begins a piece of work of the word that thread runs. The word says At now and then, and in any
// case End. While the work goes on, Config.Progress hears of it; where that is nil or the cell is Quiet, a
// Work costs nothing.
func Begin(thread *starlark.Thread, task string) *Work {
	w := &Work{task: task}
	r, ok := thread.Local(runKey).(*run)
	if !ok || r.cell.Quiet || r.session.config.Progress == nil {
		return w
	}
	w.stop = make(chan struct{})
	w.told.Add(1)
	go w.tell(fmt.Sprintf("%s-%d", r.session.id, r.session.works.Add(1)),
		func(p Progress) { r.session.config.Progress(p, r.out.note) })
	return w
}

// At says how many steps are done and how many there are, 0 when that is not known. It may be called as
// often as is handy, from any goroutine.
func (w *Work) At(done, total int) {
	w.done.Store(int64(done))
	w.total.Store(int64(total))
}

// End ends the work, at the end or before.
func (w *Work) End() {
	if w.stop != nil {
		close(w.stop)
		w.told.Wait()
		w.stop = nil
	}
}

func (w *Work) tell(id string, tell func(Progress)) {
	defer w.told.Done()
	began := time.Now()
	wait := time.NewTimer(progressAfter)
	defer wait.Stop()
	last := Progress{ID: id, Task: w.task, First: true}
	for told := time.Duration(0); ; {
		over := false
		select {
		case <-w.stop:
			if over = true; last.First {
				return // before anybody heard of it
			}
		case <-wait.C:
			wait.Reset(progressEvery)
		}
		p := last
		p.Done, p.Total = int(w.done.Load()), int(w.total.Load())
		p.Elapsed, p.Over = time.Since(began), over
		if over || p.First || p.Done != last.Done || p.Total != last.Total || p.Elapsed-told >= progressIdle {
			tell(p)
			told, last = p.Elapsed, p
			last.First = false
		}
		if over {
			return
		}
	}
}

// note emits an output that does not count among those of the cell.
func (c *collector) note(o notebook.Output) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.emit == nil {
		return ErrIdle
	}
	if c.watched != nil {
		c.watched(c.inPlace(o))
		return nil
	}
	c.flush()
	c.remind()
	c.emit(c.inPlace(o))
	return nil
}
