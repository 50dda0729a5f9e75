// Package reproduce makes a report again from what its PDF carries, and says whether the two are the same.
//
// The PDF may come from anywhere. Its cells run in the same sandbox as any notebook's and with less: they can read the
// attached inputs and no file at all. Nothing is written, and the names of attachments are compared, never followed.
package reproduce

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"wedgework/reports/archive"
	"wedgework/reports/job"
	"wedgework/reports/measured"
	"wedgework/reports/record"
)

// Carried is what a report's PDF carries, each file held against the hash that the record gives it.
type Carried struct {
	PDF      []byte
	JSON     []byte // the record
	Record   *record.Record
	Notebook measured.File // as it was before it ran
	Executed []byte

	data map[string][]measured.File // inputs by name
}

// Open reads what a PDF carries. A file that is no report, or that lacks what the record names, is an error.
func Open(pdf []byte) (*Carried, error) {
	f, err := archive.Open(pdf)
	if err != nil {
		return nil, err
	}
	attachments, err := f.Attachments()
	if err != nil {
		return nil, err
	}
	c := &Carried{PDF: pdf, data: map[string][]measured.File{}}
	byHash := map[string][]byte{}
	for _, a := range attachments {
		if a.Name == record.FileName {
			c.JSON = a.Data
		}
		sum := sha256.Sum256(a.Data)
		byHash[hex.EncodeToString(sum[:])] = a.Data
	}
	if c.JSON == nil {
		return nil, fmt.Errorf("no report of this program: found no attachment %s among %d", record.FileName,
			len(attachments))
	}
	if c.Record, err = record.Read(c.JSON); err != nil {
		return nil, fmt.Errorf("%s: %w", record.FileName, err)
	}
	if err := checkProgram(c.Record.Program); err != nil {
		return nil, fmt.Errorf("%s: %w", record.FileName, err)
	}
	return c, c.take(byHash)
}

// take finds what the record names among the attachments, by hashes.
func (c *Carried) take(byHash map[string][]byte) error {
	find := func(what string, s record.Source) (measured.File, error) {
		data, ok := byHash[s.SHA256]
		switch {
		case s.Name != filepath.Base(s.Name) || strings.ContainsAny(s.Name, "/\\\x00"):
			return measured.File{}, fmt.Errorf("%s: %s is named %q, expected a plain file name", record.FileName, what,
				s.Name)
		case !ok:
			return measured.File{}, fmt.Errorf("%s %s, SHA-256 %s, is not among the attachments: it was changed or "+
				"taken away", what, s.Name, s.SHA256)
		}
		return measured.File{Name: s.Name, Data: data, SHA256: s.SHA256}, nil
	}
	var err error
	if c.Notebook, err = find("the notebook", c.Record.Notebook); err != nil {
		return err
	}
	executed, err := find("the executed notebook", c.Record.Executed)
	if err != nil {
		return err
	}
	c.Executed = executed.Data
	for _, in := range c.Record.Inputs {
		file, err := find("the input", in.File)
		if err != nil {
			return err
		}
		c.data[in.Name] = append(c.data[in.Name], file)
	}
	for _, k := range c.Record.Constants {
		if _, err := find("the constants of", record.Source{Name: strings.Map(plain, k.Name),
			SHA256: k.SHA256}); err != nil {
			return err
		}
	}
	return nil
}

// plain lets the name of a material pass for that of a file.
func plain(r rune) rune {
	if r == '/' || r == '\\' {
		return '-'
	}
	return r
}

// Job is the job that made the report. The fonts that were added to it do not travel with it, for not every font may be
// handed on: those given are taken in the order that the record has them in.
func (c *Carried) Job(given []measured.File) (*job.Job, error) {
	j := &job.Job{
		Notebook: job.Content(c.Notebook.Name, c.Notebook.Data), Issued: job.Text{Text: c.Record.Issued},
		Paper: job.Text{Text: cmp.Or(c.Record.Paper, "a4")},
		Bears: &job.Identity{Number: c.Record.Number, Supersedes: c.Record.Supersedes,
			Digest: record.Digest(c.JSON)},
	}
	if err := c.checkIdentity(); err != nil {
		return nil, fmt.Errorf("%s: %w", record.FileName, err)
	}
	for _, want := range c.Record.Fonts {
		at := slices.IndexFunc(given, func(f measured.File) bool { return f.SHA256 == want.SHA256 })
		if at < 0 {
			return nil, fmt.Errorf("the report was made with the font %s, SHA-256 %s; add --font FILE", want.Name,
				want.SHA256)
		}
		j.Fonts = append(j.Fonts, job.Content(want.Name, given[at].Data)) // the file may have been renamed since
	}
	for _, name := range slices.Sorted(maps.Keys(c.data)) {
		for _, f := range c.data[name] {
			j.Bind(name, "", job.Content(f.Name, f.Data))
		}
	}
	for _, s := range c.Record.Settings {
		if s.Bound && s.Expression == "" {
			return nil, fmt.Errorf("the record says that the setting %s was bound to %s, and not by which expression",
				s.Name, s.Value)
		}
		if s.Bound {
			j.Settings = append(j.Settings, job.Setting{Name: s.Name, Expression: s.Expression})
		}
	}
	return j, nil
}

// checkIdentity refuses a number that no report of this program bears, for it is printed as it is, and one that should
// follow from the content and does not.
func (c *Carried) checkIdentity() error {
	r := c.Record
	if r.Number != "" {
		if err := record.CheckNumber(r.Number); err != nil {
			return err
		}
	}
	if record.IsOwnNumber(r.Number) {
		content, err := r.Content()
		if err != nil {
			return err
		}
		if own := record.OwnNumber(content); r.Number != own {
			return fmt.Errorf("found the report number %s, expected %s, which follows from the content", r.Number, own)
		}
	}
	if s := r.Supersedes; s != nil {
		if sum, err := hex.DecodeString(s.SHA256); err != nil || len(sum) != sha256.Size {
			return fmt.Errorf("supersedes: found %q, expected a SHA-256", s.SHA256)
		}
		return record.CheckNumber(s.Number)
	}
	return nil
}
