package watch

import (
	"context"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"time"

	"github.com/fsnotify/fsnotify"
)

// Options say what is watched, and what is done.
type Options struct {
	Files   func() []string // that matter now
	Folders func() []string // below which others may come; nothing is read in them but names
	Do      func() (again bool)
	Say     func(error)   // what makes changes seen later than they could be; each once
	Every   time.Duration // at which files are looked at though nobody tells of a change
}

const (
	// quiet is how long nothing may have changed before something is done. A choice: a report is there within a second
	// of its file.
	quiet = 200 * time.Millisecond
	// patience is how long a file that is being written holds up the others. A choice.
	patience = 30 * time.Second
	// retry is after which time that is done again which could not be done now.
	retry = time.Second
	// whole is after which time something is done though no file changed that is known: a notebook may read others.
	whole = 10 * time.Minute
	// mostFolders bounds the folders of which the system is asked to tell; the others are looked at.
	mostFolders = 8192
)

// Run does something at once, and whenever the files have changed, until ctx ends. Again is for what could not be done
// now; it is tried again after a second.
func Run(ctx context.Context, o Options) {
	w := &watcher{Options: o, folders: map[string]bool{}, said: map[string]bool{}}
	var err error
	if w.notify, err = fsnotify.NewWatcher(); err != nil {
		w.say(err)
	} else {
		defer w.notify.Close()
	}
	for ctx.Err() == nil {
		w.ask()
		before := look(o.Files())
		after := whole
		if o.Do() {
			after = retry
		}
		w.wait(ctx, before, after)
	}
}

type watcher struct {
	Options
	notify  *fsnotify.Watcher // nil where the system tells nothing
	folders map[string]bool
	said    map[string]bool
}

// say tells of one thing once.
func (w *watcher) say(err error) {
	if w.Say != nil && !w.said[err.Error()] {
		w.said[err.Error()] = true
		w.Say(err)
	}
}

// ask has the system tell of changes in the folders and below. Links are not followed.
func (w *watcher) ask() {
	if w.notify == nil {
		return
	}
	for _, folder := range w.Folders() {
		_ = filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
			if err != nil || !d.IsDir() { // one that is not there yet is found when it is looked for
				return nil
			}
			if len(w.folders) >= mostFolders {
				return filepath.SkipAll
			}
			if err := w.notify.Add(path); err != nil {
				w.say(err)
			} else {
				w.folders[path] = true
			}
			return nil
		})
	}
}

// wait returns when the files are others than before and nobody writes them any more, after a time, or when ctx ends.
func (w *watcher) wait(ctx context.Context, before snapshot, after time.Duration) {
	over := time.NewTimer(after)
	defer over.Stop()
	every := time.NewTicker(w.Every)
	defer every.Stop()
	var events <-chan fsnotify.Event
	var errs <-chan error
	if w.notify != nil {
		events, errs = w.notify.Events, w.notify.Errors
	}
	for {
		if now := look(w.Files()); !maps.Equal(now, before) {
			w.settle(ctx, before, now)
			return
		}
		select {
		case <-ctx.Done():
			return
		case <-over.C:
			return
		case <-every.C:
			w.ask()
		case e := <-events:
			if info, err := os.Lstat(e.Name); err == nil && info.IsDir() {
				w.ask()
			}
			drain(events)
		case err := <-errs:
			w.say(err)
		}
	}
}

// drain takes what else has been told, for a little while: many files come together.
func drain(events <-chan fsnotify.Event) {
	over := time.After(quiet / 4)
	for {
		select {
		case <-events:
		case <-over:
			return
		}
	}
}

// settle waits until nothing has changed for a while and no file that changed is open to be written.
func (w *watcher) settle(ctx context.Context, before, now snapshot) {
	late := time.After(patience)
	for {
		select {
		case <-ctx.Done():
			return
		case <-late:
			return
		case <-time.After(quiet):
		}
		next := look(w.Files())
		if maps.Equal(next, now) && !next.written(before) {
			return
		}
		now = next
	}
}
