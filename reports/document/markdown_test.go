package document

import (
	"bytes"
	"encoding/base64"
	"errors"
	"image"
	"image/png"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestMarkdown(t *testing.T) {
	para := func(s ...Span) []Block { return []Block{Paragraph{Spans: s}} }
	tests := []struct {
		name, src string
		want      []Block
	}{
		{"empty", "", nil},
		{"heading", "## Set-up *and* fixture", []Block{Heading{Level: 2, Text: "Set-up and fixture"}}},
		{"setext heading", "Title\n===\n", []Block{Heading{Level: 1, Text: "Title"}}},
		{"paragraph over two lines", "one\ntwo", para(Span{Text: "one two"})},
		{"hard break", "one  \ntwo", para(Span{Text: "one\ntwo"})},
		{"emphasis", "a *b* **c** ***d*** `e f`", para(
			Span{Text: "a "}, Span{Text: "b", Style: Italic}, Span{Text: " "}, Span{Text: "c", Style: Bold},
			Span{Text: " "},
			Span{Text: "d", Style: Bold | Italic}, Span{Text: " "}, Span{Text: "e f", Style: Mono})},
		{"link", "see [the *method*](https://example.org/m) now", para(
			Span{Text: "see "}, Span{Text: "the ", Link: "https://example.org/m"},
			Span{Text: "method", Style: Italic, Link: "https://example.org/m"}, Span{Text: " now"})},
		{"reference link", "see [m][1]\n\n[1]: https://example.org/m", para(
			Span{Text: "see "}, Span{Text: "m", Link: "https://example.org/m"})},
		{"autolink", "<https://example.org>", para(Span{Text: "https://example.org", Link: "https://example.org"})},
		{"escapes and entities", `\*not\* &lambda; &#176;C 5 < 6`, para(Span{Text: "*not* λ °C 5 < 6"})},
		{"code keeps entities", "`&lt; \\*`", para(Span{Text: `&lt; \*`, Style: Mono})},
		{"fenced code", "```python\nx = 1\n  y\n```", []Block{Code{Text: "x = 1\n  y\n"}}},
		{"indented code", "    x = 1\n", []Block{Code{Text: "x = 1\n"}}},
		{"rule", "a\n\n---\n", []Block{Plain("a"), Rule{}}},
		{"list", "- a\n- b\n  1. c\n  2. d\n", []Block{List{Items: [][]Block{
			{Plain("a")},
			{Plain("b"), List{Ordered: true, Items: [][]Block{{Plain("c")}, {Plain("d")}}}},
		}}}},
		{"table", "| q | value |\n|:-:|--:|\n| a | 1 |\n| *b* |\n", []Block{Table{
			Columns: []Column{{Head: "q", Align: Centre}, {Head: "value", Align: Right}},
			Rows:    [][]string{{"a", "1"}, {"b", ""}},
		}}},
		{"list that does not begin at 1", "3. a\n4. b\n",
			[]Block{List{Ordered: true, Start: 3, Items: [][]Block{{Plain("a")}, {Plain("b")}}}}},
		{"subscript of HTML", "T<sub>max</sub>, 10<SUP>-3</SUP>", para(Span{Text: "T"}, Span{Text: "max", Style: Sub},
			Span{Text: ", 10"}, Span{Text: "-3", Style: Super})},
		{"line break of HTML", "a<br>b", para(Span{Text: "a\nb"})},
		{"amounts of money", "from $5 to $6, or $ 7", para(Span{Text: "from $5 to $6, or $ 7"})},
		{"escaped dollar", `\$x$ and a\_b`, para(Span{Text: "$x$ and a_b"})},
		{"formula", "at $T_0$:", para(Span{Text: "at "}, Span{Text: "T", Style: Italic, Formula: "T_0"},
			Span{Text: "0", Style: Sub, Formula: "T_0"}, Span{Text: ":"})},
		{"formula keeps stars and strokes", "$a*b*c$ `$x$`", para(Span{Text: "a", Style: Italic, Formula: "a·b·c"},
			Span{Text: "·", Formula: "a·b·c"}, Span{Text: "b", Style: Italic, Formula: "a·b·c"},
			Span{Text: "·", Formula: "a·b·c"}, Span{Text: "c", Style: Italic, Formula: "a·b·c"}, Span{Text: " "},
			Span{Text: "$x$", Style: Mono})},
		{"displayed formula", "thus\n$$\nx = 1\n$$\nagain", []Block{Plain("thus"),
			Paragraph{Displayed: true, Spans: []Span{{Text: "x", Style: Italic, Formula: "x = 1"},
				{Text: " = 1", Formula: "x = 1"}}}, Plain("again")}},
		{"equation", "\\begin{equation}\nx\n\\end{equation}",
			[]Block{Paragraph{Displayed: true, Spans: []Span{{Text: "x", Style: Italic, Formula: "x"}}}}},
		{"inline html kept as written", "a <b>c</b>", para(
			Span{Text: "a "}, Span{Text: "<b>", Style: Mono}, Span{Text: "c"}, Span{Text: "</b>", Style: Mono})},
		{"html block kept as written", "<div>\nx\n</div>\n", []Block{Code{Text: "<div>\nx\n</div>"}}},
		{"quotation", "> one\n> two\n>\n> - a\n\nafter",
			[]Block{Quote{Blocks: []Block{Plain("one two"), List{Items: [][]Block{{Plain("a")}}}}}, Plain("after")}},
		{"bytes that are not UTF-8", "a\xe2b", para(Span{Text: "a\uFFFDb"})},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, warnings := Markdown(tt.src, nil)
			if diff := cmp.Diff(got, tt.want); diff != "" {
				t.Errorf("Markdown(%q) (-got +want):\n%s", tt.src, diff)
			}
			if len(warnings) > 0 {
				t.Errorf("warnings %q, want none", warnings)
			}
		})
	}
}

