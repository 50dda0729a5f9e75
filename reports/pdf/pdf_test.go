package pdf

import (
	"bytes"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
	"wedgework/reports/require"
)

var demoOptions = Options{Attachments: demoAttachments(), Program: "wedgework 0.1 (test)"}

// mustRender renders a document that is expected to succeed and returns its warnings with it.
func mustRender(t testing.TB, d document.Document, o Options) ([]byte, []string) {
	t.Helper()
	file, warnings, err := Render(d, o)
	if err != nil {
		t.Fatal(err)
	}
	return file, warnings
}

// printed lists every string of blocks that the pages must show: text in one piece, and cells, whose lines
// stand between those of their neighbours.
func printed(blocks []document.Block) (out, cells []string) {
	for _, b := range blocks {
		switch b := b.(type) {
		case document.Heading:
			out = append(out, b.Text)
		case document.Paragraph:
			out = append(out, document.PlainText(b.Spans))
		case document.List:
			for _, item := range b.Items {
				o, c := printed(item)
				out, cells = append(out, o...), append(cells, c...)
			}
		case document.Code:
			out = append(out, b.Text)
		case document.Table:
			out = append(out, b.Caption, b.Note)
			for _, c := range b.Columns {
				cells = append(cells, c.Head)
			}
			for _, r := range b.Rows {
				cells = append(cells, r...)
			}
		case document.Figure:
			out = append(out, b.Caption)
		case document.Fields:
			out = append(out, b.Caption)
			for _, r := range b.Rows {
				out = append(out, r.Name, r.Value)
			}
		case document.Verdict:
			out = append(out, strings.ToUpper(b.Outcome.String()), b.Subject, b.Sentence)
		case document.Caution:
			out = append(out, "Caution. "+b.Text)
		case document.Signatures:
			for _, r := range b.Rows {
				out = append(out, r.Role, r.Name, r.Date)
			}
		}
	}
	return out, cells
}

func TestEveryWordIsOnThePages(t *testing.T) {
	d := demo()
	file, warnings := mustRender(t, d, demoOptions)
	if len(warnings) > 0 {
		t.Errorf("warnings %q, want none: the demo is set in characters that the faces have", warnings)
	}
	r := open(t, file)
	want, cells := []string{d.Title, d.Subtitle, d.Notice}, []string(nil)
	for _, f := range d.Identity {
		want = append(want, f.Name, f.Value)
	}
	for _, v := range d.Verdicts {
		want = append(want, strings.ToUpper(v.Outcome.String()), v.Subject, v.Sentence)
	}
	for _, s := range d.Sections {
		out, c := printed(s.Blocks)
		want, cells = append(append(want, s.Title), out...), append(cells, c...)
	}
	all := allText(r)
	for _, s := range want {
		if !strings.Contains(all, squash(s)) {
			t.Errorf("the pages do not show %q", s)
		}
	}
	for _, s := range cells {
		for _, word := range strings.Fields(s) {
			if !strings.Contains(all, word) {
				t.Errorf("the pages do not show %q of the cell %q", word, s)
			}
		}
	}
	for n := 1; n <= r.NumPage(); n++ {
		page := pageText(r, n)
		foot := squash("page " + strconv.Itoa(n) + " of " + strconv.Itoa(r.NumPage()))
		if !strings.Contains(page, foot) || !strings.Contains(page, squash(d.Notice)) {
			t.Errorf("page %d lacks %q or the notice", n, foot)
		}
		if n > 1 && (!strings.Contains(page, squash(d.Title)) || !strings.Contains(page, "CR-2026-114,revisionB")) {
			t.Errorf("page %d lacks the running head", n)
		}
	}
	first := pageText(r, 1)
	for _, v := range d.Verdicts {
		if !strings.Contains(first, squash(v.Sentence)) || !strings.Contains(first,
			strings.ToUpper(v.Outcome.String())) {
			t.Errorf("the first page does not show the verdict on %s", v.Subject)
		}
	}
}

