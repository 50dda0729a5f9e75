package publish

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"wedgework/reports/fileset"
	"wedgework/reports/job"
	"wedgework/reports/record"
	"wedgework/reports/signature"
)

// roleKey is a key that is ready to sign in a role.
type roleKey struct {
	role string
	key  *signature.Key
	at   job.Place
}

// loadKeys makes the keys of a job ready.
func loadKeys(signing []job.Signing) ([]roleKey, error) {
	var keys []roleKey
	for _, s := range signing {
		err := signature.CheckRole(s.Role)
		if slices.ContainsFunc(keys, func(k roleKey) bool { return k.role == s.Role }) {
			err = fmt.Errorf("found two keys for one signature, expected one for each role")
		}
		var key *signature.Key
		if err == nil {
			key, err = signature.Load(s.Key.Path)
		}
		if err != nil {
			closeKeys(keys)
			return nil, s.Key.At.Wrap(err)
		}
		keys = append(keys, roleKey{s.Role, key, s.Key.At})
	}
	return keys, nil
}

func closeKeys(keys []roleKey) {
	for _, k := range keys {
		k.key.Close()
	}
}

// Sign signs a report that was made before.
func Sign(report []byte, signing []job.Signing) (map[string][]byte, error) {
	keys, err := loadKeys(signing)
	if err != nil {
		return nil, err
	}
	b := &bound{keys: keys}
	defer closeKeys(keys)
	r := &Report{PDF: report}
	err = b.sign(r)
	return r.Signatures, err
}

// sign signs a report with the keys of its job. One that stands signed in a role already keeps that signature.
func (b *bound) sign(r *Report) error {
	r.Signatures = map[string][]byte{}
	for _, k := range b.keys {
		if r.standsAsIs() && slices.Contains(r.stands.roles, k.role) {
			continue
		}
		sig, err := k.key.Sign(r.PDF, k.role)
		if err != nil {
			return k.at.Wrap(err)
		}
		r.Signatures[k.role] = sig
	}
	return nil
}

// standsAsIs reports whether the PDF that stands has these very bytes.
func (r *Report) standsAsIs() bool { return r.stands != nil && bytes.Equal(r.stands.pdf, r.PDF) }

// take makes a report the one that stands: another toolchain may have written it to other bytes. One that stands
// without the page for a screen gets it.
func (r *Report) take(s *Standing) (err error) {
	carried := attachmentsOf(s.pdf)
	r.PDF, r.JSON, r.Notebook, r.Record = s.pdf, carried[record.FileName], carried[s.Record.Executed.Name], s.Record
	r.HTML = s.html
	if r.JSON == nil || r.Notebook == nil {
		return errors.New("the report that stands carries no record or no executed notebook")
	}
	if r.HTML == nil {
		r.HTML, err = r.PageOf(r.Record, r.JSON, r.Notebook, r.PDF)
	}
	return err
}

// Placed is what happened when a report was put in place.
type Placed struct {
	Paths []string // of the files of the report, signatures included
	Kept  string   // the folder that took the files of another report; "" for none
	Why   string   // it was kept: "signed"
}

// Place puts a report in its place, whole or not at all. A report there that is signed, or that was changed after it
// was written, is not overwritten: its files are kept in a folder of superseded ones.
func (r *Report) Place(out string) (Placed, error) {
	if r.stands == nil {
		var err error
		if r.stands, err = Stands(out); err != nil {
			return Placed{}, err
		}
	}
	s := r.stands
	paths := beside(out)
	set := []fileset.File{{Path: paths[0], Data: r.Notebook}, {Path: paths[1], Data: r.JSON},
		{Path: paths[2], Data: r.HTML}}
	p := Placed{Paths: slices.Clone(paths)}
	for _, role := range append([]string{""}, signature.Roles...) {
		path, sig := signature.Path(out, role), r.Signatures[role]
		stays := r.standsAsIs() && slices.Contains(s.roles, role)
		if sig != nil || slices.Contains(s.roles, role) && !stays {
			set = append(set, fileset.File{Path: path, Data: sig})
		}
		if sig != nil || stays {
			p.Paths = append(p.Paths, path)
		}
	}
	set = append(set, fileset.File{Path: out, Data: r.PDF})
	if r.standsAsIs() && !s.changed && len(r.Signatures) == 0 && len(s.paths) == len(p.Paths) {
		return p, nil // all of it is there
	}
	var keep fileset.Keep
	if s.changed || len(s.roles) > 0 && !r.standsAsIs() {
		keep, p.Why = fileset.Keep{Folder: s.folder(), Paths: s.paths}, s.kept()
	}
	var err error
	p.Kept, err = fileset.ReplaceKeeping(set, keep, s.seen)
	return p, err
}

// Says tells a person what a report took the place of; "" when there is nothing to tell.
func (p Placed) Says(r *Report) string {
	if p.Kept == "" {
		return ""
	}
	text := fmt.Sprintf("the former report was %s; its files are kept in %s", p.Why, p.Kept)
	if s := r.Record.Supersedes; s != nil && strings.Contains(p.Kept, strings.ReplaceAll(s.Number, "/", "_")) {
		text += fmt.Sprintf("; %s supersedes %s (%s)", r.Record.Number, s.Number, record.Short(s.SHA256))
	}
	return text
}