// dot is a PNG file of w by h pixels.
func dot(t testing.TB, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, w, h))); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestMarkdownPictures(t *testing.T) {
	files := map[string][]byte{"rig.png": dot(t, 8, 4), "huge.png": dot(t, 4000, 40), "half.png": dot(t, 8, 4)[:40],
		"notes.txt": []byte("text"), "a.svg": []byte("<svg/>")}
	read := func(address string) ([]byte, error) {
		if b, ok := files[address]; ok {
			return b, nil
		}
		return nil, errors.New("there is no such file")
	}
	inline := "data:image/png;base64," + base64.StdEncoding.EncodeToString(files["rig.png"])
	tests := []struct{ name, src, text, warning string }{
		{"file", "![the *rig*](rig.png)", "[figure] the rig\n    A picture of 8 by 4 pixels.", ""},
		{"without words", "![](rig.png)", "[figure]\n    A picture of 8 by 4 pixels.", ""},
		{"in the text", "before ![rig](rig.png) after",
			"before\n\n[figure] rig\n    A picture of 8 by 4 pixels.\n\nafter", ""},
		{"in a list", "- a\n\n  ![rig](rig.png)\n", "- a\n\n  [figure] rig\n      A picture of 8 by 4 pixels.", ""},
		{"in a link", "[![rig](rig.png)](https://example.org)", "[figure] rig\n    A picture of 8 by 4 pixels.", ""},
		{"inside its address", "![rig](" + inline + ")", "[figure] rig\n    A picture of 8 by 4 pixels.", ""},
		{"missing", "![rig](none.png)", "![rig](none.png) (picture not shown)",
			"picture none.png is not shown: there is no such file"},
		{"damaged", "![rig](half.png)", "![rig](half.png) (picture not shown)",
			"picture half.png is not shown: the PNG file is damaged: unexpected EOF"},
		{"another kind", "![rig](notes.txt)", "![rig](notes.txt) (picture not shown)",
			"picture notes.txt is not shown: found 4 bytes of another kind, expected a PNG, JPEG or GIF picture"},
		{"a drawing", "![rig](a.svg)", "![rig](a.svg) (picture not shown)",
			"picture a.svg is not shown: found an SVG drawing, expected a PNG, JPEG or GIF picture"},
		{"no comma", "![rig](data:image/png)", "![rig](data:image/png) (picture not shown)",
			"picture data:image/png is not shown: found no comma in the data: address"},
		{"not in base64", "![rig](data:;base64,!)", "![rig](data:;base64,!) (picture not shown)",
			"picture data:;base64,! is not shown: data: address: illegal base64 data at input byte 0"},
		{"in a heading", "# ![rig](rig.png)", "![rig](rig.png)\n---------------",
			"picture rig.png is not shown: it is in a heading or a table"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			blocks, warnings := Markdown(tt.src, read)
			if got := Text(blocks); got != tt.text {
				t.Errorf("text %q, want %q", got, tt.text)
			}
			if got := strings.Join(warnings, "\n"); got != tt.warning {
				t.Errorf("warnings %q, want %q", got, tt.warning)
			}
		})
	}
	blocks, _ := Markdown("![](huge.png)", read)
	if f := blocks[0].(Figure); f.Width != DefaultWidth || math.Abs(float64(f.Height-f.Width/100)) > 1e-9 {
		t.Errorf("a picture of 4000 by 40 pixels stands %g by %g points on the page, want the text's width and a "+
			"100th of it", f.Width, f.Height)
	}
	if got := PictureAddresses("![a](b.png) text `![no](c.png)` [![d](e.png)](f) \n\n| ![g](h.png) |\n|---|\n"); !slices.Equal(got, []string{"b.png", "e.png", "h.png"}) {
		t.Errorf("addresses %q", got)
	}
}

