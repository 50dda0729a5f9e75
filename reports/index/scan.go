package index

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"wedgework/optics/parallel"
	"wedgework/reports/archive"
	"wedgework/reports/files"
	"wedgework/reports/reason"
	"wedgework/reports/record"
)

// Source says from what an index is worked out.
type Source string

// Records are the files NAME.json beside the reports, PDFs the reports themselves.
const (
	Records Source = ".json"
	PDFs    Source = ".pdf"
)

// Problem is a file that should hold a record and cannot be read.
type Problem struct {
	Path string // below the folder, with slashes
	Says string
}

// MaxRecord bounds the bytes of one record: that of a lot of a thousand units is some 100 MB. A choice.
const MaxRecord = archive.MaxFile

// Scan reads all records below a folder, in the order of their paths. Names that begin with a point and links are
// passed over: a link may lead anywhere. A JSON file that is no record is none of ours; one that says it is a record
// and cannot be read, and every PDF that cannot be, is a problem.
func Scan(folder string, from Source, known *Cache) (rows []Row, problems []Problem, err error) {
	found, problems, err := list(folder, from)
	if err != nil {
		return nil, nil, fmt.Errorf("the folder of reports: %w", err)
	}
	all := make([]scanned, len(found))
	_ = parallel.Each(len(found), func(i int) error { all[i] = read(folder, found[i], from, known); return nil })
	for i, s := range all {
		rows = append(rows, s.rows...)
		if s.problem != "" {
			problems = append(problems, Problem{found[i], s.problem})
		}
		known.keep(found[i], s)
	}
	return rows, problems, nil
}

// list finds the files of a source below a folder, and the folders that cannot be looked into.
func list(folder string, from Source) (found []string, problems []Problem, err error) {
	err = filepath.WalkDir(folder, func(at string, d fs.DirEntry, err error) error {
		switch {
		case err != nil && at == folder:
			return err
		case err != nil:
			rel, inside := filepath.Rel(folder, at)
			problems = append(problems, Problem{filepath.ToSlash(rel), "cannot be read: " + reason.Bare(err).Error()})
			return inside
		case at != folder && strings.HasPrefix(d.Name(), "."):
			if d.IsDir() {
				return filepath.SkipDir
			}
			return nil
		case !d.Type().IsRegular() || !strings.HasSuffix(d.Name(), string(from)):
			return nil
		}
		rel, err := filepath.Rel(folder, at)
		if err == nil && utf8.ValidString(rel) {
			found = append(found, filepath.ToSlash(rel))
		}
		return err
	})
	slices.Sort(found)
	return found, problems, err
}

// scanned is what one file holds.
type scanned struct {
	print   files.Fingerprint
	rows    []Row
	problem string
}

func read(folder, rel string, from Source, known *Cache) scanned {
	at := filepath.Join(folder, filepath.FromSlash(rel))
	info, err := os.Lstat(at)
	if err != nil {
		return scanned{problem: reason.Bare(err).Error()}
	}
	s := scanned{print: files.FingerprintOf(info)}
	if old, ok := known.same(rel, s.print); ok {
		return old
	}
	data, err := files.ReadUpTo(at, MaxRecord)
	if err != nil {
		s.problem = reason.Bare(err).Error()
		return s
	}
	if from == PDFs {
		if data, err = carried(data); err != nil {
			s.problem = err.Error()
			return s
		}
	} else if !bytes.Contains(data[:min(len(data), 200)], []byte(record.Schema)) {
		return s // no record, and none of ours
	}
	r, err := record.Read(data)
	if err != nil {
		s.problem = err.Error()
		return s
	}
	s.rows = Rows(strings.TrimSuffix(rel, string(from))+string(PDFs), record.Digest(data), r)
	return s
}

// carried returns the record that a PDF carries.
func carried(pdf []byte) ([]byte, error) {
	f, err := archive.Open(pdf)
	if err != nil {
		return nil, fmt.Errorf("not a report: %w", err)
	}
	all, err := f.Attachments()
	if err != nil {
		return nil, fmt.Errorf("not a report: %w", err)
	}
	for _, a := range all {
		if a.Name == record.FileName {
			return a.Data, nil
		}
	}
	return nil, errors.New("not a report: it carries no " + record.FileName)
}
