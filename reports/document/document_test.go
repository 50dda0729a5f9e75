package document

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/plot/vg"

	"wedgework/reports/golden"
)

// square draws a filled square; with an error it draws nothing, with a panic it does that.
type square struct {
	err   error
	panic any
}

func (s square) Draw(c vg.CanvasSizer) error {
	if s.panic != nil {
		panic(s.panic)
	}
	w, h := c.Size()
	c.Fill(vg.Rectangle{Max: vg.Point{X: w, Y: h}}.Path())
	return s.err
}

// everything is a document with each kind of block.
func everything() Document {
	return Document{
		Title: "Isolator <0417> & lot", Subtitle: "measured against the model", Number: "CR-1", Revision: "B",
		Identity: []Field{{"Part", "WI-1550"}, {"Change record", "CR-1"}},
		Verdicts: []Verdict{
			{"Model agreement", Pass, "E_n is 0.4."}, {"Limit conformity", Fail, "26.1 dB < 30 dB."},
			{"Data quality", Undecided, "No floor was measured."}, {"Return loss", 0, "Not measured."}},
		Sections: []Section{{Title: "Results", Level: 1, Blocks: []Block{
			Heading{Level: 2, Text: "Set-up"},
			Paragraph{Spans: []Span{{Text: "plain "}, {Text: "bold", Style: Bold}, {Text: " & "},
				{Text: "x<y", Style: Mono | Italic}, {Text: " "},
				{Text: "good", Link: "https://example.org/?a=1&b=\"2\""}, {Text: "bad", Link: "javascript:alert(1)"},
				{Text: "\nnext line"}}},
			Plain(strings.Repeat("words that fill more than one line of text ", 4)),
			List{Ordered: true, Items: [][]Block{{Plain("one")},
				{Plain("two"), List{Items: [][]Block{{Plain("inner")}, {}}}}}},
			Code{Text: "if a < b:\n    pass\n"},
			Table{Caption: "Table 1. Limits", Columns: []Column{{Head: "Quantity"}, {Head: "Value / dB", Align: Right},
				{Head: "c", Align: Centre}, {Head: "hash", Mono: true}},
				Rows: [][]string{{"isolation <worst>", "26.1", "x", "ab12"}, {"loss", "0.45", "", "two\nlines"}},
				Note: "k = 2"},
			Table{Columns: []Column{{Head: "a"}, {Head: "b"}}, Rows: [][]string{{strings.Repeat("a long cell ", 8),
				strings.Repeat("another cell ", 9)}}},
			Figure{Caption: "Figure 1. A square", Text: "black", Width: 40, Height: 30, Drawing: square{}},
			Fields{Caption: "Fitted", Rows: []Field{{"d + e", "-0.58 deg"}, {"a longer name", "1"}}},
			Verdict{"Inner", Pass, "Good."},
			Caution{Text: "Invisible laser radiation."},
			Rule{},
			Signatures{Rows: []Signature{{"Prepared", "A. Example", "2026-11-25"}, {Role: "Approved"}}},
		}}},
		Notice: "Invented data.",
	}
}

func TestText(t *testing.T) { golden.Compare(t, "everything.txt", everything().Text()) }

func TestHTML(t *testing.T) { golden.Compare(t, "everything.html", everything().HTML()) }

