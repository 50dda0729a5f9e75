package publish

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"wedgework/reports/files"
	"wedgework/reports/job"
	"wedgework/reports/measured"
	"wedgework/reports/pdf"
	"wedgework/reports/rerun"
)

// bound is a job with the content of its files.
type bound struct {
	notebook measured.File
	request  rerun.Request
	fonts    []measured.File
	keys     []roleKey
	stands   *Standing // what stands where the report goes; nil for not looked at
	read     []Read
	release  func() // of folders
}

// close lets go of folders and keys.
func (b *bound) close() {
	b.release()
	closeKeys(b.keys)
}

// Read is a file that the notebook read by itself.
type Read struct{ Path, SHA256 string }

// Bind reads what a job binds names to, for cells whose paths are relative to a folder. The returned function closes
// what was opened. Errors begin with where the job's author wrote what is wrong.
func Bind(ctx context.Context, j *job.Job, folder string, t Tools) (rerun.Request, func(), error) {
	b, err := bind(ctx, j, folder, t)
	return b.request, b.close, err
}

func bind(ctx context.Context, j *job.Job, folder string, t Tools) (b *bound, err error) {
	b = &bound{release: func() {}}
	b.request.Data = map[string][]measured.File{}
	for _, d := range j.Data {
		if err := job.CheckName(d.Name); err != nil {
			return b, d.At.Wrap(err)
		}
		for _, f := range d.Files {
			loaded, err := load(ctx, f)
			if err != nil {
				return b, f.At.Wrap(err)
			}
			b.request.Data[d.Name] = append(b.request.Data[d.Name], loaded)
		}
	}
	if b.request.Settings, err = settings(j, t); err != nil {
		return b, err
	}
	b.request.ReadFile, b.request.Remedy, b.request.Save = t.ReadFile, j.Remedy, t.Save
	if t.ReadFile == nil && !j.Notebook.Known() {
		return b, b.openRoots(j, folder)
	}
	return b, nil
}

// settings checks the expressions as far as that is possible before a cell runs.
func settings(j *job.Job, t Tools) (map[string]string, error) {
	all := map[string]string{}
	for _, s := range j.Settings {
		if first, ok := all[s.Name]; ok {
			return nil, s.At.Errorf("found it twice, as %s and as %s, expected one",
				job.Shortened(first), job.Shortened(s.Expression))
		}
		err := job.CheckName(s.Name)
		if err == nil && t.Check != nil {
			err = t.Check(s.Expression)
		}
		if err != nil {
			return nil, s.At.Wrap(err)
		}
		all[s.Name] = s.Expression
	}
	return all, nil
}

// openRoots lets the cells read the folder and the roots of the job, and notes what they read.
func (b *bound) openRoots(j *job.Job, folder string) error {
	more := make([]string, len(j.Roots))
	for i, r := range j.Roots {
		more[i] = r.Path
	}
	roots, err := files.OpenRoots(folder, more...)
	var refused *files.RootError
	if errors.As(err, &refused) && refused.Index >= 0 {
		return j.Roots[refused.Index].At.Wrap(refused.Err)
	}
	if err != nil {
		return err
	}
	if j.At != "" {
		roots.Further = "the roots of the plan"
	}
	b.release = roots.Close
	b.request.ReadFile = func(ctx context.Context, path string) (measured.File, error) {
		data, found, err := roots.Read(ctx, path)
		if err != nil {
			return measured.File{}, err
		}
		f, err := measured.Hashed(ctx, filepath.Base(found), data)
		if err != nil {
			return measured.File{}, err
		}
		b.read = append(b.read, Read{found, f.SHA256})
		return f, nil
	}
	return nil
}

// load returns a file with its content.
func load(ctx context.Context, f job.File) (measured.File, error) {
	data := f.Data
	var err error
	switch {
	case f.Known():
	case f.Within != nil:
		data, err = files.ReadWithin(ctx, f.Path, f.Within)
	default:
		data, err = files.ReadContext(ctx, f.Path)
	}
	if err != nil {
		return measured.File{}, err
	}
	named, err := measured.Hashed(ctx, filepath.Base(f.Path), data)
	named.Unit = f.Unit
	return named, err
}

// Fonts reads and checks fonts.
func Fonts(ctx context.Context, named []job.File) ([]measured.File, error) {
	var fonts []measured.File
	for _, named := range named {
		f, err := load(ctx, named)
		if err == nil {
			err = (pdf.Font{Name: f.Name, Data: f.Data}).Check()
		}
		if err != nil {
			return nil, named.At.Wrap(err)
		}
		fonts = append(fonts, f)
	}
	return fonts, nil
}

// Unasked words names that the notebook does not ask for as the job's author wrote them.
func Unasked(j *job.Job, err error) error {
	var e *rerun.UnaskedError
	if !errors.As(err, &e) {
		return err
	}
	places := map[string]job.Place{}
	for _, d := range j.Data {
		places["input "+d.Name] = d.At
	}
	for _, s := range j.Settings {
		places["setting "+s.Name] = s.At
	}
	return fmt.Errorf("%s%w", e.Worded(func(kind, name string) string {
		if p := places[kind+" "+name]; p != "" {
			return string(p)
		}
		return kind + " " + name
	}), silent{e})
}

// silent is an error that is found in a chain and adds nothing to its words.
type silent struct{ error }

func (silent) Error() string   { return "" }
func (s silent) Unwrap() error { return s.error }
