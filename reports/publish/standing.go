package publish

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"wedgework/reports/archive"
	"wedgework/reports/files"
	"wedgework/reports/fileset"
	"wedgework/reports/html"
	"wedgework/reports/pdf"
	"wedgework/reports/record"
	"wedgework/reports/signature"
)

// Standing is the report that stands where a new one goes.
type Standing struct {
	Record *record.Record // nil where none can be read
	Digest string         // of the record

	out      string
	pdf      []byte
	json     []byte            // the record
	notebook []byte            // executed
	html     []byte            // nil for none
	paths    []string          // of its files, signatures included
	seen     map[string]string // hashes of all files that it could have, "" for one that is not there
	roles    []string          // in which it is signed
	changed  bool              // it is not as it was written, for as much as can be told
}

// kept says why the report must not be overwritten by another one: "" when it may be.
func (s *Standing) kept() string {
	switch {
	case s.changed && len(s.roles) > 0:
		return "signed, and changed after it was written"
	case s.changed:
		return "changed after it was written"
	case len(s.roles) > 0:
		return "signed"
	}
	return ""
}

// Stands looks at what stands where a report named out goes, and reads it.
func Stands(out string) (*Standing, error) {
	s := &Standing{out: out, seen: map[string]string{}}
	content := map[string][]byte{}
	for _, path := range beside(out) {
		data, err := s.look(path)
		if err != nil {
			return nil, err
		}
		content[path] = data
	}
	for _, role := range append([]string{""}, signature.Roles...) {
		data, err := s.look(signature.Path(out, role))
		if err != nil {
			return nil, err
		}
		if data != nil {
			s.roles = append(s.roles, role)
		}
	}
	s.pdf = content[out]
	s.read(content)
	return s, nil
}

// look notes a file that the report may have. Nil is one that is not there; a folder is none either: it cannot be
// replaced, and whoever tries says so.
func (s *Standing) look(path string) ([]byte, error) {
	data, err := files.ReadUpTo(path, archive.MaxFile)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		s.seen[path] = ""
		return nil, nil
	case err != nil && folderAt(path):
		return nil, nil
	case err != nil:
		return nil, err
	}
	s.paths = append(s.paths, path)
	s.seen[path] = record.Digest(data)
	return data, nil
}

// ReportAt reports whether a report stands at a path, or something that is signed as one.
func ReportAt(path string) (bool, error) {
	s, err := Stands(path)
	return err == nil && s.pdf != nil && (s.Record != nil || len(s.roles) > 0), err
}

func folderAt(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// read finds the record, and whether all files are as they were written: the PDF by its own hash, the others by what it
// carries.
func (s *Standing) read(content map[string][]byte) {
	paths := beside(s.out)
	notebook, json := content[paths[0]], content[paths[1]]
	s.html = content[paths[2]]
	s.changed = len(s.paths) > 0
	carried := attachmentsOf(s.pdf)
	own := carried[record.FileName]
	if own == nil {
		own = json
	}
	r, err := record.Read(own)
	if own == nil || err != nil {
		return
	}
	s.Record, s.Digest, s.json, s.notebook = r, record.Digest(own), own, notebook
	if e, ok := carried[r.Executed.Name]; ok {
		s.notebook = e
	}
	as := func(is, was []byte) bool { return is == nil || bytes.Equal(is, was) } // what is gone cannot be lost
	s.changed = !pdf.Intact(s.pdf) || !as(json, own) || !as(notebook, carried[r.Executed.Name]) ||
		s.html != nil && !html.Intact(s.html, s.pdf)
}

// attachmentsOf returns what a PDF carries, by name; nothing for one that does not read.
func attachmentsOf(data []byte) map[string][]byte {
	all := map[string][]byte{}
	f, err := archive.Open(data)
	if err != nil {
		return all
	}
	list, err := f.Attachments()
	if err != nil {
		return all
	}
	for _, a := range list {
		all[a.Name] = a.Data
	}
	return all
}

// number is what the report that stands is called.
func (s *Standing) number() string {
	if s.Record == nil {
		return ""
	}
	if s.Record.Number != "" {
		return s.Record.Number
	}
	return record.OwnNumber(s.Digest) // of a program that gave none
}

// folder takes the files of the report when another one takes its place.
func (s *Standing) folder() string {
	name := s.number()
	if name == "" {
		name = record.Short(s.seen[s.paths[0]])
	}
	stem := strings.TrimSuffix(filepath.Base(s.out), ".pdf")
	return filepath.Join(filepath.Dir(s.out), fileset.SupersededFolder, stem+"-"+strings.ReplaceAll(name, "/", "_"))
}