func TestFormula(t *testing.T) {
	tests := []struct{ tex, want string }{ // want in the plain form, scripts marked
		{`x`, "x"},
		{`E_n`, "E_n"},
		{`E_{n} = \frac{x - X}{\sqrt{U_x^2 + U_X^2}}`, "E_n = (x − X)/(√(U_x^2 + U_X^2))"},
		{`\lambda_0 = 1550\,\mathrm{nm}`, "λ_0 = 1550 nm"},
		{`10^{-A/20}`, "10^(−A/20)"},
		{`\theta_F = V B L`, "θ_F = VBL"},
		{`\Delta n \approx 0.2`, "Δn ≈ 0.2"},
		{`\pm 0.3^\circ`, "±0.3^°"},
		{`-5 \le T \le 70`, "−5 ≤ T ≤ 70"},
		{`\frac12`, "1/2"},
		{`\frac{\pi}{2\lambda}`, "π/(2λ)"},
		{`\frac{a}{(b+c)}`, "a/(b + c)"},
		{`-10 \log_{10} t_1`, "−10 log_10 t_1"},
		{`\sin\theta + \cos(2x)`, "sin θ + cos(2x)"},
		{`\left( a \cdot b \right)`, "(a · b)"},
		{`x'`, "x′"},
		{`f(x, y)`, "f(x, y)"},
		{`R_\text{max}`, "R_max"},
		{`\sqrt2`, "√2"},
	}
	for _, tt := range tests {
		spans, ok := Formula(tt.tex)
		if got := PlainText(spans); !ok || got != tt.want {
			t.Errorf("Formula(%q) = %q, %t, want %q", tt.tex, got, ok, tt.want)
		}
	}
	for _, tex := range []string{"", "{", "}", "a}", `\frac{a}`, `\frac{\frac{a}{b}}{c}`, `\hat x`,
		`\begin{matrix}a&b\end{matrix}`, `x_`, `x_{a_b}`, "_", `\sqrt[3]{x}`,
		`\unknown`, `a & b`, `\text{a`, `\text{$x$}`, `\left`, `a \\ b`, strings.Repeat("{", 100) + "x" +
			strings.Repeat("}", 100)} {
		if spans, ok := Formula(tex); ok {
			t.Errorf("Formula(%q) = %q, want it left as written", tex, PlainText(spans))
		}
	}
	got, _ := Markdown(`see $\hat x$`, nil)
	_, warnings := Markdown(`see $\hat x$`, nil)
	if Text(got) != `see $\hat x$` || !slices.Equal(warnings, []string{`formula $\hat x$ is printed as written`}) {
		t.Errorf("an unknown formula gave %q with warnings %q", Text(got), warnings)
	}
}

// FuzzMarkdown looks for sources that panic; notebooks come from outside.
func FuzzMarkdown(f *testing.F) {
	f.Add("# a\n\n| a |\n|---|\n> q\n\n- [x](y)\n")
	f.Add("![](")
	f.Add("$a$ $$b$$ \\begin{x}\\end{x} $x_{y}^2$ <sub>")
	f.Fuzz(func(t *testing.T, src string) {
		blocks, _ := Markdown(src, nil)
		Text(blocks)
		HTML(blocks)
		PictureAddresses(src)
	})
}
