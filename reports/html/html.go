// Package html writes a document.Document as one page of HTML that needs nothing else: no file beside it, no network,
// and no script to be read. It is the report for a screen, from the same document as the pages of package pdf.
//
// Figures are drawings in the page. Where scripts run, numbers can be read off them (package readout). A policy in the
// head of the page forbids every request, and every script and style but the two that are known by their hashes: a text
// that slipped through unescaped would show and do nothing.
//
// The same document and options give the same bytes.
package html

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strings"
	"sync"

	"wedgework/reports/document"
	"wedgework/reports/readout"
)

//go:embed style.css
var style string

// Options are what stands in the page beside the document.
type Options struct {
	Program string // name and version of the program
	Number  string // of the report; may be empty
	Record  string // SHA-256 of the record; may be empty
	Files   []File // that the PDF carries
}

// File is a file that travels in the PDF and not in the page.
type File struct {
	Name, Description string
	Bytes             int
	SHA256            string
}

// Begin begins to write the page, which takes as long as drawing its figures does. What it returns waits for that, and
// ends the page with the SHA-256 of the report as PDF, which it belongs to. A figure that cannot be drawn is an error
// that names it.
func Begin(d document.Document, o Options) func(pdf string) ([]byte, error) {
	p := page{doc: d, options: o}
	written := make(chan struct{})
	go func() {
		defer close(written)
		defer func() {
			if r := recover(); r != nil {
				p.err = fmt.Errorf("panic: %v", r)
			}
		}()
		p.head()
		p.body()
	}()
	return func(pdf string) ([]byte, error) {
		<-written
		if p.err != nil {
			return nil, fmt.Errorf("html: %w", p.err)
		}
		return p.end(pdf), nil
	}
}

// end writes what stands below the report.
func (p *page) end(pdf string) []byte {
	p.footer(pdf)
	if p.charts > 0 {
		p.out.WriteString("<script>" + readout.Script + "</script>\n")
	}
	p.out.WriteString("</body>\n</html>\n")
	sum := sha256.Sum256([]byte(p.out.String()))
	p.out.WriteString(ending + hex.EncodeToString(sum[:]) + " -->\n")
	return []byte(p.out.String())
}

const (
	ending  = "<!-- SHA-256 of what stands before: "
	pdfMark = "<!-- belongs to the PDF with SHA-256 "
)

// Intact reports whether a page is as it was written, for the PDF given: it ends in the hash of itself, and says the
// hash of the PDF. It is no proof against forgery, for anybody can compute a hash.
func Intact(page, pdf []byte) bool {
	text := string(page)
	at := strings.LastIndex(text, ending)
	if at < 0 {
		return false
	}
	sum, of := sha256.Sum256(page[:at]), sha256.Sum256(pdf)
	return text[at:] == ending+hex.EncodeToString(sum[:])+" -->\n" &&
		strings.Contains(text[:at], pdfMark+hex.EncodeToString(of[:])+" -->\n")
}

// page is a page that is being written.
type page struct {
	doc     document.Document
	options Options
	out     strings.Builder
	charts  int // figures with numbers to read off
	err     error
}