// TestHTMLIsWellFormed parses the fragment as XML, whose rules are stricter: an element left open or text
// not escaped shows.
func TestHTMLIsWellFormed(t *testing.T) {
	s := strings.NewReplacer("<br>", "<br/>", "<hr>", "<hr/>").Replace(everything().HTML())
	dec := xml.NewDecoder(strings.NewReader("<div>" + s + "</div>"))
	for {
		if _, err := dec.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	for _, bad := range []string{"javascript:", "<0417>", "x<y", "color:#000", "background:#fff"} {
		if strings.Contains(s, bad) {
			t.Errorf("the HTML holds %q", bad)
		}
	}
	seen := map[string]bool{}
	for _, word := range []string{"PASS", "FAIL", "UNDECIDED", "NOT EXAMINED"} {
		before, _, found := strings.Cut(s, "<strong>"+word+"</strong>")
		_, picture, _ := strings.Cut(before[strings.LastIndex(before, "<img"):], "base64,")
		picture, _, _ = strings.Cut(picture, "\"")
		drawn, err := base64.StdEncoding.DecodeString(picture)
		if err != nil {
			t.Fatal(err)
		}
		mark := string(drawn)
		shape := regexp.MustCompile(`#[0-9A-F]{6}`).ReplaceAllString(mark, "")
		if !found || seen[shape] {
			t.Errorf("%s, beside %q: an outcome is a word and a mark of its own shape", word, mark)
		}
		seen[shape] = true
	}
}

func TestTextOfOneLine(t *testing.T) {
	if got := Text([]Block{Plain("1550 nm")}); got != "1550 nm" {
		t.Errorf("Text = %q, want no line feed after a single line", got)
	}
	if got := Text(nil); got != "" {
		t.Errorf("Text of nothing = %q", got)
	}
}

func TestWrapKeepsTheWidth(t *testing.T) {
	d := Document{Sections: []Section{{Title: "S", Blocks: []Block{
		List{Items: [][]Block{{Plain(strings.Repeat("word ", 80))}}},
		Table{Columns: make([]Column, 5), Rows: [][]string{strings.Split(strings.Repeat(strings.Repeat("cell ", 20)+",",
			4)+"x", ",")}},
		Fields{Rows: []Field{{"name", strings.Repeat("value ", 40)}}},
		Caution{Text: strings.Repeat("Beware. ", 40)},
	}}}}
	for i, l := range strings.Split(d.Text(), "\n") {
		if n := len([]rune(l)); n > textWidth {
			t.Errorf("line %d has %d characters, want at most %d: %q", i+1, n, textWidth, l)
		}
	}
}

func TestBundle(t *testing.T) {
	fig := Figure{Caption: "c", Width: 40, Height: 30, Drawing: square{}}
	broken := Figure{Caption: "c", Drawing: square{err: errors.New("no data")}}
	panics := Figure{Caption: "c", Drawing: square{panic: "boom"}}
	tests := []struct {
		name   string
		blocks []Block
		types  []string
		html   string // must stand in the HTML
	}{
		{"text", []Block{Plain("a")}, []string{"text/html", "text/plain"}, "<p>a</p>"},
		{"a lone figure", []Block{fig}, []string{"image/png", "image/svg+xml", "text/html", "text/plain"},
			"<img src=\"data:image/svg+xml;base64,"},
		{"a figure with text", []Block{fig, Plain("a")}, []string{"text/html", "text/plain"},
			"<img src=\"data:image/svg+xml;base64,"},
		{"a figure that fails", []Block{broken}, []string{"text/html", "text/plain"},
			"this figure could not be drawn: no data"},
		{"a figure that panics", []Block{panics}, []string{"text/html", "text/plain"},
			"this figure could not be drawn: drawing panicked: boom"},
		{"a figure without a drawing", []Block{Figure{}}, []string{"text/html", "text/plain"},
			"the figure has no drawing"},
		{"bytes that are not UTF-8", []Block{Plain("a\xff")}, []string{"text/html", "text/plain"}, "a\uFFFD"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := Bundle(tt.blocks)
			var types []string
			for _, k := range []string{"image/png", "image/svg+xml", "text/html", "text/plain"} {
				if _, ok := m[k]; ok {
					types = append(types, k)
				}
			}
			if diff := cmp.Diff(types, tt.types); diff != "" || len(m) != len(tt.types) {
				t.Errorf("types (-got +want):\n%s", diff)
			}
			if s, _ := m["text/html"].(string); !strings.Contains(s, tt.html) {
				t.Errorf("HTML %q lacks %q", s, tt.html)
			}
		})
	}
}

func TestSVG(t *testing.T) {
	svg, err := SVG(Figure{Width: 40, Height: 30, Drawing: square{}})
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		XMLName xml.Name
		Width   string `xml:"width,attr"`
	}
	if err := xml.NewDecoder(bytes.NewReader([]byte(svg))).Decode(&doc); err != nil || doc.XMLName.Local != "svg" ||
		doc.Width != "40pt" {
		t.Errorf("got element %q of width %q (error %v), want svg of 40pt", doc.XMLName.Local, doc.Width, err)
	}
}

func TestXMLText(t *testing.T) {
	if got := xmlText("a\x01b\xffc\nd\tλ"); got != "ab\uFFFDc\nd\tλ" {
		t.Errorf("xmlText = %q", got)
	}
}

