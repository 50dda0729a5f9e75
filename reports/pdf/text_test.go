package pdf

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/document"
)

// a4 is the paper of most tests, by its size in ISO 216: 210 mm by 297 mm, between margins of 20 mm.
var a4 = paper{"A4", 595.28, 841.89, 56.69}

func testWriter() *writer { return newWriter(document.Document{}, nil, a4) }

func lineTexts(ls []line) []string {
	var out []string
	for _, l := range ls {
		s := ""
		for _, r := range l.runs {
			s += r.text
		}
		out = append(out, s)
	}
	return out
}

// A line broken at a space keeps it: who copies or hears the text must not find its words joined.
func TestBreakLines(t *testing.T) {
	w := testWriter()
	mono := func(n int) float64 { return float64(n) * 6 } // ten points of the fixed-pitch face
	tests := []struct {
		name  string
		text  string
		width float64
		want  []string
	}{
		{"empty", "", mono(10), []string{""}},
		{"one line", "one two", mono(10), []string{"one two"}},
		{"exact", "four five6", mono(10), []string{"four five6"}},
		{"breaks at a space", "four five67", mono(10), []string{"four ", "five67"}},
		{"line feed", "a\nb\n\nc", mono(10), []string{"a ", "b ", "", "c"}},
		{"spaces fold", "  a   b  ", mono(10), []string{"a b"}},
		{"long word in equal pieces", "abcdefghijklmnopqrst", mono(16), []string{"abcdefghij", "klmnopqrst"}},
		{"long word at its joints", "path/to/some/file", mono(10), []string{"path/to/", "some/file"}},
		{"number keeps its unit", "loss of 34.1 dB", mono(13), []string{"loss of ", "34.1 dB"}},
		{"tolerance keeps together", "gives 34.8 ± 2.1", mono(13), []string{"gives ", "34.8 ± 2.1"}},
		{"a word is no unit", "the 3 samples", mono(8), []string{"the 3 ", "samples"}},
		{"narrower than a letter", "ab", 1, []string{"a", "b"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := lineTexts(w.plainLines(tt.text, document.Mono, 10, tt.width, ink))
			if diff := cmp.Diff(got, tt.want); diff != "" {
				t.Errorf("lines (-got +want):\n%s", diff)
			}
		})
	}
}

func TestBreakLinesKeepsStylesInsideWords(t *testing.T) {
	w := testWriter()
	ls := w.breakLines([]document.Span{{Text: "see "}, {Text: "bo", Style: document.Bold}, {Text: "ld, a "},
		{Text: "link", Link: "https://example.org"}, {Text: " and a "}, {Text: "script", Link: "javascript:alert(1)"}},
		10, 400, ink)
	if len(ls) != 1 {
		t.Fatalf("got %d lines, want 1", len(ls))
	}
	var got []string
	for _, r := range ls[0].runs {
		s := r.text
		if r.face.key.bold {
			s = "*" + s + "*"
		}
		if r.link != "" {
			s = "[" + s + "](" + r.link + ")"
		}
		got = append(got, s)
	}
	want := []string{"see ", "*bo*", "ld, a ", "[link](https://example.org)", " and a ", "script"}
	if diff := cmp.Diff(got, want); diff != "" {
		t.Errorf("runs (-got +want):\n%s", diff)
	}
}

func TestClean(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"plain", "abc 123\n", "abc 123\n"},
		{"faces have it", "λ ± °C", "λ ± °C"},
		{"no glyph", "中", "U+4E2D"},
		{"above two bytes", "\U0001F600", "U+1F600"},
		{"not UTF-8", "a\xe2", `a\xE2`},
		{"the replacement character itself", "\uFFFD", "U+FFFD"},
		{"control", "\x07", "U+0007"},
		{"tab", "a\tb", "a    b"},
		{"carriage return", "a\r\nb", "a\nb"},
		{"hyphen that does not break", "a\u2011b", "a-b"},
		{"no look at all", "a\u200Bb\u00ADc", "abc"},
	}
	w := testWriter()
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := w.fonts.clean(w.fonts.get(faceKey{}), tt.in); got != tt.want {
				t.Errorf("clean(%q) = %q, want %q", tt.in, got, tt.want)
			}
		})
	}
}

// TestWidthsAgree compares our widths with those that fpdf writes into the file: a difference would put
// right-aligned numbers beside their column.
func TestWidthsAgree(t *testing.T) {
	w := testWriter()
	w.pdf.AddPage()
	for _, k := range []faceKey{{}, {bold: true}, {italic: true}, {mono: true}} {
		f := w.fonts.get(k)
		w.pdf.AddUTF8FontFromBytes(f.name, "", f.ttf)
		w.pdf.SetFont(f.name, "", 10)
		for _, s := range []string{"Isolation", "−12.345", "λ θ ± °C", "Wavelength / nm"} {
			const tolerance = 1e-9 // both sum whole thousandths
			if got, want := f.width(s, 10), w.pdf.GetStringWidth(s); got-want > tolerance || want-got > tolerance {
				t.Errorf("width of %q in %s is %g, want %g", s, f.name, got, want)
			}
		}
	}
}

func TestFit(t *testing.T) {
	w := testWriter()
	if got := w.fit("short", 0, 10, 100); got != "short" {
		t.Errorf("fit = %q, want it whole", got)
	}
	got := w.fit(strings.Repeat("long ", 50), 0, 10, 100)
	if !strings.HasSuffix(got, "\u2026") || w.fonts.get(faceKey{}).width(got, 10) > 100 {
		t.Errorf("fit = %q, want an ellipsis within 100 points", got)
	}
	if got := w.fit("anything", 0, 10, 1); got != "" {
		t.Errorf("fit into nothing = %q, want nothing", got)
	}
}

func TestWrapCode(t *testing.T) {
	tests := []struct {
		name, in string
		want     []codeRow
	}{
		{"short", "a = 1", []codeRow{{"a = 1", false}}},
		{"empty", "", []codeRow{{"", false}}},
		{"after a comma", "f(alpha, beta)", []codeRow{{"f(alpha, ", false}, {"beta)", true}}},
		{"no place to break", "abcdefghijklmnopqrstuv", []codeRow{{"abcdefghij", false}, {"klmnopqr", true},
			{"stuv", true}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(wrapCode(tt.in, 10, 8), tt.want, cmp.AllowUnexported(codeRow{})); diff != "" {
				t.Errorf("rows (-got +want):\n%s", diff)
			}
		})
	}
}
