package document_test

import (
	"fmt"
	"strings"

	"wedgework/reports/document"
)

// A document is plain data; it writes itself as text, as one HTML page, and reports/pdf as pages.
func ExampleDocument_Text() {
	d := document.Document{
		Title: "Isolator 0417", Revision: "A",
		Verdicts: []document.Verdict{{Subject: "limits", Outcome: document.Pass, Sentence: "every limit is met"}},
		Sections: []document.Section{{Title: "Figures", Level: 1, Blocks: []document.Block{
			document.Table{
				Caption: "Invented values", Columns: []document.Column{{Head: "figure"},
					{Head: "dB", Align: document.Right}},
				Rows: [][]string{{"isolation", "43.25"}, {"insertion loss", "0.31"}},
			},
		}}},
	}
	fmt.Println(d.Text())
	// Output:
	// Isolator 0417
	// =============
	//
	// [✓ pass] limits: every limit is met
	//
	// Figures
	// -------
	//
	// Invented values
	// figure             dB
	// --------------  -----
	// isolation       43.25
	// insertion loss   0.31
}

// Blocks become the text that a notebook shows where it cannot show HTML.
func ExampleText() {
	fmt.Print(document.Text([]document.Block{
		document.Heading{Level: 2, Text: "Film"},
		document.Plain("The film rotates by 45 deg."),
		document.Fields{Rows: []document.Field{{Name: "thickness", Value: "391 um"}, {Name: "index", Value: "2.33"}}},
		document.Caution{Text: "invented data"},
	}))
	// Output:
	// Film
	// ....
	//
	// The film rotates by 45 deg.
	//
	// thickness  391 um
	// index      2.33
	//
	// Caution: invented data
}

// The Markdown of a notebook's text cells becomes the same blocks; what is not understood is said.
func ExampleMarkdown() {
	blocks, warnings := document.Markdown("# Aim\n\nIsolation of *at least* 30 dB:\n\n- cold\n- hot\n", nil)
	for _, b := range blocks {
		fmt.Printf("%T\n", b)
	}
	fmt.Println(len(warnings))
	// Output:
	// document.Heading
	// document.Paragraph
	// document.List
	// 0
}

// A verdict is told by word and sign, never by colour alone.
func ExampleOutcome() {
	for _, o := range []document.Outcome{document.Pass, document.Fail, document.Undecided} {
		fmt.Println(o.Mark(), o)
	}
	// Output:
	// ✓ pass
	// ✗ fail
	// ? undecided
}

// HTML escapes what it is given.
func ExampleHTML() {
	html := document.HTML([]document.Block{document.Plain("1 < 2 & 3")})
	fmt.Println(strings.Contains(html, "1 &lt; 2 &amp; 3"))
	// Output: true
}