func TestSafeLink(t *testing.T) {
	tests := []struct {
		link string
		want bool
	}{
		{"https://example.org", true}, {"http://example.org/a?b#c", true}, {"HTTPS://example.org", true},
		{"mailto:a@example.org", true}, {"#results", true},
		{"", false}, {"javascript:alert(1)", false}, {"JavaScript:alert(1)", false}, {"data:text/html,x", false},
		{"file:///etc/passwd", false},
		{"https:", false}, {"other.html", false}, {"https://exa mple.org/%zz", false}, {"\tjavascript:alert(1)", false},
	}
	for _, tt := range tests {
		if got := SafeLink(tt.link); got != tt.want {
			t.Errorf("SafeLink(%q) = %t, want %t", tt.link, got, tt.want)
		}
	}
}

func TestOutcomes(t *testing.T) {
	seen := map[string]bool{}
	for o := Outcome(0); o <= Undecided; o++ {
		s := fmt.Sprintf("%s %s", o.Mark(), o)
		if seen[o.Mark()] || seen[o.String()] {
			t.Errorf("outcome %d reads %q, like another", o, s)
		}
		seen[o.Mark()], seen[o.String()] = true, true
	}
}

// TestBundlePixels: a figure comes as a picture too, at the size of the figure, on its own light ground.
func TestBundlePixels(t *testing.T) {
	m := Bundle([]Block{Figure{Caption: "c", Width: 4 * vg.Inch, Height: 2 * vg.Inch, Drawing: square{}}})
	data, err := base64.StdEncoding.DecodeString(m["image/png"].(string))
	if err != nil {
		t.Fatal(err)
	}
	picture, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if s := picture.Bounds().Size(); s.X != 4*dotsPerInch || s.Y != 2*dotsPerInch {
		t.Errorf("the picture is %v", s)
	}
	if _, ok := m["image/svg+xml"]; !ok {
		t.Error("the drawing is gone")
	}
	if again := Bundle([]Block{Figure{Caption: "c", Width: 4 * vg.Inch, Height: 2 * vg.Inch,
		Drawing: square{}}}); again["image/png"] != m["image/png"] {
		t.Error("the same figure gives other bytes")
	}
	for _, blocks := range [][]Block{{Plain("a")}, {Figure{Drawing: square{panic: "boom"}}}, nil} {
		if _, ok := Bundle(blocks)["image/png"]; ok {
			t.Errorf("%v is a picture", blocks)
		}
	}
}

// TestPaletted: the commonest colours stay as they are, among them a few pixels of a hue of their own; beyond 256, each
// pixel takes one that is near.
func TestPaletted(t *testing.T) {
	m := image.NewRGBA(image.Rect(0, 0, 64, 64))
	c := newRasterCanvas(Figure{Width: 64 * vg.Inch / dotsPerInch, Height: 64 * vg.Inch / dotsPerInch})
	for y := range 64 {
		for x := range 64 {
			m.SetRGBA(x, y, color.RGBA{uint8(4 * x), uint8(4 * y), uint8(2 * (x + y)), 0xff})
		}
	}
	for x := range 64 {
		m.SetRGBA(x, 0, color.RGBA{0xff, 0xff, 0xff, 0xff})
	}
	red := color.RGBA{0xff, 0, 0, 0xff}
	m.SetRGBA(5, 5, red)
	for i := range c.pixels {
		c.pixels[i] = c.seen.number(m.RGBAAt(i%64, i/64))
	}
	got := c.paletted()
	if got.At(5, 5) != red {
		t.Errorf("red became %v", got.At(5, 5))
	}
	if n := len(got.Palette); n > 256 {
		t.Fatalf("%d colours", n)
	}
	if c := got.At(10, 0); c != (color.RGBA{0xff, 0xff, 0xff, 0xff}) {
		t.Errorf("white became %v", c)
	}
	for y := range 64 {
		for x := range 64 {
			a, b := m.RGBAAt(x, y), got.At(x, y).(color.RGBA)
			for _, d := range []int{int(a.R) - int(b.R), int(a.G) - int(b.G), int(a.B) - int(b.B)} {
				if d < -64 || d > 64 { // a quarter of the scale: two groups on
					t.Fatalf("%d, %d: %v became %v", x, y, a, b)
				}
			}
		}
	}
}
