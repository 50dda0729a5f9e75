package regenerate

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"wedgework/reports/files"
	"wedgework/reports/reason"
)

// SeenName is the file in a folder of reports that says how the files of each report, and those that it was made from,
// looked when their content was last found to be what the ledger says: size, times and inode. While they look the same,
// a report is up to date, and neither its files nor the ledger are read. Without it every content is read, and nothing
// else is lost.
const SeenName = ".wedgework-seen"

// seen is that table. An entry is made only of files that were last changed well before a run read their contents:
// whoever changes one after that gives it another time. Of others, the content is read until they have come to rest.
type seen struct {
	folder string
	ledger files.Fingerprint // of the ledger that the table goes with

	mu      sync.RWMutex
	lines   map[string]string // what is kept of a report, by its name
	changed bool
}

// rest is how long before a run a file must have been written for the run to be sure of its time: file systems count
// time in steps of up to a second, and programs may have read the clock a step before.
const rest = 2 * time.Second

// seenHead begins the table. Another version of it reads as none.
const seenHead = "wedgework-seen 1"

// openSeen reads the table of a folder. One that was cut short, or is no table, is none.
func openSeen(folder string) *seen {
	s := &seen{folder: folder, lines: map[string]string{}}
	data, err := files.Read(filepath.Join(folder, SeenName))
	if err != nil {
		return s
	}
	end := bytes.LastIndexByte(bytes.TrimSuffix(data, []byte("\n")), '\n') + 1
	sum := sha256.Sum256(data[:end])
	if strings.TrimSuffix(string(data[end:]), "\n") != base64.RawStdEncoding.EncodeToString(sum[:]) {
		return s
	}
	head, rest, _ := strings.Cut(string(data[:end]), "\n")
	l := &s.ledger
	if n, err := fmt.Sscanf(head, seenHead+" %d %d %d %d", &l.Size, &l.Modified, &l.Changed, &l.Inode); n != 4 ||
		err != nil {
		return &seen{folder: folder, lines: map[string]string{}}
	}
	s.lines = make(map[string]string, strings.Count(rest, "\n"))
	for line := range strings.Lines(rest) {
		name, kept, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "\t")
		s.lines[name] = kept
	}
	return s
}

// goesWith reports whether the table was made with a ledger, of which lines may have been added since.
func (s *seen) goesWith(ledger files.Fingerprint) bool {
	return len(s.lines) > 0 && s.ledger.Inode == ledger.Inode && s.ledger.Size <= ledger.Size
}

// write puts the table in place, with the ledger that it goes with.
func (s *seen) write(ledger files.Fingerprint) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s %d %d %d %d\n", seenHead, ledger.Size, ledger.Modified, ledger.Changed, ledger.Inode)
	for _, name := range slices.Sorted(maps.Keys(s.lines)) {
		b.WriteString(name + "\t" + s.lines[name] + "\n")
	}
	sum := sha256.Sum256(b.Bytes())
	b.WriteString(base64.RawStdEncoding.EncodeToString(sum[:]) + "\n")
	return replace(filepath.Join(s.folder, SeenName), b.Bytes())
}

// drop forgets a report.
func (s *seen) drop(report string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, known := s.lines[report]; known {
		delete(s.lines, report)
		s.changed = true
	}
}

// eye looks at the files of reports, those that many reports share only once.
type eye struct {
	files.Looker
	identity Identity
	before   int64 // Unix time in nanoseconds at which the run began, less what files must have been at rest
	shared   sync.Map
}

func newEye(id Identity) *eye {
	return &eye{identity: id, before: time.Now().Add(-rest).UnixNano()}
}

// appearance is what a file looks like; ok is false where that says nothing.
type appearance struct {
	files.Fingerprint
	ok bool
}

func (e *eye) look(path string) appearance {
	f, sure, err := e.Looker.Look(path)
	return appearance{f, sure && err == nil && f.Latest() < e.before}
}

// once is look for a file that many reports share.
func (e *eye) once(path string) appearance {
	if known, ok := e.shared.Load(path); ok {
		return known.(appearance)
	}
	l := e.look(path)
	e.shared.Store(path, l)
	return l
}

