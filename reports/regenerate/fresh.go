package regenerate

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"maps"
	"path/filepath"
	"slices"

	"wedgework/reports/fileset"
)

// Identity says which program makes the reports: a report by another one is not fresh.
type Identity struct {
	Program   string // hash of the program itself
	Constants string // hash of the constants of its materials
}

// sources hashes what a job is made from. A file that cannot be read is an error, and says which.
func (id Identity) sources(j *Job) (Sources, error) {
	s := Sources{Program: id.Program, Constants: id.Constants}
	var err error
	if s.Notebook, err = fileset.Hash(j.Notebook); err != nil {
		return s, err
	}
	var data [][]string // input, name of the file, content: what a report tells of an input
	for _, name := range slices.Sorted(maps.Keys(j.Data)) {
		for _, f := range j.Data[name] {
			h, err := fileset.Hash(f)
			if err != nil {
				return s, err
			}
			data = append(data, []string{name, filepath.Base(f), h})
		}
	}
	var fonts []string
	for _, f := range j.Fonts {
		h, err := fileset.Hash(f)
		if err != nil {
			return s, err
		}
		fonts = append(fonts, h)
	}
	s.Data = hashOf(data)
	s.Settings = hashOf([]any{filepath.Base(j.Notebook), j.Settings, j.Issued}) // encoding/json sorts the keys
	if fonts != nil {
		s.Fonts = hashOf(fonts)
	}
	return s, nil
}

func hashOf(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err) // strings in lists and maps
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// stale says why a report must be made, or nothing when it is fresh.
func (l *ledger) stale(j *Job, now Sources) string {
	m, known := l.of(filepath.Base(j.Output))
	if !known {
		return "new"
	}
	for _, part := range []struct{ name, then, now string }{
		{"the program", m.From.Program, now.Program},
		{"a constant of a material", m.From.Constants, now.Constants},
		{"the notebook", m.From.Notebook, now.Notebook},
		{"the data", m.From.Data, now.Data},
		{"a setting", m.From.Settings, now.Settings},
		{"a font", m.From.Fonts, now.Fonts},
	} {
		if part.then != part.now {
			return part.name + " changed"
		}
	}
	for _, r := range m.Read {
		if h, err := fileset.Hash(below(l.folder, r.Path)); err != nil || h != r.SHA256 {
			return filepath.Base(r.Path) + ", which the notebook reads, changed"
		}
	}
	for _, f := range m.Files {
		if h, err := fileset.Hash(below(l.folder, f.Path)); err != nil || h != f.SHA256 {
			return f.Path + " is not the file that was written"
		}
	}
	return ""
}
