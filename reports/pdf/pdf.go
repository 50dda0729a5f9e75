// Package pdf sets a document.Document on pages of A4 or letter: identification and verdicts first, then the flow of
// sections, with running heads, page numbers, bookmarks and vector figures, in embedded subsets of the
// Liberation faces; and finishes the file with a tree of what the pages hold, attachments, metadata, an output
// intent and an identifier.
//
// The same document, program and toolchain give the same bytes, on any processor. No clock, host, user or
// path enters the file. The package does not choose words: what is printed is what the document holds.
//
// Layout runs before painting. Every block becomes a list of boxes, the boxes are put on pages, and only
// then are the pages drawn, so the number of pages is known when the first one is painted.
package pdf

import (
	"bytes"
	"fmt"

	"github.com/go-pdf/fpdf"

	"wedgework/reports/document"
)

// Options are what a page does not show.
type Options struct {
	Attachments []Attachment
	Program     string // name and version of the program, for the metadata
	Issued      string // the day in the metadata, as 2026-11-25; "" for none
	Fonts       []Font // asked in turn for the characters that the program's own lack
	Paper       string // "a4", which "" stands for, or "letter"
}

// Attachment is a file that travels inside the PDF.
type Attachment struct {
	Name        string // plain file name, different from those of the others
	Description string // one line, shown beside the name
	MIME        string // "text/csv"
	Relation    string // to the document: Source, Data, Alternative, Supplement or Unspecified
	Data        []byte
}

// Render sets the document and returns the file, and warnings for the person who asked for it: characters
// that no face has are printed as code points and counted. A block that cannot be set, or whose drawing
// fails or panics, is an error that names it.
func Render(d document.Document, o Options) (file []byte, warnings []string, err error) {
	if err := checkAttachments(o.Attachments); err != nil {
		return nil, nil, err
	}
	added := make([]program, len(o.Fonts))
	for i, f := range o.Fonts {
		if added[i], err = readFont(f); err != nil {
			return nil, nil, fmt.Errorf("pdf: %w", err)
		}
	}
	on, err := sheet(o.Paper)
	if err != nil {
		return nil, nil, fmt.Errorf("pdf: %w", err)
	}
	attached := pack(o.Attachments)
	defer attached() // nothing of the caller's is read after this
	w := newWriter(d, added, on)
	boxes, err := w.layout(d)
	if err != nil {
		return nil, nil, fmt.Errorf("pdf: %w", err)
	}
	pages, err := paginate(boxes, w.room())
	if err == nil && len(pages) >= contentsFrom {
		pages, err = paginate(w.contents(boxes, pages), w.room())
	}
	if err != nil {
		return nil, nil, fmt.Errorf("pdf: %w", err)
	}
	locate(pages)
	for i, p := range pages {
		if err := w.paint(p, i+1, len(pages)); err != nil {
			return nil, nil, fmt.Errorf("pdf: page %d: %w", i+1, err)
		}
	}
	raw, err := w.output()
	if err != nil {
		return nil, nil, fmt.Errorf("pdf: %w", err)
	}
	fonts, err := w.fonts.embed()
	if err != nil {
		return nil, nil, fmt.Errorf("pdf: %w", err)
	}
	attachments, err := attached()
	if err != nil {
		return nil, nil, fmt.Errorf("pdf: attachments: %w", err)
	}
	file, err = finish(raw, metadata{
		title: w.meta(d.Title), subject: w.meta(d.Subtitle), program: w.meta(o.Program), issued: o.Issued,
		attachments: attachments, fonts: fonts, tags: &w.tags,
	})
	if err != nil {
		return nil, nil, fmt.Errorf("pdf: finishing: %w", err)
	}
	return file, w.warnings(), nil
}

// writer holds what is shared by the pages of one file.
type writer struct {
	pdf   *fpdf.Fpdf
	paper paper
	fonts *fonts

	title, number string   // of the running head, cut to fit
	report        string   // before the number of the page
	notice        []line   // of the foot
	footHeight    float64  // from the edge of the paper to the lowest line of the flow
	cutHeads      int      // heads of columns that are not printed whole
	level         int      // of the last bookmark
	now           graphics // what the page being painted is set to
	tags          tags
	before        before
	scratch       []byte
}

func newWriter(d document.Document, added []program, on paper) *writer {
	p := fpdf.New("P", "pt", on.name, "")
	p.SetCatalogSort(true) // without it the order of fonts follows a map
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(0, 0, 0)
	p.SetCompression(false) // finish compresses
	p.SetLang("en-GB")
	w := &writer{pdf: p, paper: on, fonts: newFonts(added), level: -1, tags: newTags()}
	w.tags.height = on.height
	w.prepareHead(d)
	return w
}

// warnings says what is not printed as it was given.
func (w *writer) warnings() []string {
	all := w.fonts.warnings()
	if w.cutHeads > 0 {
		all = append(all, fmt.Sprintf("heads of columns cut after %d lines: %d", tallHead, w.cutHeads))
	}
	return all
}

func (w *writer) output() (out []byte, err error) {
	defer catch(&err)
	var b bytes.Buffer
	if err := w.pdf.Output(&b); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// catch turns a panic of the libraries below into an error. Both the PDF and the plotting library panic on
// input they did not expect, and a report that fails must not take the session with it.
func catch(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("panic: %v", r)
	}
}
