package pdf

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wedgework/reports/document"
)

// edges is a document of what a tree is easily wrong about.
func edges() document.Document {
	long := document.Table{Caption: "Table 1. Readings", Columns: []document.Column{
		{Head: "Wavelength / nm", Align: document.Right}, {Head: "A heading of several words", Align: document.Right}}}
	for i := range 120 {
		long.Rows = append(long.Rows, []string{strconv.Itoa(1500 + i), strconv.Itoa(30 + i)})
	}
	return document.Document{
		Title:    "What a tree is easily wrong about",
		Subtitle: "words, heads, formulas, directions",
		Number:   "R-1",
		Verdicts: []document.Verdict{{Subject: "limit conformity", Outcome: document.Undecided,
			Sentence: strings.Repeat("The sentence goes over several lines. ", 8)}},
		Sections: []document.Section{
			{Title: "Formulas", Level: 1, Blocks: narrative("The leakage $10^{-A/20}$ and $E_n$, a part in $10^5$, " +
				"the ratio $\\frac{a+b}{c}$, plain 10<sup>6</sup> and n<sub>o</sub>.\n\n$$U = k\\,u_c$$\n\n" +
				"There is more in [the method of the paper that is cited, which has such a long name that it goes over " +
				"the end of a line](https://example.org/m), then go on.\n\n> A quotation.\n\n" +
				"3. three\n4. four\n\n- a\n  - b")},
			{Title: "Directions", Level: 1, Blocks: []document.Block{
				document.Plain("אבג (דה) 12 וז and then Latin."),
				document.Plain("Latin first, then אב גד and 12 more."),
				document.List{Items: [][]document.Block{{document.Quote{Blocks: []document.Block{
					document.Plain("חט יכ")}}}}}}},
			{Title: "Tables", Level: 3, Blocks: []document.Block{long,
				document.Table{Caption: "Table 2. Nothing", Columns: []document.Column{{Head: "a"}, {Head: "b"}}},
				document.Signatures{Rows: []document.Signature{{Role: "Reviewed",
					Name: strings.Repeat("A name that is cut since it is too long ", 4)}}},
				document.Code{Text: "first = 1\n" + strings.Repeat("long + ", 40) + "end\nlast = 2"},
				document.Figure{Caption: "Figure 1. Shapes", Text: "least isolation 33.6 dB at 1565 nm", Width: 120,
					Height: 90, Drawing: shapes{}},
			}},
		},
	}
}

func renderTree(t *testing.T, d document.Document, o Options) tree {
	t.Helper()
	file, _ := mustRender(t, d, o)
	return readTree(t, file)
}

// Words at the ends of lines stay apart: the text of each paragraph is read as it was given.
func TestTreeKeepsWordsApart(t *testing.T) {
	words := strings.TrimSpace(strings.Repeat("as specified and as diagnosed, by 34.8 ± 2.1 dB; ", 12))
	hash := strings.Repeat("0123456789abcdef", 12) // longer than a line: it must not get a space
	d := document.Document{Title: strings.TrimSpace(strings.Repeat("a title of words ", 12)),
		Verdicts: edges().Verdicts,
		Sections: []document.Section{{Title: "Words", Blocks: []document.Block{document.Plain(words),
			document.Plain("before " + hash + " after"), document.Plain("one\ntwo"), document.Caution{Text: words},
			document.Figure{Caption: words, Text: "a", Width: 60, Height: 40, Drawing: shapes{}},
			document.Table{Columns: []document.Column{{Head: "a"}, {Head: "b"}},
				Rows: [][]string{{words, words}}, Note: words},
			document.Fields{Rows: []document.Field{{Name: words, Value: words}}}}}}}
	root := renderTree(t, d, Options{}).root
	got := map[string]bool{}
	for _, n := range root.all("Title", "P", "Caution", "Caption", "TH", "TD") {
		got[strings.TrimSpace(n.text())] = true
	}
	for _, want := range []string{d.Title, words, "before " + hash + " after", "one two", "Caution. " + words,
		strings.TrimSpace(d.Verdicts[0].Sentence)} {
		if !got[want] {
			t.Errorf("no element reads %.60q", want)
		}
	}
	if n := len(root.all("TH", "TD")); n != 6 {
		t.Errorf("%d cells, want 6", n)
	}
}

// The head of a table stands in the tree once, however many pages repeat it, and all that is printed and is no running
// head and no repetition is read.
func TestTreeReadsTableHeadsOnce(t *testing.T) {
	tr := renderTree(t, edges(), Options{})
	table := tr.root.all("Table")[0]
	if heads := table.all("THead"); len(heads) != 1 || heads[0].text() != "Wavelength / nmA heading of several words" {
		t.Errorf("heads: %v", heads)
	}
	if rows := table.all("TR"); len(rows) != 121 {
		t.Errorf("%d rows, want 121", len(rows))
	}
	for i, r := range table.all("TBody")[0].all("TR") {
		if cells := r.all("TH", "TD"); len(cells) != 2 || cells[0].kind != "TH" ||
			cells[0].v.Key("A").Key("Scope").Name() != "Row" || cells[0].text() != strconv.Itoa(1500+i) {
			t.Errorf("row %d: %s", i, r.outline(0))
		}
	}
	for _, n := range table.all("THead")[0].all("TH") {
		if n.v.Key("A").Key("Scope").Name() != "Column" {
			t.Errorf("head %q has scope %v", n.text(), n.v.Key("A"))
		}
	}
	if none := tr.root.all("Table")[1].all("TD"); len(none) != 1 || none[0].v.Key("A").Key("ColSpan").Int64() != 2 ||
		none[0].text() != "no rows" {
		t.Errorf("a table without rows reads %v", none)
	}
	repeated := regexp.MustCompile(`^(Table 1\. Readings \(continued\)|Wavelength / nm|A heading of several words|\?)$`)
	for _, s := range tr.loose {
		if !repeated.MatchString(strings.TrimSpace(s)) {
			t.Errorf("%q is printed and not read", s)
		}
	}
}

