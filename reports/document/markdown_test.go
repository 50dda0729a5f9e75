package document

import (
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
			Span{Text: "a "}, Span{Text: "b", Style: Italic}, Span{Text: " "}, Span{Text: "c", Style: Bold}, Span{Text: " "},
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
		{"image kept as written", "![rig](rig.png)", para(Span{Text: "![rig](rig.png)", Style: Mono})},
		{"inline html kept as written", "a <b>c</b>", para(
			Span{Text: "a "}, Span{Text: "<b>", Style: Mono}, Span{Text: "c"}, Span{Text: "</b>", Style: Mono})},
		{"html block kept as written", "<div>\nx\n</div>\n", []Block{Code{Text: "<div>\nx\n</div>"}}},
		{"quotation kept as written", "> one\n> two\n\nafter", []Block{Code{Text: "> one\n> two"}, Plain("after")}},
		{"bytes that are not UTF-8", "a\xe2b", para(Span{Text: "a\uFFFDb"})},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(Markdown(tt.src), tt.want); diff != "" {
				t.Errorf("Markdown(%q) (-got +want):\n%s", tt.src, diff)
			}
		})
	}
}

// FuzzMarkdown looks for sources that panic; notebooks come from outside.
func FuzzMarkdown(f *testing.F) {
	f.Add("# a\n\n| a |\n|---|\n> q\n\n- [x](y)\n")
	f.Add("![](")
	f.Fuzz(func(t *testing.T, src string) {
		blocks := Markdown(src)
		Text(blocks)
		HTML(blocks)
	})
}
