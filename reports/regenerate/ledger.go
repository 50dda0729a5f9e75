package regenerate

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"wedgework/reports/files"
	"wedgework/reports/fileset"
	"wedgework/reports/reason"
)

// LedgerName is the file in a folder of reports that says what each was made from. Without it every report is made
// anew, and nothing else is lost.
const LedgerName = ".wedgework-ledger"

// entryMade is what the ledger knows of a report.
type entryMade struct {
	Report string  `json:"report"` // name of the PDF in the ledger's folder
	From   Sources `json:"from"`
	Read   []Hash  `json:"read,omitempty"` // files the notebook read by itself; paths relative to the ledger's folder
	Files  []Hash  `json:"files"`          // what was written, by name in the folder
	Status Status  `json:"status"`
	Says   string  `json:"says"`           // what the verdicts come to, for people
	Cost   int64   `json:"cost,omitempty"` // milliseconds that it took
	// Plan is the plan that makes it, relative to the ledger's folder; "" in ledgers of earlier versions.
	Plan string `json:"plan,omitempty"`
}

// Hash is a file and the SHA-256 of its content.
type Hash struct {
	Path   string `json:"path"`
	SHA256 string `json:"sha256"`
}

// Sources are the hashes of what a report is made from. Each stands for itself so that it can be said which changed.
type Sources struct {
	Program   string `json:"program"`
	Constants string `json:"constants"`
	Notebook  string `json:"notebook"`
	Data      string `json:"data"`
	Settings  string `json:"settings"`
	Fonts     string `json:"fonts,omitempty"`
}

// ledger is the ledger of one folder. A line is added for every report that is made; the last line about a report
// holds. A line that a killed run left half written is passed over.
type ledger struct {
	folder string
	plan   string // that is run, as seen from the folder
	seen   *seen
	mu     sync.Mutex
	file   *fileset.Handle
	torn   bool // the last line was cut short
	unread bool // the table of files goes with it, and it was not needed so far
	made   map[string]entryMade
	costs  map[string]int64 // of the reports in the ledger of the whole plan
}

// openLedger opens the ledger of a folder. One with which a table of files goes is read when it is needed, but for
// lines that were added since. Otherwise it is read, with those that parts of the plan left there, and written anew
// when there are such, most of its lines are superseded or one is torn. A part reads that of the whole plan and its
// own, and writes its own.
func openLedger(folder string, part Shard) (*ledger, error) {
	l := &ledger{folder: folder, made: map[string]entryMade{}, costs: map[string]int64{}, seen: openSeen(folder)}
	path := filepath.Join(folder, LedgerName)
	print, _, err := (&files.Looker{}).Look(path)
	if err != nil || !l.seen.goesWith(print) {
		l.seen = &seen{folder: folder, lines: map[string]string{}}
	}
	if part.whole() {
		err = l.openWhole(path)
	} else {
		err = l.openPart(path, path+part.suffix())
		path += part.suffix()
	}
	if err != nil {
		return nil, err
	}
	l.file, err = fileset.Open(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666)
	return l, err
}

// openWhole prepares the ledger of the whole plan.
func (l *ledger) openWhole(path string) error {
	parts, err := l.parts(path)
	if err != nil {
		return err
	}
	if len(l.seen.lines) > 0 && len(parts) == 0 {
		added, torn, err := l.since(path)
		if err != nil {
			return err
		}
		if !torn && added <= len(l.seen.lines) {
			l.unread = true
			return nil
		}
	}
	lines, torn, err := l.read(path)
	if err != nil {
		return err
	}
	for name, m := range l.made {
		l.costs[name] = m.Cost
	}
	for _, p := range parts {
		if _, _, err := l.read(p); err != nil {
			return err
		}
	}
	if torn || lines > 2*len(l.made) || len(parts) > 0 {
		l.seen.changed = true // it goes with the new one
		if err := l.rewrite(path); err != nil {
			return err
		}
	}
	for _, p := range parts { // and their locks, which nobody can hold beside the lock of the whole
		lock := filepath.Join(l.folder, LockName+strings.TrimPrefix(filepath.Base(p), LedgerName))
		if err := errors.Join(os.Remove(p), os.Remove(lock)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return reason.Plain(err)
		}
	}
	return nil
}

// openPart prepares the ledger of a part of the plan, beside that of the whole.
func (l *ledger) openPart(whole, own string) error {
	if _, _, err := l.read(whole); err != nil {
		return err
	}
	for name, m := range l.made {
		l.costs[name] = m.Cost
	}
	before := l.made
	l.made = map[string]entryMade{}
	_, torn, err := l.read(own)
	l.torn = torn
	for name := range l.made {
		l.seen.drop(name)
	}
	maps.Copy(before, l.made)
	l.made = before
	return err
}

// since forgets what was seen of the reports in the lines that were added to a ledger after the table of files was
// made, and returns how many lines they are.
func (l *ledger) since(path string) (added int, torn bool, err error) {
	f, err := files.Open(path)
	if err != nil {
		return 0, false, err
	}
	defer f.Close()
	if _, err := f.Seek(l.seen.ledger.Size, io.SeekStart); err != nil {
		return 0, false, reason.Plain(err)
	}
	data, err := io.ReadAll(io.LimitReader(f, files.Most))
	if err != nil {
		return 0, false, reason.Plain(err)
	}
	tail := ledger{made: map[string]entryMade{}}
	added, torn = tail.take(data)
	for name := range tail.made {
		l.seen.drop(name)
	}
	return added, torn, nil
}