// A formula is read as one: as a power and an index, never as 105 or E and n beside each other.
func TestTreeReadsFormulas(t *testing.T) {
	root := renderTree(t, edges(), Options{}).root
	ps := root.all("Sect")[0].all("P")
	want := "The leakage 10^(−A/20) and E_n, a part in 10^5, the ratio (a + b)/c, plain 10^6 and n_o."
	if got := ps[0].text(); got != want {
		t.Errorf("read %q, want %q", got, want)
	}
	if got := ps[1].text(); got != "U = k u_c" {
		t.Errorf("read %q, want U = k u_c", got)
	}
	if n := len(root.all("Formula")); n != 5 {
		t.Errorf("%d formulas, want 5", n)
	}
}

// What is read from right to left stands in the tree in the order of reading, though it is seen in another.
func TestTreeReadsInOrder(t *testing.T) {
	root := renderTree(t, edges(), Options{}).root
	var got []string
	for _, n := range root.all("Sect")[1].all("P") {
		got = append(got, n.text())
	}
	want := []string{"אבג (דה) 12 וז and then Latin.", "Latin first, then אב גד and 12 more.", "חט יכ"}
	if !slices.Equal(got, want) {
		t.Errorf("read %q, want %q", got, want)
	}
}

func TestTreeOfHeadingsListsLinksAndFigures(t *testing.T) {
	root := renderTree(t, edges(), Options{}).root
	var headings []string
	for _, n := range root.all("H1", "H2", "H3", "H4", "H5", "H6") {
		headings = append(headings, n.kind+" "+n.text())
	}
	// the level of the last section is not reached from the one before without a step between
	want := []string{"H1 Verdicts", "H1 Formulas", "H1 Directions", "H2 Tables"}
	if !slices.Equal(headings, want) {
		t.Errorf("headings %q, want %q", headings, want)
	}
	lists := root.all("L")
	if got := lists[1].all("LI")[1].outline(0); got != "LI\n Lbl 4.\n LBody\n  P four\n" {
		t.Errorf("the second item reads %s", got)
	}
	if n := lists[1].v.Key("A").Key("ListNumbering").Name(); n != "Decimal" {
		t.Errorf("the numbers of the list are %q", n)
	}
	link := root.all("Link")[0]
	annotations := 0
	for _, p := range link.parts {
		if !p.annotation.IsNull() {
			annotations++
			if a := p.annotation; a.Key("A").Key("URI").RawString() != "https://example.org/m" ||
				!strings.Contains(a.Key("Contents").Text(), "https://example.org/m") {
				t.Errorf("the link is %v", p.annotation)
			}
		}
	}
	if annotations != 2 || !strings.HasSuffix(link.text(), "goes over the end of a line") {
		t.Errorf("the link over two lines has %d annotations and reads %q", annotations, link.text())
	}
	figure := root.all("Figure")[0]
	if figure.alt != "least isolation 33.6 dB at 1565 nm" || figure.v.Key("A").Key("BBox").Len() != 4 ||
		len(figure.all("Caption")) != 1 {
		t.Errorf("the figure: %v", figure.v)
	}
	lines := root.all("CodeLine")
	if len(lines) != 3 || lines[2].text() != "last = 2" || !strings.HasSuffix(lines[1].text(), "long + end") {
		t.Errorf("%d lines of code; the second reads %q", len(lines), lines[1].text())
	}
	if td := root.all("Table")[2].all("TD"); !strings.HasSuffix(td[0].text(), "too long") {
		t.Errorf("the name that is cut on the page reads %q", td[0].text())
	}
}

// Everything that a document of every kind of block prints is read, but for running heads, repetitions and signs.
func TestTreeIsWhole(t *testing.T) {
	signs := regexp.MustCompile(`^(\?|(\. )+.*)$|continued`)
	for _, d := range []document.Document{demo(), hard(), {}} {
		tr := renderTree(t, d, Options{})
		heads := tr.root.outline(0)
		for _, s := range tr.loose {
			if s := strings.TrimSpace(s); !signs.MatchString(s) && !strings.Contains(heads, s) {
				t.Errorf("%.40q: %q is printed and not read", d.Title, s)
			}
		}
	}
}

// A validator of another hand judges the documents of these tests, where the machine has one.
func TestValidator(t *testing.T) {
	tool := os.Getenv("WEDGEWORK_PDF_VALIDATOR")
	if tool == "" {
		t.Skip("WEDGEWORK_PDF_VALIDATOR names no command that judges PDF files")
	}
	dir := t.TempDir()
	dated := demoOptions
	dated.Issued = "2026-11-25"
	var paths []string
	for name, d := range map[string]document.Document{"demo": demo(), "hard": hard(), "edges": edges(), "empty": {}} {
		file, _ := mustRender(t, d, dated)
		path := filepath.Join(dir, name+".pdf")
		if err := os.WriteFile(path, file, 0o600); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	for _, level := range []string{"3u", "3a", "ua1"} {
		if out, err := exec.Command(tool, append([]string{level}, paths...)...).CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", level, err, out)
		}
	}
}