// policy allows our script and style by their hashes, and pictures that the page carries.
var policy = sync.OnceValue(func() string {
	hash := func(text string) string {
		sum := sha256.Sum256([]byte(text))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; img-src data:; style-src " + hash(style) + "; script-src " + hash(readout.Script) +
		"; base-uri 'none'; form-action 'none'"
})

func (p *page) head() {
	title := p.doc.Title
	if p.options.Number != "" {
		title += " (" + p.options.Number + ")"
	}
	fmt.Fprintf(&p.out, "<!DOCTYPE html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n"+
		"<meta http-equiv=\"Content-Security-Policy\" content=\"%s\">\n"+
		"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"+
		"<meta name=\"referrer\" content=\"no-referrer\">\n<meta name=\"color-scheme\" content=\"light dark\">\n"+
		"<meta name=\"generator\" content=\"%s\">\n<link rel=\"icon\" href=\"data:,\">\n<title>%s</title>\n"+
		"<style>%s</style>\n</head>\n",
		policy(), document.Escape(p.options.Program), document.Escape(title), style)
}

func (p *page) body() {
	d := p.doc
	p.out.WriteString("<body>\n<a class=\"skip\" href=\"#report\">Skip to the report</a>\n<header>\n")
	fmt.Fprintf(&p.out, "<h1>%s</h1>\n", document.Escape(d.Title))
	if d.Subtitle != "" {
		fmt.Fprintf(&p.out, "<p class=\"subtitle\">%s</p>\n", document.Escape(d.Subtitle))
	}
	if d.Notice != "" {
		fmt.Fprintf(&p.out, "<p class=\"notice\">%s</p>\n", document.Escape(d.Notice))
	}
	if len(d.Identity) > 0 {
		p.write([]document.Block{document.Fields{Rows: d.Identity}})
	}
	p.out.WriteString("</header>\n<main id=\"report\" tabindex=\"-1\">\n")
	if len(d.Verdicts) > 0 {
		p.section(document.Section{Title: "Verdicts", Level: 1, Blocks: verdicts(d.Verdicts)}, "verdicts")
	}
	sections := inOrder(d.Sections)
	p.contents(sections)
	for i, s := range sections {
		p.section(s, anchor(i))
	}
	p.files()
	p.out.WriteString("</main>\n")
}

func verdicts(all []document.Verdict) []document.Block {
	blocks := make([]document.Block, len(all))
	for i, v := range all {
		blocks[i] = v
	}
	return blocks
}

func anchor(i int) string { return fmt.Sprintf("section-%d", i+1) }

// contents lists the sections of the first level.
func (p *page) contents(sections []document.Section) {
	if len(sections) == 0 {
		return
	}
	p.out.WriteString("<nav aria-label=\"Contents\">\n<ol>\n")
	for i, s := range sections {
		if s.Level == 1 {
			fmt.Fprintf(&p.out, "<li><a href=\"#%s\">%s</a></li>\n", anchor(i), document.Escape(s.Title))
		}
	}
	if len(p.options.Files) > 0 {
		fmt.Fprintf(&p.out, "<li><a href=\"#files\">%s</a></li>\n", filesTitle)
	}
	p.out.WriteString("</ol>\n</nav>\n")
}

func (p *page) section(s document.Section, id string) {
	n := min(s.Level+1, 6)
	fmt.Fprintf(&p.out, "<section aria-labelledby=\"%s\">\n<h%d id=\"%s\">%s</h%d>\n", id, n, id,
		document.Escape(s.Title), n)
	p.write(s.Blocks)
	p.out.WriteString("</section>\n")
}

func (p *page) write(blocks []document.Block) {
	document.Hypertext{Classes: true, Figure: p.figure}.Write(&p.out, blocks)
}

const filesTitle = "Files in the PDF"

// files lists what the PDF carries, so that each can be told by its hash.
func (p *page) files() {
	if len(p.options.Files) == 0 {
		return
	}
	t := document.Table{Columns: []document.Column{{Head: "File", Mono: true}, {Head: "What it is"},
		{Head: "Bytes", Align: document.Right}, {Head: "SHA-256", Mono: true}}}
	for _, f := range p.options.Files {
		t.Rows = append(t.Rows, []string{f.Name, f.Description, fmt.Sprint(f.Bytes), f.SHA256})
	}
	p.section(document.Section{Title: filesTitle, Level: 1, Blocks: []document.Block{
		document.Plain("This page does not contain the files below. They are attached to the report as PDF."), t}},
		"files")
}

func (p *page) footer(pdf string) {
	var rows []document.Field
	for _, f := range []document.Field{{Name: "Report", Value: p.options.Number},
		{Name: "SHA-256 of the record", Value: p.options.Record}, {Name: "SHA-256 of the PDF", Value: pdf},
		{Name: "Written by", Value: p.options.Program}} {
		if f.Value != "" {
			rows = append(rows, f)
		}
	}
	p.out.WriteString("<footer>\n")
	p.write([]document.Block{document.Fields{Rows: rows}})
	fmt.Fprintf(&p.out, "%s%s -->\n</footer>\n", pdfMark, document.Escape(pdf))
}
