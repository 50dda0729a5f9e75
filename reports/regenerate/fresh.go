package regenerate

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"path/filepath"
	"slices"

	"wedgework/reports/files"
	"wedgework/reports/job"
	"wedgework/reports/signature"
)

// Identity says which program makes the reports: a report by another one is not fresh.
type Identity struct {
	Program   string // hash of the program itself
	Constants string // hash of the constants of its materials
}

// sources hashes what a report is made from. A file that cannot be read is an error that says where it was named.
func (id Identity) sources(ctx context.Context, j *job.Job) (Sources, error) {
	s := Sources{Program: id.Program, Constants: id.Constants}
	var err error
	if s.Notebook, err = hashFile(ctx, j.Notebook); err != nil {
		return s, err
	}
	var data [][]string // input, name of the file, content: what a report tells of an input
	for _, b := range j.Data {
		for _, f := range b.Files {
			h, err := hashFile(ctx, f)
			if err != nil {
				return s, err
			}
			data = append(data, []string{b.Name, filepath.Base(f.Path), h})
		}
	}
	var fonts []string
	for _, f := range j.Fonts {
		h, err := hashFile(ctx, f)
		if err != nil {
			return s, err
		}
		fonts = append(fonts, h)
	}
	settings := map[string]string{} // encoding/json sorts the keys
	for _, set := range j.Settings {
		settings[set.Name] = set.Expression
	}
	s.Data = hashOf(data)
	said := []any{filepath.Base(j.Notebook.Path), settings, j.Issued.Text}
	if j.Number.Text != "" {
		said = append(said, j.Number.Text)
	}
	if j.Paper.Text != "" {
		said = append(said, map[string]string{"paper": j.Paper.Text}) // never taken for a number
	}
	s.Settings = hashOf(said)
	if fonts != nil {
		s.Fonts = hashOf(fonts)
	}
	return s, nil
}

func hashFile(ctx context.Context, f job.File) (string, error) {
	sum, err := files.HashWithin(ctx, f.Path, f.Within)
	return sum, f.At.Wrap(err)
}

func hashOf(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err) // strings in lists and maps
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// state is how a report stands to what it would be made from now.
type state struct {
	why   string // it must be made; "" for up to date
	check bool   // but only if a printed figure changes, for nothing changed but the program
	older bool   // it is up to date and was made by another version of the program
}

// stale says why a report must be made, if it must.
func (l *ledger) stale(t *Task, now Sources) state {
	m, known := l.of(filepath.Base(t.Output.Text))
	if !known {
		return state{why: "new"}
	}
	if why := l.changed(t, m, now); why != "" {
		return state{why: why}
	}
	why := ""
	switch {
	case m.From.Program != now.Program:
		why = "the program changed"
	case m.From.Constants != now.Constants:
		why = "a constant of a material changed"
	default:
		return state{}
	}
	if t.Remake == RemakeInputs {
		return state{older: true}
	}
	return state{why: why, check: t.Remake == RemakeFigures}
}

// changed says what has changed since a report was made, other than the program.
func (l *ledger) changed(t *Task, m entryMade, now Sources) string {
	for _, part := range []struct{ name, then, now string }{
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
		if h, err := files.Hash(below(l.folder, r.Path)); err != nil || h != r.SHA256 {
			return filepath.Base(r.Path) + ", which the notebook reads, changed"
		}
	}
	for _, f := range m.Files {
		if h, err := files.Hash(below(l.folder, f.Path)); err != nil || h != f.SHA256 {
			return f.Path + " is not the file that was written"
		}
	}
	for _, s := range t.Signing {
		path := l.relative(signature.Path(t.Output.Text, s.Role))
		if !slices.ContainsFunc(m.Files, func(h Hash) bool { return h.Path == path }) {
			return "it is not signed"
		}
	}
	return ""
}
