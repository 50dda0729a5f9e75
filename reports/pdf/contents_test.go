package pdf

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	reader "rsc.io/pdf"

	"wedgework/reports/document"
)

// Every line of the contents prints the page that it opens, and that page shows the heading. What is signed stands on
// the first page, the contents next, and then the sections that follow the signatures, though one has room before.
func TestContentsLeadToTheirPages(t *testing.T) {
	d := document.Document{Title: "Many sections", Verdicts: []document.Verdict{{Subject: "model agreement",
		Outcome: document.Pass, Sentence: "It does."}},
		Sections: []document.Section{{Title: "What is signed", Level: 1,
			Blocks: []document.Block{document.Signatures{Rows: []document.Signature{{Role: "Reviewed"}}}}}}}
	for i := range 22 {
		d.Sections = append(d.Sections, document.Section{Title: fmt.Sprintf("Section %c", 'A'+i), Level: 1,
			Blocks: []document.Block{
				document.Plain(strings.Repeat("Words that fill the page. ", 60+17*i)),
				document.Heading{Level: 1, Text: fmt.Sprintf("Detail %c", 'A'+i)}, document.Plain("More words."),
			}})
	}
	file, _ := mustRender(t, d, Options{})
	r := open(t, file)
	pages := map[string]int{}
	for n := 1; n <= r.NumPage(); n++ {
		pages[identity(r.Page(n).V)] = n
	}
	marks := slices.DeleteFunc(targets(t, r), func(m target) bool {
		return m.title == d.Title ||
			m.title == "Contents"
	})
	if r.NumPage() < contentsFrom || len(marks) > mostDeep {
		t.Fatalf("%d pages and %d bookmarks: no report with deep contents", r.NumPage(), len(marks))
	}
	at := 0
	for n := 1; n <= r.NumPage(); n++ {
		annots := r.Page(n).V.Key("Annots")
		for i := range annots.Len() {
			dest := annots.Index(i).Key("Dest")
			if dest.IsNull() {
				t.Fatalf("page %d: link %d leads nowhere within the report", n, i+1)
			}
			if at == len(marks) {
				t.Fatalf("page %d: more links than the %d bookmarks", n, len(marks))
			}
			to, m := pages[identity(dest.Index(0))], marks[at]
			if to != m.page {
				t.Errorf("the contents open page %d for %q, which its bookmark finds on page %d", to, m.title, m.page)
			}
			if line := lineWith(r, n, m.title); line != m.title+" "+fmt.Sprint(to) {
				t.Errorf("the contents print %q, and open page %d", line, to)
			}
			if !strings.Contains(pageText(r, to), squash(m.title)) {
				t.Errorf("page %d, opened for %q, does not show it", to, m.title)
			}
			at++
		}
	}
	if at != len(marks) {
		t.Errorf("the contents have %d lines, want %d", at, len(marks))
	}
	if marks[1].title != "What is signed" || marks[1].page != 1 || marks[2].page < 2 {
		t.Errorf("signed is on page %d, and the section after it begins on page %d, want 1, and a page after the "+
			"contents", marks[1].page, marks[2].page)
	}
}

// lineWith finds a line of a page that begins with a title and ends with a number, and joins the two.
func lineWith(r *reader.Reader, n int, title string) string {
	all := pageStrings(r, n)
	for _, s := range all {
		if s.text != title+" " {
			continue
		}
		for _, o := range all {
			if _, err := strconv.Atoi(o.text); err == nil && o.y == s.y && o.x > s.x {
				return title + " " + o.text
			}
		}
	}
	return ""
}