func TestHardDocument(t *testing.T) {
	d := hard()
	file, warnings := mustRender(t, d, Options{})
	r := open(t, file)
	all := allText(r)
	for _, s := range []string{"Изолятор", "U+4E2D", "U+6587", "U+1F600", "U+10FFFF", `\xE2(\xFF`, "U+0001", "λθΔ",
		"≤≥±×·√∞", "softhyphen"} {
		if !strings.Contains(all, s) {
			t.Errorf("the pages do not show %q", s)
		}
	}
	if got := strings.Count(all, "Thiscellislongerthanapage."); got != 400 {
		t.Errorf("the long cell is printed %d times in full, want 400", got)
	}
	if got := strings.Count(all, strings.Repeat("W", 40)); got < 20 {
		t.Errorf("the long word shows as %d stretches of 40, want at least 20 of 25", got)
	}
	want := []string{
		"characters without a glyph, printed as code points: 307 in all: U+0001 (1), U+4E2D (301), U+5B57 (1), " +
			"U+6587 (1), U+1F600 (2), U+10FFFF (1)",
		"bytes that are not UTF-8, printed by value: 3",
	}
	if !slices.Equal(warnings, want) {
		t.Errorf("warnings %q, want %q", warnings, want)
	}
	// The head of the long table comes again on every page that carries rows of it.
	for n := 1; n <= r.NumPage(); n++ {
		page := pageText(r, n)
		if strings.Contains(page, "Thiscellislonger") && !strings.Contains(page, "Wavelength/nm") {
			t.Errorf("page %d carries rows of the table without its head", n)
		}
	}
}

