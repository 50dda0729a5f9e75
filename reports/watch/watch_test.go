package watch

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

// runs has Run watch one folder of files, and returns what each run found in them, run by run.
func runs(t *testing.T, folder string, events bool, every time.Duration) <-chan map[string]string {
	t.Helper()
	found := make(chan map[string]string, 100)
	names := func() []string {
		all, err := filepath.Glob(filepath.Join(folder, "*.csv"))
		if err != nil {
			t.Error(err)
		}
		return all
	}
	ctx, stop := context.WithCancel(t.Context())
	var over sync.WaitGroup
	over.Go(func() {
		Run(ctx, Options{Files: names, Every: every, Say: func(err error) { t.Log(err) },
			Folders: func() []string {
				if events {
					return []string{folder}
				}
				return nil
			},
			Do: func() bool {
				all := map[string]string{}
				for _, n := range names() {
					data, err := os.ReadFile(n)
					if err != nil {
						t.Error(err)
					}
					all[filepath.Base(n)] = string(data)
				}
				found <- all
				return false
			}})
	})
	t.Cleanup(func() { stop(); over.Wait() })
	return found
}

// next is what the next run found.
func next(t *testing.T, found <-chan map[string]string) map[string]string {
	t.Helper()
	select {
	case all := <-found:
		return all
	case <-time.After(time.Minute): // far beyond what is meant, for busy machines
		t.Fatal("a minute passed without a run")
		return nil
	}
}

// TestSeesFiles: a file that comes is seen, by an event and by looking alone; one that goes likewise.
func TestSeesFiles(t *testing.T) {
	for name, events := range map[string]bool{"events": true, "looking": false} {
		folder := t.TempDir()
		every := time.Hour
		if !events {
			every = 20 * time.Millisecond
		}
		found := runs(t, folder, events, every)
		if all := next(t, found); len(all) != 0 {
			t.Errorf("%s: the first run found %v", name, all)
		}
		path := filepath.Join(folder, "a.csv")
		begun := time.Now()
		if err := os.WriteFile(path, []byte("whole"), 0o666); err != nil {
			t.Fatal(err)
		}
		if all := next(t, found); all["a.csv"] != "whole" {
			t.Errorf("%s: found %v", name, all)
		}
		t.Logf("%s: seen after %v", name, time.Since(begun).Round(time.Millisecond))
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
		if all := next(t, found); len(all) != 0 {
			t.Errorf("%s: found %v after the file went", name, all)
		}
	}
}

// TestWaitsForWriter: a file that is open to be written is not taken before it is closed, however long its writer waits
// between two writes; no run ever finds half of it.
func TestWaitsForWriter(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a.csv")
	f, err := os.Create(filepath.Join(folder, "probe"))
	if err != nil {
		t.Fatal(err)
	}
	tells := beingWritten(f.Name())
	f.Close()
	if !tells {
		t.Skip("this file system does not tell whether a file is open to be written")
	}
	if beingWritten(f.Name()) {
		t.Fatal("a file that nobody has open counts as being written")
	}
	found := runs(t, folder, true, time.Hour)
	next(t, found)
	f, err = os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if _, err := f.WriteString("part "); err != nil {
			t.Fatal(err)
		}
		time.Sleep(2 * quiet)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if all := next(t, found); all["a.csv"] != "part part part " {
		t.Errorf("a run found %q", all["a.csv"])
	}
}

// TestTriesAgain: what could not be done is tried again though nothing changed.
func TestTriesAgain(t *testing.T) {
	ctx, stop := context.WithTimeout(t.Context(), time.Minute)
	defer stop()
	n := 0
	Run(ctx, Options{Files: func() []string { return nil }, Folders: func() []string { return nil }, Every: time.Hour,
		Do: func() bool {
			if n++; n == 2 {
				stop()
			}
			return true
		}})
	if n != 2 {
		t.Errorf("tried %d times", n)
	}
}