// read takes the lines of a ledger. Torn is whether one of them is no line of a ledger, as one that was cut short.
func (l *ledger) read(path string) (lines int, torn bool, err error) {
	data, err := fileset.Read(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return 0, false, err
	}
	lines, torn = l.take(data)
	return lines, torn, nil
}

func (l *ledger) take(data []byte) (lines int, torn bool) {
	torn = len(data) > 0 && data[len(data)-1] != '\n'
	for line := range bytes.Lines(data) {
		var m entryMade
		if json.Unmarshal(line, &m) != nil || m.Report == "" {
			torn = true
			continue
		}
		lines++
		l.made[m.Report] = m
	}
	return lines, torn
}

// parts are the ledgers that parts of the plan left beside that of the whole, the oldest first.
func (l *ledger) parts(path string) ([]string, error) {
	type part struct {
		path string
		at   time.Time
	}
	var parts []part
	var wrong error
	err := files.NamesIn(filepath.Dir(path), func(name string) {
		if !strings.HasPrefix(name, LedgerName+"-") || !strings.Contains(name, "-of-") {
			return
		}
		at := filepath.Join(filepath.Dir(path), name)
		info, err := os.Lstat(at)
		switch {
		case err != nil:
			wrong = err
		case info.Mode().IsRegular():
			parts = append(parts, part{at, info.ModTime()})
		}
	})
	if err := errors.Join(err, wrong); err != nil {
		return nil, reason.Plain(err)
	}
	slices.SortFunc(parts, func(a, b part) int {
		return cmp.Or(a.at.Compare(b.at), strings.Compare(a.path, b.path))
	})
	var paths []string
	for _, p := range parts {
		paths = append(paths, p.path)
	}
	return paths, nil
}

// rewrite puts a ledger with one line a report in the place of the old one.
func (l *ledger) rewrite(path string) error {
	var b bytes.Buffer
	for _, m := range l.made {
		line, err := json.Marshal(m)
		if err != nil {
			return err
		}
		b.Write(append(line, '\n'))
	}
	return replace(path, b.Bytes())
}

// replace puts a new content in the place of a file, whole or not at all.
func replace(path string, content []byte) error {
	f, err := fileset.Open(path+"-new", os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(content)
	if err == nil {
		err = f.Sync()
	}
	if err := errors.Join(err, f.Close()); err != nil {
		return err
	}
	return fileset.Rename(path+"-new", path)
}

// need reads a ledger that was not needed so far.
func (l *ledger) need() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.unread {
		return nil
	}
	path := filepath.Join(l.folder, LedgerName)
	if _, _, err := l.read(path); err != nil {
		return fmt.Errorf("the ledger: %w", err)
	}
	for name, m := range l.made {
		l.costs[name] = m.Cost
	}
	l.unread = false
	return nil
}

// of returns what is known of a report, once the ledger has been read.
func (l *ledger) of(report string) (entryMade, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	m, ok := l.made[report]
	return m, ok
}

// add notes a report that has been made.
func (l *ledger) add(m entryMade) error {
	line, err := json.Marshal(m)
	if err != nil {
		return err
	}
	l.seen.drop(m.Report)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.made[m.Report] = m
	if l.torn { // or this line would be lost with the one that was cut short
		line = append([]byte("\n"), line...)
	}
	_, err = l.file.Write(append(line, '\n'))
	if l.torn = err != nil; l.torn {
		return fmt.Errorf("the ledger: %w", reason.Plain(err))
	}
	return nil
}

// relative writes a path as seen from the ledger's folder, so that the whole tree can be moved.
func (l *ledger) relative(path string) string {
	if rel, err := filepath.Rel(l.folder, path); err == nil {
		path = rel
	}
	return filepath.ToSlash(path)
}

// planName writes the path of a plan as seen from the ledger's folder, wherever the program runs.
func (l *ledger) planName(path string) string {
	folder, err := filepath.Abs(l.folder)
	plan, err2 := filepath.Abs(path)
	if err == nil && err2 == nil {
		if rel, err := filepath.Rel(folder, plan); err == nil {
			plan = rel
		}
		path = plan
	}
	return filepath.ToSlash(path)
}

// madeBy knows what was made by a plan, as far as the ledgers of the folders below one know.
type madeBy struct {
	folder, plan string
	ledgers      map[string]*ledger
}

// NameOf is the path of a plan as seen from a folder, with slashes, wherever the program runs.
func NameOf(p *Plan, folder string) string { return (&ledger{folder: folder}).planName(p.Path) }

// MadeBy returns whether a plan made a report before, which is given by its path below a folder. Several plans may put
// reports into one folder, and a report can be there that no plan made.
func MadeBy(p *Plan, folder string) func(report string) bool {
	m := madeBy{folder, p.Path, map[string]*ledger{}}
	return m.made
}

func (m *madeBy) made(report string) bool {
	path := below(m.folder, report)
	in := filepath.Dir(path)
	l := m.ledgers[in]
	if l == nil {
		l = &ledger{folder: in, made: map[string]entryMade{}}
		m.ledgers[in] = l
		if _, _, err := l.read(filepath.Join(in, LedgerName)); err != nil {
			return false // a ledger that cannot be read failed the run, or is of a folder that the plan no longer uses
		}
	}
	e, known := l.made[filepath.Base(path)]
	return known && (e.Plan == "" || e.Plan == l.planName(m.plan))
}

func (l *ledger) close() error { return l.file.Close() }