// wordBox is a word of the output of pdftotext -bbox.
var wordBox = regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="([0-9.]+)" xMax="([0-9.]+)" yMax="([0-9.]+)">(.*?)</word>`)

func TestNothingLeavesTheMargins(t *testing.T) {
	tool := require.Tool(t, "pdftotext")
	for name, d := range map[string]document.Document{"demo": demo(), "hard": hard()} {
		t.Run(name, func(t *testing.T) {
			file, _ := mustRender(t, d, Options{})
			path := write(t, file)
			out, err := exec.Command(tool, "-bbox", path, "-").CombinedOutput()
			if err != nil {
				t.Fatalf("pdftotext: %v\n%s", err, out)
			}
			words := wordBox.FindAllStringSubmatch(string(out), -1)
			if len(words) < 100 {
				t.Fatalf("found %d words, want hundreds", len(words))
			}
			const slack = 1 // points: boxes of the tool include side bearings
			for _, w := range words {
				x0, y1 := number(t, w[1]), number(t, w[4])
				if x1 := number(t, w[3]); x0 < a4.side-slack || x1 > a4.width-a4.side+slack ||
					y1 > a4.height-20 {
					t.Errorf("word %q lies at x %.1f to %.1f, down to %.1f", w[5], x0, x1, y1)
				}
			}
		})
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func write(t *testing.T, file []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "report.pdf")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestBookmarksLeadToTheirPages(t *testing.T) {
	d := demo()
	file, _ := mustRender(t, d, demoOptions)
	r := open(t, file)
	got := targets(t, r)
	want := []string{d.Title, "Verdicts"}
	for _, s := range d.Sections {
		want = append(want, s.Title)
		for _, b := range s.Blocks {
			if h, ok := b.(document.Heading); ok {
				want = append(want, h.Text)
			}
		}
	}
	if len(got) != len(want) {
		t.Fatalf("got %d bookmarks %v, want %d", len(got), got, len(want))
	}
	for i, b := range got {
		if b.title != want[i] {
			t.Errorf("bookmark %d is %q, want %q", i+1, b.title, want[i])
		}
		if b.page > 0 && !strings.Contains(pageText(r, b.page), squash(b.title)) {
			t.Errorf("bookmark %q opens page %d, which does not show it", b.title, b.page)
		}
	}
	if got[len(got)-1].page != r.NumPage() {
		t.Errorf("the signatures' bookmark opens page %d, want the last, %d", got[len(got)-1].page, r.NumPage())
	}
}

func TestLinks(t *testing.T) {
	file, _ := mustRender(t, document.Document{Sections: []document.Section{{Title: "S", Blocks: narrative(
		"[good](https://example.org/m) and [bad](javascript:alert(1)) and [inner](#s)")}}}, Options{})
	annots := open(t, file).Page(1).V.Key("Annots")
	if annots.Len() != 1 {
		t.Fatalf("the page has %d links, want the one that may be followed", annots.Len())
	}
	a := annots.Index(0)
	if uri, flags := a.Key("A").Key("URI").RawString(), a.Key("F").Int64(); uri != "https://example.org/m" ||
		flags != 4 {
		t.Errorf("the link leads to %q with flags %d, want the address and 4, to be printed", uri, flags)
	}
}

func TestAttachmentsComeBack(t *testing.T) {
	file, _ := mustRender(t, demo(), demoOptions)
	names, data, relations := attached(t, open(t, file))
	if len(names) != len(demoOptions.Attachments) {
		t.Fatalf("got %d attachments, want %d", len(names), len(demoOptions.Attachments))
	}
	for _, a := range demoOptions.Attachments {
		if !bytes.Equal(data[a.Name], a.Data) {
			t.Errorf("attachment %q came back as %d bytes that differ from the %d put in", a.Name, len(data[a.Name]),
				len(a.Data))
		}
		if relations[a.Name] != a.Relation {
			t.Errorf("attachment %q is related as %q, want %q", a.Name, relations[a.Name], a.Relation)
		}
	}
	if got := open(t, file).Trailer().Key("Root").Key("AF").Len(); got != len(names) {
		t.Errorf("the catalogue lists %d associated files, want %d", got, len(names))
	}
}

func TestSameBytes(t *testing.T) {
	first, _ := mustRender(t, demo(), demoOptions)
	t.Run("again", func(t *testing.T) {
		for range 3 {
			if again, _ := mustRender(t, demo(), demoOptions); !bytes.Equal(first, again) {
				t.Fatal("a second run gave other bytes")
			}
		}
	})
	t.Run("one processor", func(t *testing.T) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
		if again, _ := mustRender(t, demo(), demoOptions); !bytes.Equal(first, again) {
			t.Error("one processor gave other bytes")
		}
	})
	t.Run("side by side", func(t *testing.T) {
		var wg sync.WaitGroup
		out := make([][]byte, 4)
		errs := make([]error, len(out))
		for i := range out {
			wg.Add(1)
			go func() {
				defer wg.Done()
				out[i], _, errs[i] = Render(demo(), demoOptions)
			}()
		}
		wg.Wait()
		for i := range out {
			if errs[i] != nil || !bytes.Equal(first, out[i]) {
				t.Errorf("rendering %d side by side differs (error %v)", i+1, errs[i])
			}
		}
	})
	t.Run("attachments in another order", func(t *testing.T) {
		o := demoOptions
		o.Attachments = slices.Clone(o.Attachments)
		slices.Reverse(o.Attachments)
		if again, _ := mustRender(t, demo(), o); !bytes.Equal(first, again) {
			t.Error("the order of the attachments gave other bytes")
		}
	})
	t.Run("other content, other identifier", func(t *testing.T) {
		d := demo()
		d.Notice = "another notice"
		other, _ := mustRender(t, d, demoOptions)
		id := func(f []byte) string { return open(t, f).Trailer().Key("ID").Index(0).RawString() }
		if id(first) == id(other) || len(id(first)) != 16 {
			t.Errorf("identifiers %x and %x, want two of 16 bytes that differ", id(first), id(other))
		}
	})
	for _, word := range []string{"CreationDate", "ModDate", "D:20"} {
		if bytes.Contains(first, []byte(word)) {
			t.Errorf("the file holds %q, want no date", word)
		}
	}
}

func TestCheckedByQpdf(t *testing.T) {
	tool := require.Tool(t, "qpdf")
	for name, d := range map[string]document.Document{"demo": demo(), "hard": hard(), "empty": {}} {
		o := demoOptions
		if name != "demo" {
			o = Options{}
		}
		file, _ := mustRender(t, d, o)
		if out, err := exec.Command(tool, "--check", write(t, file)).CombinedOutput(); err != nil ||
			strings.Contains(string(out), "WARNING") {
			t.Errorf("qpdf --check of %s: %v\n%s", name, err, out)
		}
	}
}

func TestFontsAreEmbedded(t *testing.T) {
	tool := require.Tool(t, "pdffonts")
	file, _ := mustRender(t, demo(), demoOptions)
	out, err := exec.Command(tool, write(t, file)).Output()
	if err != nil {
		t.Fatal(err)
	}
	rows := strings.Split(strings.TrimSpace(string(out)), "\n")[2:]
	if len(rows) < 3 {
		t.Errorf("pdffonts lists %d faces, want at least regular, bold and mono", len(rows))
	}
	for _, row := range rows {
		f := strings.Fields(row)
		if !strings.HasPrefix(f[0], "WEDGEW+Liberation") || !strings.Contains(row, "yes yes yes") {
			t.Errorf("face %q, want a subset of a Liberation face, embedded and with Unicode", row)
		}
	}
}

// failing is a drawing that goes wrong in one way or another.
type failing struct{ how string }

func (f failing) Draw(c vg.CanvasSizer) error {
	switch f.how {
	case "error":
		return errors.New("the data are not numbers")
	case "panic":
		panic("index out of range")
	case "pop":
		c.Pop()
	}
	return nil
}

func TestErrorsNameTheBlock(t *testing.T) {
	in := func(b document.Block) document.Document {
		return document.Document{Title: "T", Sections: []document.Section{{Title: "S", Level: 1,
			Blocks: []document.Block{document.Plain("p"), b}}}}
	}
	good := Attachment{Name: "a.csv", MIME: "text/csv", Relation: "Data"}
	with := func(f func(*Attachment)) Options {
		a := good
		f(&a)
		return Options{Attachments: []Attachment{a}}
	}
	tests := []struct {
		name string
		doc  document.Document
		opts Options
		want string
	}{
		{"drawing fails", in(document.Figure{Caption: "Figure 7. X", Drawing: failing{"error"}}), Options{},
			`pdf: page 1: figure "Figure 7. X": the data are not numbers`},
		{"drawing panics", in(document.Figure{Caption: "Figure 7. X", Drawing: failing{"panic"}}), Options{},
			`pdf: page 1: figure "Figure 7. X": panic: index out of range`},
		{"drawing pops too often", in(document.Figure{Caption: "Figure 7. X", Drawing: failing{"pop"}}), Options{},
			`pdf: page 1: figure "Figure 7. X": panic: runtime error: slice bounds out of range [:-1]`},
		{"no drawing", in(document.Figure{Caption: "Figure 7. X"}), Options{},
			`pdf: figure "Figure 7. X": it has no drawing`},
		{"table without columns", in(document.Table{Caption: "Table 2"}), Options{},
			`pdf: table "Table 2": it has no columns`},
		{"ragged table", in(document.Table{Caption: "Table 2", Columns: make([]document.Column, 2),
			Rows: [][]string{{"a", "b"}, {"c"}}}), Options{}, `pdf: table "Table 2": row 2 has 1 cells, expected 2`},
		{"nil block", in(nil), Options{}, `pdf: <nil>: a block of type <nil> is not known here`},
		{"attachment without name", document.Document{}, with(func(a *Attachment) { a.Name = "" }),
			`pdf: attachment 1 is named "", expected a plain file name`},
		{"attachment with folder", document.Document{}, with(func(a *Attachment) { a.Name = "../a" }),
			`pdf: attachment 1 is named "../a", expected a plain file name`},
		{"attachment without type", document.Document{}, with(func(a *Attachment) { a.MIME = "" }),
			`pdf: attachment "a.csv" has no MIME type`},
		{"attachment with unknown relation", document.Document{}, with(func(a *Attachment) { a.Relation = "Friend" }),
			`pdf: attachment "a.csv" is related as "Friend", expected Source, Data, Alternative, Supplement or Unspecified`},
		{"attachments of one name", document.Document{}, Options{Attachments: []Attachment{good, good}},
			`pdf: two attachments are named "a.csv"`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, _, err := Render(tt.doc, tt.opts)
			if err == nil || err.Error() != tt.want {
				t.Errorf("got error %v, want %s", err, tt.want)
			}
		})
	}
}

// TestPaper: pages are as large as the paper asked for, 8.5 by 11 inches for letter, and all that they hold lies
// between its margins.
func TestPaper(t *testing.T) {
	tool := require.Tool(t, "pdftotext")
	for name, size := range map[string][2]float64{"": {595.28, 841.89}, "a4": {595.28, 841.89}, "letter": {612, 792}} {
		file, _, err := Render(demo(), Options{Program: "wedgework", Paper: name})
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "a.pdf")
		if err := os.WriteFile(path, file, 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(tool, "-bbox", path, "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		pages := regexp.MustCompile(`<page width="([0-9.]+)" height="([0-9.]+)">`).FindAllStringSubmatch(string(out), -1)
		if len(pages) < 2 {
			t.Fatalf("%q: %d pages", name, len(pages))
		}
		for _, p := range pages {
			if w, h := number(t, p[1]), number(t, p[2]); math.Abs(w-size[0]) > 0.01 || math.Abs(h-size[1]) > 0.01 {
				t.Errorf("%q: a page of %g by %g points, want %g by %g", name, w, h, size[0], size[1])
			}
		}
		left, right, low := size[0], 0.0, 0.0
		for _, w := range wordBox.FindAllStringSubmatch(string(out), -1) {
			left, right, low = min(left, number(t, w[1])), max(right, number(t, w[3])), max(low, number(t, w[4]))
		}
		const slack = 1 // points: boxes of the tool include side bearings
		if side := size[0] - right; math.Abs(left-side) > 2 || left < 56-slack || low > size[1]-20 {
			t.Errorf("%q: text from %.1f to %.1f of %g points, down to %.1f of %g", name, left, right, size[0], low, size[1])
		}
	}
	if _, _, err := Render(demo(), Options{Paper: "a5"}); err == nil || !strings.Contains(err.Error(), `"a5"`) {
		t.Errorf("paper a5: %v", err)
	}
}
