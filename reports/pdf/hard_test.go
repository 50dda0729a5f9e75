package pdf

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
)

// hard is a document of everything that is hard to set.
func hard() document.Document {
	long := document.Table{Caption: "Table 9. A table over many pages", Note: "End of the table.",
		Columns: []document.Column{{Head: "No.", Align: document.Right}, {Head: "Wavelength / nm",
			Align: document.Right}, {Head: "Remark"}}}
	for i := range 150 {
		remark := ""
		if i%40 == 7 {
			remark = "a remark that goes on for some lines: " +
				strings.Repeat("reading repeated after the chamber door was opened; ", 6)
		}
		if i == 60 {
			remark = strings.Repeat("This cell is longer than a page. ", 400)
		}
		long.Rows = append(long.Rows, []string{fmt.Sprint(i + 1), fmt.Sprintf("%.1f", 1500+0.5*float64(i)), remark})
	}
	wide := document.Table{Caption: "Table 10. Many columns"}
	row := []string{}
	for i := range 16 {
		wide.Columns = append(wide.Columns, document.Column{Head: fmt.Sprintf("quantity %d / dB", i+1),
			Align: document.Right})
		row = append(row, fmt.Sprintf("%.3f", 12.345*float64(i)))
	}
	wide.Rows = [][]string{row, row}
	nested := document.List{Items: [][]document.Block{{document.Plain("innermost")}}}
	for i := range 12 {
		nested = document.List{Ordered: i%2 == 0,
			Items: [][]document.Block{{document.Plain(fmt.Sprintf("level %d", 12-i)), nested}, {}}}
	}
	return document.Document{
		Title:  strings.Repeat("A title that is far too long for one line and goes on ", 4),
		Number: strings.Repeat("CR-2026-", 20),
		Identity: []document.Field{{Name: "a name that is longer than its column", Value: strings.Repeat("long value ",
			40)}, {Name: "empty"}, {Name: "lines", Value: "one\ntwo"}},
		Verdicts: []document.Verdict{{Subject: strings.Repeat("subject ", 30), Outcome: document.Fail,
			Sentence: strings.Repeat("because ", 120)}, {}},
		Sections: []document.Section{
			{Title: "Characters", Blocks: []document.Block{
				document.Plain("Cyrillic Изолятор, Greek λ θ Δ, Chinese 中文字, emoji \U0001F600, noncharacter " +
					"\U0010FFFF, invalid \xe2\x28\xff, control \x01, tab\tend, narrow space 30\u202FdB, " +
					"soft\u00ADhyphen, arrows →, ≤ ≥ ± × · √ ∞."),
				document.Plain(strings.Repeat("W", 1000)),
				document.Plain("before " + strings.Repeat("path/to/some_file-name.", 30) + " after"),
				document.Plain(strings.Repeat("中", 300)),
				document.Plain(""), document.Paragraph{},
				document.Code{}, document.Code{Text: "\ta\n\n\n  b\r\n" + strings.Repeat("x", 500) +
					"\n\xff\U0001F600"},
				document.Heading{Level: 9, Text: strings.Repeat("a heading of many words ", 12)},
				document.List{}, nested,
				document.Caution{Text: strings.Repeat("Beware. ", 150)},
				document.Fields{}, document.Fields{Caption: "only a caption"},
				document.Signatures{}, document.Rule{},
			}},
			{Title: "Tables", Level: 3, Blocks: []document.Block{long, wide,
				document.Table{Columns: []document.Column{{Head: ""}}, Rows: [][]string{{""}, {""}}},
				document.Table{Caption: "Table 11. Without rows", Columns: []document.Column{{Head: "a"}, {Head: "b"}}},
				document.Table{Columns: []document.Column{{Head: strings.Repeat("head", 60)}, {Head: "b"}},
					Rows: [][]string{{strings.Repeat("y", 300), "z"}}},
			}},
			{Title: "Figures", Level: 1, Blocks: []document.Block{
				document.Figure{Caption: "Figure 1. Larger than the page", Width: 3000, Height: 5000,
					Drawing: shapes{}},
				document.Figure{Caption: "Figure 2. Small", Width: 120, Height: 90, Drawing: shapes{}},
				document.Figure{Drawing: shapes{}, Width: 60, Height: 40},
			}},
			{Level: 2}, {Title: "A section without blocks", Level: 1}, {Title: "And another at the very end", Level: 1},
		},
		Notice: strings.Repeat("A notice that is much longer than one line at the foot of a page. ", 5),
	}
}

// shapes draws all that a canvas can.
type shapes struct{}

func (shapes) Draw(c vg.CanvasSizer) error {
	w, h := c.Size()
	r := vg.Rectangle{Max: vg.Point{X: w, Y: h}}
	c.SetColor(color.NRGBA{200, 220, 255, 128})
	c.Fill(r.Path())
	c.SetColor(nil)
	c.SetLineWidth(w / 60)
	c.Push()
	c.Translate(vg.Point{X: w / 2, Y: h / 2})
	for i := range 4 {
		c.Rotate(math.Pi / 8)
		c.SetLineDash([]vg.Length{w / 20, w / 40}, vg.Length(i))
		c.Stroke(vg.Rectangle{Min: vg.Point{X: -w / 4, Y: -w / 4}, Max: vg.Point{X: w / 4, Y: w / 4}}.Path())
	}
	c.Pop()
	c.SetLineDash(nil, 0)
	var p vg.Path
	p.Move(vg.Point{X: w / 10, Y: h / 10})
	p.QuadTo(vg.Point{X: w / 2, Y: h}, vg.Point{X: 0.9 * w, Y: h / 10})
	p.CubeTo(vg.Point{X: w, Y: h}, vg.Point{X: 0, Y: h}, vg.Point{X: w / 2, Y: h / 2})
	p.Close()
	p.Arc(vg.Point{X: w / 2, Y: h / 2}, w/8, 0.3, -4)
	c.SetColor(color.NRGBA{0, 114, 178, 255})
	c.Stroke(p)
	c.Scale(0.5, 0.5)
	img := image.NewNRGBA(image.Rect(0, 0, 2, 2))
	img.Set(0, 0, color.NRGBA{255, 0, 0, 255})
	img.Set(1, 1, color.NRGBA{0, 0, 255, 128})
	c.DrawImage(vg.Rectangle{Min: vg.Point{X: w, Y: h}, Max: vg.Point{X: 1.3 * w, Y: 1.4 * h}}, img)
	c.Stroke(nil)
	c.Fill(nil)
	c.SetLineWidth(0)
	c.Stroke(r.Path())
	return nil
}