// seal writes together what a report depends on: what the plan says, the program, and how the files look. The files
// that it consists of, and those that its notebook reads, are given. It is not ok where looks do not tell.
func (e *eye) seal(b []byte, t *Task, plan string, own []string) (all []byte, ok bool) {
	text := func(s string) {
		b = binary.AppendUvarint(b, uint64(len(s)))
		b = append(b, s...)
	}
	ok = true
	add := func(l appearance) {
		ok = ok && l.ok
		b = binary.LittleEndian.AppendUint64(b, uint64(l.Size))
		b = binary.LittleEndian.AppendUint64(b, uint64(l.Modified))
		b = binary.LittleEndian.AppendUint64(b, uint64(l.Changed))
		b = binary.LittleEndian.AppendUint64(b, l.Inode)
	}
	for _, s := range []string{e.identity.Program, e.identity.Constants, string(t.Remake), plan, t.Issued.Text,
		t.Paper.Text, t.Number.Text, filepath.Base(t.Notebook.Path)} {
		text(s)
	}
	if within := t.Notebook.Within; len(within) > 1 { // folders that links may lead to, as seen from the plan's
		for _, w := range within[1:] {
			if rel, err := filepath.Rel(within[0], w); err == nil {
				w = rel
			}
			text("within " + w)
		}
	}
	for _, s := range t.Settings {
		text(s.Name)
		text(s.Expression)
	}
	for _, s := range t.Signing {
		text("sign " + s.Role)
	}
	add(e.once(t.Notebook.Path))
	for _, f := range t.Fonts {
		add(e.once(f.Path))
	}
	for _, d := range t.Data {
		text(d.Name)
		for _, f := range d.Files {
			if !ok {
				return b, false
			}
			text(filepath.Base(f.Path))
			add(e.look(f.Path))
		}
	}
	for _, path := range own {
		if !ok {
			return b, false
		}
		add(e.look(path))
	}
	return b, ok
}

// upToDate reports whether a report is as it was when its contents were read, and what was said of it.
func (s *seen) upToDate(e *eye, t *Task, plan string) (o Outcome, ok bool) {
	name := filepath.Base(t.Output.Text)
	s.mu.RLock()
	kept, known := s.lines[name]
	s.mu.RUnlock()
	if !known {
		return o, false
	}
	var f [5]string // seal, status, whether of another version, what the verdicts come to, files
	rest := kept
	for i := range f {
		f[i], rest, _ = strings.Cut(rest, "\t")
	}
	var room [1024]byte
	sealed, ok := e.seal(room[:0], t, plan, s.paths(name, f[4]))
	if !ok {
		return o, false
	}
	sum := sha256.Sum256(sealed)
	var text [43]byte
	base64.RawStdEncoding.Encode(text[:], sum[:])
	status, err := strconv.Atoi(f[1])
	if string(text[:]) != f[0] || err != nil {
		return o, false
	}
	return Outcome{Task: t, Status: Status(status), Older: f[2] == "older", Says: f[3]}, true
}

// confirm notes that a report was found up to date by its contents in this run.
func (s *seen) confirm(e *eye, t *Task, plan string, m entryMade, older bool) {
	name := filepath.Base(t.Output.Text)
	var listed []string
	stem := strings.TrimSuffix(name, filepath.Ext(name))
	for _, h := range slices.Concat(m.Files, m.Read) {
		if end, ok := strings.CutPrefix(h.Path, stem); ok {
			listed = append(listed, "+"+end)
		} else {
			listed = append(listed, "="+h.Path)
		}
	}
	paths := strings.Join(listed, "|")
	if strings.Count(paths, "|") >= max(1, len(listed)) || strings.ContainsAny(name+m.Says+paths, "\t\r\n") {
		return // names that the table cannot hold; such a report is judged by its contents
	}
	sealed, ok := e.seal(nil, t, plan, s.paths(name, paths))
	if !ok {
		return
	}
	sum := sha256.Sum256(sealed)
	which := ""
	if older {
		which = "older"
	}
	line := strings.Join([]string{base64.RawStdEncoding.EncodeToString(sum[:]), strconv.Itoa(int(m.Status)), which,
		m.Says, paths}, "\t")
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.lines[name] != line {
		s.lines[name] = line
		s.changed = true
	}
}

// paths reads the files of a report from its line.
func (s *seen) paths(report, listed string) []string {
	stem := strings.TrimSuffix(report, filepath.Ext(report))
	all := make([]string, 0, 8)
	for one := range strings.SplitSeq(listed, "|") {
		if one == "" { // a report without files
			continue
		}
		if end, ok := strings.CutPrefix(one, "+"); ok {
			all = append(all, s.folder+string(filepath.Separator)+stem+end)
		} else {
			all = append(all, below(s.folder, one[1:]))
		}
	}
	return all
}

// keep writes the table of a folder where something was seen that it does not say.
func (l *ledger) keep() error {
	if !l.seen.changed {
		return nil
	}
	print, _, err := (&files.Looker{}).Look(filepath.Join(l.folder, LedgerName))
	if err == nil {
		err = l.seen.write(print)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: the table of files: %w", l.folder, reason.Bare(err))
	}
	return nil
}
