package notebooks

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"wedgework/kernel/session"
	"wedgework/kernel/vocab"
	"wedgework/reports/document"
	"wedgework/reports/job"
	"wedgework/reports/measured"
	"wedgework/reports/publish"
	"wedgework/reports/record"
	"wedgework/reports/require"
	"wedgework/reports/rerun"
)

// notebookOf makes a notebook of cells; one that begins with "%md " is Markdown, any other code.
func notebookOf(t testing.TB, attachments map[string]any, sources ...string) []byte {
	t.Helper()
	var list []map[string]any
	for i, s := range sources {
		c := map[string]any{"id": fmt.Sprintf("c%d", i), "metadata": map[string]any{}, "source": s}
		if text, ok := strings.CutPrefix(s, "%md "); ok {
			c["cell_type"], c["source"] = "markdown", text
			if strings.Contains(text, "attachment:") {
				c["attachments"] = attachments
			}
		} else {
			c["cell_type"], c["outputs"], c["execution_count"] = "code", []any{}, nil
		}
		list = append(list, c)
	}
	data, err := json.Marshal(map[string]any{"nbformat": 4, "nbformat_minor": 5, "metadata": map[string]any{},
		"cells": list})
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// makeReport reruns a notebook in this process and returns its report.
func makeReport(t testing.TB, nb []byte, files map[string][]byte, fonts ...measured.File) *publish.Report {
	t.Helper()
	j := &job.Job{Notebook: job.Content("pages.ipynb", nb)}
	for _, f := range fonts {
		j.Fonts = append(j.Fonts, job.Content(f.Name, f.Data))
	}
	r, err := publish.Make(context.Background(), j, publish.Tools{
		Program: record.Program{Name: "wedgework", Version: "test"},
		ReadFile: func(_ context.Context, path string) (measured.File, error) {
			if data, ok := files[path]; ok {
				return measured.NewFile(filepath.Base(path), data), nil
			}
			return measured.File{}, errors.New("there is no such file")
		},
		Open: func(d *rerun.Desk) (rerun.Session, error) {
			s, err := session.New(session.Config{
				Words: vocab.Words(), Local: map[string]any{vocab.HostKey: vocab.Host(d)}, Show: vocab.Show,
				Bundle: document.Bundle,
			})
			return cells{s}, err
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// pageTexts returns what pdftotext finds on each page, and the path of the file. With
// WEDGEWORK_KEEP_PAGES=FOLDER it is kept there, to be looked at.
func pageTexts(t testing.TB, name string, pdf []byte) (texts []string, path string) {
	t.Helper()
	tool := require.Tool(t, "pdftotext")
	path = filepath.Join(t.TempDir(), name+".pdf")
	if keep := os.Getenv("WEDGEWORK_KEEP_PAGES"); keep != "" {
		path = filepath.Join(keep, name+".pdf")
	}
	if err := os.WriteFile(path, pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-enc", "UTF-8", path, "-").CombinedOutput()
	if err != nil {
		t.Fatalf("pdftotext: %v\n%s", err, out)
	}
	texts = strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	return texts, path
}

// pageWord is a word of pdftotext -bbox.
var pageWord = regexp.MustCompile(`<word xMin="([0-9.-]+)" yMin="([0-9.-]+)" xMax="([0-9.-]+)" yMax="([0-9.-]+)">(.*?)</word>`)

// cleanPages asks what every page must keep: nothing outside the margins, page N of M, and a file that qpdf passes.
func cleanPages(t *testing.T, texts []string, path string) {
	t.Helper()
	for i, text := range texts {
		if foot := fmt.Sprintf("page %d of %d", i+1, len(texts)); !strings.Contains(text, foot) {
			t.Errorf("page %d lacks %q", i+1, foot)
		}
	}
	out, err := exec.Command(require.Tool(t, "pdftotext"), "-bbox", path, "-").CombinedOutput()
	if err != nil {
		t.Fatalf("pdftotext: %v\n%s", err, out)
	}
	const left, right, foot = 56.69 - 1, 595.28 - 56.69 + 1, 841.89 - 20 // the margins, and a point of side bearings
	bad := 0
	for _, w := range pageWord.FindAllStringSubmatch(string(out), -1) {
		var v [4]float64
		for k := range v {
			v[k], _ = strconv.ParseFloat(w[k+1], 64)
		}
		if v[0] < left || v[2] > right || v[3] > foot {
			if bad++; bad <= 5 {
				t.Errorf("word %q lies at x %.1f to %.1f, down to %.1f", w[5], v[0], v[2], v[3])
			}
		}
	}
	if out, err := exec.Command(require.Tool(t, "qpdf"), "--check", path).CombinedOutput(); err != nil ||
		strings.Contains(string(out), "WARNING") {
		t.Errorf("qpdf --check: %v\n%s", err, out)
	}
}

func TestShortNotebook(t *testing.T) {
	r := makeReport(t, notebookOf(t, nil, `report(title="Short", part="P-1", revision="A")`,
		"%md One line with $\\lambda_0 = 1550\\,\\mathrm{nm}$.", "1 + 1"), nil)
	texts, path := pageTexts(t, "short", r.PDF)
	if len(texts) > 2 {
		t.Errorf("it has %d pages, want at most 2", len(texts))
	}
	if !strings.Contains(texts[0], "P-1, revision A") || strings.Contains(strings.Join(texts, ""), "Contents") {
		t.Errorf("the first page lacks number and revision, or two pages have contents:\n%s", texts[0])
	}
	cleanPages(t, texts, path)
	cleanScreen(t, r.HTML)
	require.Pages(t, path, "testdata/pages/short", *update, 1)
}

// longNotebook has 40 tables.
func longNotebook(t testing.TB) []byte {
	sources := []string{`report(title="Long", part="P-2", revision="C")`}
	for i := range 40 {
		sources = append(sources,
			fmt.Sprintf("%%md # Part %d\n\nSome words before the table, which say what it holds.\n\n## Details of "+
				"part %d\n\nMore words.", i+1, i+1),
			fmt.Sprintf(`table([["number", "square", "remark"]] + [[k, k * k, "row %%d of part %d" %% k] for k in range(%d)], title="Squares of part %d")`, i+1, 20+i%17, i+1))
	}
	return notebookOf(t, nil, sources...)
}

// A long report: 40 tables, more than 30 pages, each heading with what follows it, contents that name the pages.
func TestLongNotebook(t *testing.T) {
	r := makeReport(t, longNotebook(t), nil)
	texts, path := pageTexts(t, "long", r.PDF)
	if len(texts) < 30 {
		t.Errorf("it has %d pages, want 30 at least", len(texts))
	}
	all := strings.Join(texts, "\n")
	for i := range 40 {
		if s := fmt.Sprintf("Table %d. Squares of part %d", i+1, i+1); !strings.Contains(all, s) {
			t.Errorf("no page shows the caption %q", s)
		}
	}
	if !strings.Contains(texts[0], "Contents\n") || !strings.Contains(texts[0]+texts[1], "Part 40") {
		t.Errorf("the contents are not in front of all, or lack the last part:\n%s\n%s", texts[0], texts[1])
	}
	for n, text := range texts[2:] {
		n += 2
		lines := strings.Split(strings.TrimSpace(text), "\n")
		for k, l := range lines { // the last line of the flow is no heading
			if strings.HasPrefix(l, "Part ") || strings.HasPrefix(l, "Details of part") {
				if k+3 >= len(lines) {
					t.Errorf("page %d ends with the heading %q", n+1, l)
				}
			}
		}
	}
	cleanPages(t, texts, path)
	cleanScreen(t, r.HTML)
	require.Pages(t, path, "testdata/pages/long", *update, 1, 2, 20, len(texts))
}

// tallTable is the count of rows of a table that goes over many pages.
const tallTable = 1500

// adversarialNotebook holds everything that is hard on a page; one of its pictures is damaged.
func adversarialNotebook(t testing.TB) (nb []byte, files map[string][]byte) {
	rig, err := os.ReadFile("../testdata/readme/report-0418.png")
	if err != nil {
		t.Fatal(err)
	}
	attached := map[string]any{"rig.png": map[string]any{"image/png": base64.StdEncoding.EncodeToString(rig)}}
	var deep strings.Builder
	for i := range 30 {
		deep.WriteString(strings.Repeat("  ", i) + "- level " + strconv.Itoa(i+1) + "\n")
	}
	var rows strings.Builder
	for i := range tallTable {
		fmt.Fprintf(&rows, "| %d | %.3f | | r%d |\n", i, float64(i)/7, i)
	}
	nb = notebookOf(t, attached,
		`report(title="`+strings.Repeat("A title that goes on and on ", 30)+`", part="`+strings.Repeat("P-",
			60)+`", revision="Ж", customer="`+strings.Repeat("long ", 400)+`")`,
		"%md # Scripts\n\nКириллица, 中文字符，测试。 emoji \U0001F600\U0001F468\u200D\U0001F469\u200D\U0001F467, Hebrew "+
			"בדיקה 12 (אב), Arabic اختبار, turned \u202Egnp.exe\u202C, controls \u0007\u001b[31m, replacement \uFFFD.",
		"%md "+strings.Repeat("W", 1000)+"\n\n"+strings.Repeat("word-", 200)+"\n\n"+strings.Repeat("中", 200),
		"%md "+deep.String(),
		"%md > quoted\n>\n> > twice, with $\\hat{x}$ and $E_n = \\frac{x - X}{\\sqrt{U_x^2 + "+
			"U_X^2}}$\n\n$$\n10^{-A/20}\n$$\n\nfrom $5 to $6",
		"%md ![the *rig*](attachment:rig.png)\n\n![gone](missing.png) ![damaged](bad.png) "+
			"![outside](https://example.org/a.png)",
		"%md | a | b |\n|---|--:|\n| | |\n| x | |\n\n<div>html</div>",
		"%md | n | value | empty | text |\n|--:|--:|---|---|\n"+rows.String(),
		`table([["column %d" % k for k in range(40)], ["value%d" % k for k in range(40)]], title="Forty columns")`,
		`table([["`+strings.Repeat("H", 1000)+`", "b"], ["`+strings.Repeat("x",
			1000)+`", ""]], title="`+strings.Repeat("caption ", 300)+`")`,
		`print("`+strings.Repeat("p", 3000)+`")`,
		`plot(crystal("YVO4").no(sweep(1530*nm, 1565*nm, 1*nm)), title="`+strings.Repeat("a plot with a long caption ",
			40)+`")`,
	)
	return nb, map[string][]byte{"bad.png": rig[:200]}
}

// A notebook of everything that is hard on a page.
func TestAdversarialNotebook(t *testing.T) {
	nb, files := adversarialNotebook(t)
	r := makeReport(t, nb, files)
	texts, path := pageTexts(t, "adversarial", r.PDF)
	all := strings.Join(texts, "\n")
	for _, s := range []string{"Кириллица", "U+4E2D", "U+1F600", "U+202E", "U+0007", "U+001B", "(picture not shown)",
		strconv.Itoa(tallTable - 1), "Forty columns (columns 1 to", "level 30", "from $5 to $6", "page 1 of"} {
		if !strings.Contains(all, s) {
			t.Errorf("no page shows %q", s)
		}
	}
	if got := strings.Count(strings.ReplaceAll(all, "\n", ""), "caption caption"); got < 100 {
		t.Errorf("the long caption is not printed whole: %d pairs of its words", got)
	}
	warned := strings.Join(r.Warnings, "\n")
	for _, s := range []string{"picture missing.png is not shown",
		"picture bad.png is not shown: the PNG file is damaged", "and a report fetches nothing",
		`formula $\hat{x}$ is printed as written`, "characters without a glyph",
		"heads of columns cut after 8 lines: 1"} {
		if !strings.Contains(warned, s) {
			t.Errorf("no warning says %q:\n%s", s, warned)
		}
	}
	for n, text := range texts { // the head comes again on every page that carries rows
		if strings.Contains(text, "\nr50") && !strings.Contains(text, "Value") {
			t.Errorf("page %d carries rows without their head", n+1)
		}
	}
	cleanPages(t, texts, path)
	cleanScreen(t, r.HTML)
	require.Pages(t, path, "testdata/pages/adversarial", *update, 1, 2, 3, 4, 5, len(texts)-5, len(texts)-4,
		len(texts)-3)
}

// fontNotebook needs a font that the program does not have; added is one.
func fontNotebook(t testing.TB) (nb []byte, added measured.File) {
	const path = "/usr/share/fonts/truetype/droid/DroidSansFallbackFull.ttf" // Debian: fonts-droid-fallback
	data, err := os.ReadFile(path)
	if err != nil {
		require.Missing(t, "the font fonts-droid-fallback of Debian is not installed")
	}
	nb = notebookOf(t, nil, `report(title="隔离器 report", part="P")`, "%md 中文测试, then λ and **粗体**.",
		`plot(crystal("YVO4").no(sweep(1530*nm, 1565*nm, 1*nm)), title="图 1")`)
	return nb, measured.NewFile("DroidSansFallbackFull.ttf", data)
}

// A font of the user's stands in for what ours lacks, as a subset, and its text is found.
func TestFontAdded(t *testing.T) {
	nb, added := fontNotebook(t)
	r := makeReport(t, nb, nil, added)
	texts, file := pageTexts(t, "font", r.PDF)
	all := strings.Join(texts, "\n")
	for _, s := range []string{"隔离器 report", "中文测试, then λ and 粗体.", "Fonts added", "DroidSansFallbackFull.ttf"} {
		if !strings.Contains(all, s) {
			t.Errorf("no page shows %q", s)
		}
	}
	for _, w := range r.Warnings {
		if strings.Contains(w, "glyph") {
			t.Errorf("warning %q, want none", w)
		}
	}
	out, err := exec.Command(require.Tool(t, "pdffonts"), file).Output()
	if err != nil || !strings.Contains(string(out), "WEDGEW+DroidSansFallback") || strings.Contains(string(out),
		" no ") {
		t.Errorf("pdffonts: %v\n%s\nwant the font embedded", err, out)
	}
	cleanPages(t, texts, file)
}
