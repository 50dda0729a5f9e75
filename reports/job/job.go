// Package job says what one report is made from and where it goes. The command line, a plan and a report that is made
// again are each read into a Job, the maker of reports takes one, and a process that makes reports for another gets it
// as JSON: what a person wrote is read once. Each part knows where the person wrote it, and errors begin with that.
package job

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"time"
	"unicode"

	"wedgework/reports/record"
)

// Job is one report to be made. Paths are as the program can open them.
type Job struct {
	At       Place     `json:"at,omitempty"` // of the table in a plan; "" for the command line
	Notebook File      `json:"notebook"`
	Data     []Binding `json:"data,omitempty"`
	Settings []Setting `json:"settings,omitempty"`
	Fonts    []File    `json:"fonts,omitempty"` // for characters that the program's own fonts lack; asked in turn
	Roots    []File    `json:"roots,omitempty"` // further folders that the notebook may read from
	Issued   Text      `json:"issued,omitzero"` // the day that the report bears, as 2026-11-25
	Paper    Text      `json:"paper,omitzero"`  // "a4" or "letter"; "" leaves it to the notebook, and that to A4
	Output   Text      `json:"output,omitzero"` // the PDF; the other files of the report go beside it
	Number   Text      `json:"number,omitzero"` // of the report; later reports under it get -2, -3; "" for one of its own
	Signing  []Signing `json:"signing,omitempty"`
	Bounds   Bounds    `json:"bounds,omitzero"`

	// Bears is the number and what the report supersedes, to the letter, for a report that is made again; nil
	// otherwise.
	Bears *Identity `json:"-"`
}

// Identity is what tells a report from all others.
type Identity struct {
	Number     string
	Supersedes *record.Superseded
	Digest     string // of its record, which its pages print
}

// Signing is a signature to be put beside the report.
type Signing struct {
	Role string `json:"role,omitempty"` // "" for a signature that says no role
	Key  File   `json:"key"`            // private, or the public one of a key that ssh-agent holds
}

// Place is where a person wrote something, "--data sweep" or "plan.toml:7: data sweep"; "" where nobody did.
type Place string

// Errorf returns an error that begins with the place.
func (p Place) Errorf(format string, args ...any) error { return p.Wrap(fmt.Errorf(format, args...)) }

// Wrap puts the place before an error; nil stays nil.
func (p Place) Wrap(err error) error {
	if err == nil || p == "" {
		return err
	}
	return fmt.Errorf("%s: %w", string(p), err)
}

// File is a file or a folder that somebody named.
type File struct {
	Path string `json:"path"`
	At   Place  `json:"at,omitempty"`
	Unit string `json:"unit,omitempty"` // serial number of the unit that the path names by a plan's {unit}
	Data []byte `json:"-"`              // what is in it, where that is known and Path is a name only

	// Within are the folders that links in Path may lead to; nil for anywhere.
	Within []string `json:"within,omitempty"`
}

// Known reports whether the content is at hand and need not be read.
func (f File) Known() bool { return f.Data != nil }

// Content is a file whose content is at hand.
func Content(name string, data []byte) File {
	if data == nil {
		data = []byte{}
	}
	return File{Path: name, Data: data}
}

// Text is a short text that somebody wrote.
type Text struct {
	Text string `json:"text"`
	At   Place  `json:"at,omitempty"`
}

// Binding ties a named input of the notebook to files; several make a lot.
type Binding struct {
	Name  string `json:"name"`
	At    Place  `json:"at,omitempty"`
	Files []File `json:"files"`
}

// Setting replaces a setting of the notebook by an expression.
type Setting struct {
	Name       string `json:"name"`
	Expression string `json:"expression"`
	At         Place  `json:"at,omitempty"`
}

// Bounds limit the making of one report. Zero is no limit.
type Bounds struct {
	Time   time.Duration `json:"time,omitempty"`
	Memory uint64        `json:"memory,omitempty"` // bytes of data of the process that makes it
}

// Bind adds a file to a named input.
func (j *Job) Bind(name string, at Place, f File) {
	for i := range j.Data {
		if j.Data[i].Name == name {
			j.Data[i].Files = append(j.Data[i].Files, f)
			return
		}
	}
	j.Data = append(j.Data, Binding{Name: name, At: at, Files: []File{f}})
}

// Inputs lists the paths of all files that the report is made from, for as far as they are named.
func (j *Job) Inputs() []string {
	paths := []string{j.Notebook.Path}
	for _, b := range j.Data {
		for _, f := range b.Files {
			paths = append(paths, f.Path)
		}
	}
	for _, f := range j.Fonts {
		paths = append(paths, f.Path)
	}
	return paths
}

// Remedy says how the person who wrote the job binds an input that is not bound.
func (j *Job) Remedy(input string) string {
	if j.At == "" {
		return "add --data " + input + "=FILE"
	}
	return fmt.Sprintf("add data.%s = \"FILE\" at %s", Key(input), j.At)
}

// Key writes a name as a key of a plan: quoted where TOML asks for it.
func Key(name string) string {
	bare := name != "" && strings.IndexFunc(name, func(r rune) bool {
		return r != '-' && r != '_' && (r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r))
	}) < 0
	if bare {
		return name
	}
	text, err := json.Marshal(name) // whose escapes TOML shares
	if err != nil {
		return strconv.Quote(name)
	}
	return string(text)
}

// CheckName refuses what cannot be the name of an input or a setting.
func CheckName(name string) error {
	if strings.TrimSpace(name) != name || name == "" || strings.IndexFunc(name, unicode.IsControl) >= 0 {
		return fmt.Errorf("found the name %q, expected a text without spaces around it, as in sweep", name)
	}
	return nil
}

// Shortened keeps what somebody wrote from filling a message.
func Shortened(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}

// Day reads a day as it is written by ISO 8601, 2026-11-25.
func Day(s string) error {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return fmt.Errorf("found %q, expected a day such as 2026-11-25", s)
	}
	return nil
}

// CheckPaper refuses what is no paper of a report.
func CheckPaper(name string) error {
	if name != "a4" && name != "letter" {
		return fmt.Errorf("found %q, expected a4 or letter", name)
	}
	return nil
}

// CheckOutput refuses what is no name for a report.
func CheckOutput(path string) error {
	if base := filepath.Base(filepath.FromSlash(path)); !strings.HasSuffix(base, ".pdf") || base == ".pdf" ||
		strings.HasSuffix(path, "/.pdf") {
		return fmt.Errorf("found %q, expected a file name that ends in .pdf", path)
	}
	return nil
}
