// Package lastcell remembers on disk which cell is running, so that the next process can tell which one has ended
// this one: a cell that runs the machine out of memory ends the process without another word.
//
// The file begins with a line of JSON while a cell runs and with an empty line while none does. Each is one write over
// the one before, since a cell waits for it: to empty the file instead would take the file system eight times as long.
// Behind the line comes what the runtime wrote when it gave up, if it could (runtime/debug.SetCrashOutput). A kernel
// that ends in order removes the file.
package lastcell

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"wedgework/reports/memory"
)

// Recorder writes down which cell runs.
type Recorder struct {
	file *os.File
}

// cell is the line about the running cell.
type cell struct {
	Number int    `json:"cell"`
	Source string `json:"source"`
	Limit  int64  `json:"limit,omitempty"` // on memory, in bytes
}

// room is what the line takes, always, newline included: 200 characters of six bytes at most, and what is around them.
const room = 2 << 10

// kept is how much is read of the file: the cell and the head of what the runtime wrote.
const kept = 1 << 20

// old is when the file of a process that nobody has restarted is of no more use.
const old = 7 * 24 * time.Hour

// Open begins to record in a file of this name, which must be the same for a process and the one that is started in
// its place. The notice says how the process before ended, when that was while a cell ran; otherwise it is "".
func Open(path string) (r *Recorder, notice string, err error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, "", err
	}
	clean(filepath.Dir(path))
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, "", err
	}
	left, err := io.ReadAll(io.LimitReader(f, kept))
	if err == nil {
		err = f.Truncate(0)
	}
	if err == nil {
		_, err = f.Seek(room, io.SeekStart) // where the runtime will write
	}
	if err == nil {
		err = debug.SetCrashOutput(f, debug.CrashOptions{})
	}
	if err != nil {
		return nil, "", errors.Join(err, f.Close())
	}
	return &Recorder{f}, read(left), nil
}

// clean removes files that have lain there for long.
func clean(folder string) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return
	}
	for _, e := range entries {
		if info, err := e.Info(); err == nil && info.Mode().IsRegular() && time.Since(info.ModTime()) > old {
			os.Remove(filepath.Join(folder, e.Name()))
		}
	}
}

// Begin notes that a cell runs. Failing to is no reason not to run it.
func (r *Recorder) Begin(number int, source string) {
	line, err := json.Marshal(cell{number, head(source), int64(memory.InForce())})
	if err == nil && len(line) < room {
		line = append(line, bytes.Repeat([]byte(" "), room-1-len(line))...)
		r.file.WriteAt(append(line, '\n'), 0)
	}
}

// End notes that no cell runs.
func (r *Recorder) End() { r.file.WriteAt([]byte("\n"), 0) }

// Close ends the recording of a process that ends in order.
func (r *Recorder) Close() error {
	debug.SetCrashOutput(nil, debug.CrashOptions{})
	return errors.Join(r.file.Close(), os.Remove(r.file.Name()))
}

// head is enough of a cell to recognize it by.
func head(source string) string {
	const most = 200
	source = strings.TrimSpace(source)
	n := 0
	for i := range source {
		if n++; n > most {
			return source[:i] + " ..."
		}
	}
	return source
}

// read words what a process has left.
func read(left []byte) string {
	line, crash, _ := bytes.Cut(left, []byte("\n"))
	var c cell
	if json.Unmarshal(line, &c) != nil || c.Number == 0 {
		return ""
	}
	notice := fmt.Sprintf("The kernel was restarted: it stopped while cell %d was running, %s. All names are lost; "+
		"rerun the cells you need. The cell:\n", c.Number, why(string(crash), c.Limit))
	for l := range strings.Lines(c.Source) {
		notice += "    " + strings.TrimRight(l, "\r\n") + "\n"
	}
	return notice
}

// starved are the parts of Go's runtime that end the process when the system gives no more memory. Which of them asks
// last is chance: the heap, its bookkeeping, a stack, a new thread.
var starved = []string{"runtime.(*mheap)", "runtime.sysMap", "runtime.sysAlloc", "runtime.sysReserve",
	"runtime.sysUsed",
	"runtime.(*pageAlloc)", "runtime.(*fixalloc)", "runtime.persistentalloc", "runtime.newArenaMayUnlock",
	"runtime.newosproc", "runtime.newm1(", "runtime.asmcgocall", "out of memory", "cannot allocate memory"}

// why words what the runtime wrote: the text of a panic, or for what is beyond panics the runtime's own calls, without
// the line that names the trouble, which goes to standard error alone.
func why(crash string, limit int64) string {
	if crash == "" {
		return "killed from outside or for an unknown reason"
	}
	own, _, _ := strings.Cut(crash, "\ngoroutine ")
	switch {
	case strings.Contains(own, "runtime.newstack("):
		return "because its calls were nested too deeply"
	case slices.ContainsFunc(starved, func(sign string) bool { return strings.Contains(own, sign) }):
		if limit > 0 {
			return fmt.Sprintf("because it needed more memory than the limit of %d MiB", limit>>20)
		}
		return "because the machine had no more memory"
	}
	for l := range strings.Lines(crash) {
		if text, ok := strings.CutPrefix(strings.TrimSpace(l), "panic: "); ok {
			return "because of a fault of the program: " + text
		}
	}
	return "because of a fault of the program"
}
