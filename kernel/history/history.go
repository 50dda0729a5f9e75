// Package history keeps the cells that have run, over many sessions of many kernels, in one file.
//
// The file holds a line of JSON for each cell and for each session that begins. It is opened, locked, and appended
// to anew for each cell, so that several kernels can use it at once and none holds on to a file that another has
// replaced. A line that cannot be read, such as one that was cut short by the end of a machine, is left out.
// What is read is never kept in memory.
package history

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"wedgework/reports/files"
)

// Entry is one cell that has run.
type Entry struct {
	Session int    `json:"session"`          // counts the kernels that have used the file, from 1
	Line    int    `json:"cell"`             // the execution count
	Source  string `json:"source,omitempty"` // as it was written
	Result  string `json:"result,omitempty"` // the text of its value; "" when it had none
}

// All stands for no limit.
const All = math.MaxInt

// Bounds of the file: choices. Past the size, the older half is dropped when a session begins.
const (
	mostBytes     = 16 << 20
	longestResult = 16 << 10
	longestSource = 1 << 20  // longer ones were pasted, and are not kept
	longestLine   = 64 << 20 // of what is read
)

// Store is the history as one kernel sees it. Its methods may be called from any goroutine.
type Store struct {
	path string

	mu      sync.Mutex
	session int // 0 until it is needed: most clients never ask
}

// New returns the history in the file at path. The file and its folder are made when there is something to keep.
func New(path string) *Store { return &Store{path: path} }

// Append keeps a cell, unless it is longer than anyone writes; its session is that of the store.
func (s *Store) Append(e Entry) error {
	if len(e.Source) > longestSource {
		return nil
	}
	session, err := s.begin()
	if err != nil {
		return err
	}
	e.Session = session
	if len(e.Result) > longestResult {
		e.Result = strings.ToValidUTF8(e.Result[:longestResult], "") + " ..."
	}
	return s.locked(func(f *os.File) error { return write(f, e) })
}

// Range returns the cells of a session from the line start up to but without stop. Session 0 is this one, and a
// negative one that many before it.
func (s *Store) Range(session, start, stop int) ([]Entry, error) {
	if session <= 0 {
		own, err := s.begin()
		if err != nil {
			return nil, err
		}
		session += own
	}
	return s.collect(All, func(e Entry) bool { return e.Session == session && e.Line >= start && e.Line < stop })
}

// Tail returns the last n cells of all sessions.
func (s *Store) Tail(n int) ([]Entry, error) {
	return s.collect(n, func(Entry) bool { return true })
}

// Search returns the last n cells whose whole source matches a pattern: in it * stands for any text, ? for any
// character, [ab] for one of several. With unique, of cells with the same source only the last is kept.
func (s *Store) Search(pattern string, n int, unique bool) ([]Entry, error) {
	glob, err := compile(pattern)
	if err != nil {
		return nil, err
	}
	found, err := s.collect(All, func(e Entry) bool { return glob.MatchString(e.Source) })
	if unique {
		found = lastOfEach(found)
	}
	return last(found, n), err
}

func last(entries []Entry, n int) []Entry { return entries[max(0, len(entries)-max(0, n)):] }

func lastOfEach(entries []Entry) []Entry {
	seen := map[string]bool{}
	var kept []Entry
	for _, e := range slices.Backward(entries) {
		if !seen[e.Source] {
			seen[e.Source] = true
			kept = append(kept, e)
		}
	}
	slices.Reverse(kept)
	return kept
}

// collect reads the file and returns the last n entries that are wanted.
func (s *Store) collect(n int, wanted func(Entry) bool) ([]Entry, error) {
	f, err := files.Open(s.path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var found []Entry
	err = each(f, func(e Entry, _ []byte) {
		if e.Line > 0 && wanted(e) {
			found = append(found, e)
			if n < All/2 && len(found) > 2*n+1024 { // not to hold a whole file for its end
				found = append([]Entry(nil), last(found, n)...)
			}
		}
	})
	return last(found, n), err
}

// each calls use for every line that can be read, in order. The line is only good until use returns.
func each(f *os.File, use func(e Entry, line []byte)) error {
	lines := bufio.NewScanner(f)
	lines.Buffer(make([]byte, 0, 64<<10), longestLine)
	for lines.Scan() {
		var e Entry
		if json.Unmarshal(lines.Bytes(), &e) == nil && e.Session > 0 {
			use(e, lines.Bytes())
		}
	}
	return lines.Err()
}

// begin gives this kernel a number when it has none, and makes room in a file that has grown large.
func (s *Store) begin() (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.session > 0 {
		return s.session, nil
	}
	if err := os.MkdirAll(filepath.Dir(s.path), 0o700); err != nil {
		return 0, err
	}
	if err := s.locked(s.trim); err != nil {
		return 0, err
	}
	newest := 0
	err := s.locked(func(f *os.File) error {
		if err := each(f, func(e Entry, _ []byte) { newest = max(newest, e.Session) }); err != nil {
			return err
		}
		newest++
		return write(f, Entry{Session: newest})
	})
	if err == nil {
		s.session = newest
	}
	return newest, err
}

// write appends a line. After a line that was cut short it begins a new one.
func write(f *os.File, e Entry) error {
	var b bytes.Buffer
	if info, err := f.Stat(); err != nil {
		return err
	} else if end := info.Size(); end > 0 {
		final := make([]byte, 1)
		if _, err := f.ReadAt(final, end-1); err != nil {
			return err
		}
		if final[0] != '\n' {
			b.WriteByte('\n')
		}
	}
	out := json.NewEncoder(&b)
	out.SetEscapeHTML(false)
	if err := out.Encode(e); err != nil { // ends with a newline
		return err
	}
	_, err := f.Write(b.Bytes()) // in one piece
	return err
}

// locked calls use with the file open for reading and appending, and with a lock on it.
func (s *Store) locked(use func(*os.File) error) error {
	for {
		f, err := os.OpenFile(s.path, os.O_RDWR|os.O_APPEND|os.O_CREATE, 0o600)
		if err != nil {
			return err
		}
		if err := lock(f); err != nil {
			f.Close()
			return err
		}
		if s.current(f) {
			err := use(f)
			return errors.Join(err, f.Close()) // which ends the lock
		}
		f.Close() // another kernel has just put a shorter file in its place
	}
}

func (s *Store) current(f *os.File) bool {
	mine, err := f.Stat()
	if err != nil {
		return true // and use will say why
	}
	there, err := os.Stat(s.path)
	return err == nil && os.SameFile(mine, there)
}
