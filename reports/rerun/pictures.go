package rerun

import (
	"context"
	"errors"
	"net/url"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// pictures reads the pictures that Markdown cells show from files, as inputs of the report: the page depends on
// them, so they are hashed and travel with it. What cannot be read does not end the run.
func (d *Desk) pictures(ctx context.Context) {
	for _, c := range d.out.Notebook.Cells {
		if c.Type != notebook.MarkdownCell {
			continue
		}
		for _, address := range document.PictureAddresses(c.Source) {
			path, local, err := PicturePath(address)
			if !local {
				continue
			}
			if err == nil {
				_, err = d.Input(ctx, path, path)
			}
			if err != nil {
				if d.out.Unread == nil {
					d.out.Unread = map[string]error{}
				}
				d.out.Unread[address] = bare(err)
			}
		}
	}
}

// bare drops what Input says about named inputs, which a picture is not to its author.
func bare(err error) error {
	for e := errors.Unwrap(err); e != nil; e = errors.Unwrap(e) {
		err = e
	}
	return err
}

// PicturePath returns the path of the file that a picture's address in Markdown names; local is false when the
// picture lies in the notebook itself.
func PicturePath(address string) (path string, local bool, err error) {
	scheme, _, found := strings.Cut(address, ":")
	switch {
	case found && (scheme == "data" || scheme == "attachment"):
		return "", false, nil
	case found && !strings.ContainsAny(scheme, "/.") || strings.HasPrefix(address, "//"):
		return "", true, errors.New("its address lies outside the notebook's folder, and a report fetches nothing")
	}
	path, err = url.PathUnescape(address)
	return path, true, err
}
