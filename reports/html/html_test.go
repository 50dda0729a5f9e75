package html

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"
	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/readout"
)

// sample is a report with each kind of block and of figure; every text goes through say.
func sample(t testing.TB, say func(string) string) document.Document {
	t.Helper()
	var dot bytes.Buffer
	if err := png.Encode(&dot, image.NewGray(image.Rect(0, 0, 30, 20))); err != nil {
		t.Fatal(err)
	}
	picture, err := document.ReadPicture(dot.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	p := document.Plain
	d := document.Document{
		Title: "Isolator core", Subtitle: "Design verification report", Notice: "Invented data.",
		Identity: []document.Field{{Name: "Part", Value: "HA-1550"}, {Name: "Report", Value: "WR-1"}},
		Verdicts: []document.Verdict{{Subject: "Model agreement", Outcome: document.Pass, Sentence: "All figures agree."},
			{Subject: "Limit conformity", Outcome: document.Fail, Sentence: "29.00 dB."},
			{Subject: "Data quality", Outcome: document.Undecided, Sentence: "No floor."}},
		Sections: []document.Section{
			{Title: "Result", Level: 1, Blocks: []document.Block{
				document.Table{Caption: "Table 1. Limits", Columns: []document.Column{{Head: "Quantity"},
					{Head: "Limit", Align: document.Right}, {Head: "c", Align: document.Centre}, {Head: "hash", Mono: true}},
					Rows: [][]string{{"isolation", "30.00", "x", "ab12"}}, Note: "k = 2"},
				panels().Figure("Figure 1. Isolation"), returns().Figure("Figure 2. Return loss")}},
			{Title: "Notebook", Level: 1, Blocks: []document.Block{
				document.Heading{Level: 4, Text: "Deep heading"}, document.Heading{Level: 1, Text: "High heading"},
				document.Paragraph{Spans: []document.Span{{Text: "code", Style: document.Mono},
					{Text: "link", Link: "https://example.org/?a=1&b=2"}, {Text: "no link", Link: "javascript:hacked=1"},
					{Text: "n", Style: document.Sub}}},
				document.Paragraph{Displayed: true, Spans: []document.Span{{Text: "a", Formula: "a to the 2"},
					{Text: "2", Style: document.Super, Formula: "a to the 2"}}},
				document.List{Ordered: true, Start: 3, Items: [][]document.Block{{p("one")},
					{p("two"), document.Heading{Level: 6, Text: "Inner"}}}},
				document.Quote{Blocks: []document.Block{p("quoted"), document.Heading{Level: 2, Text: "Quoted heading"}}},
				document.Code{Text: "if a < b:\n    pass"}, document.Rule{}, document.Caution{Text: "Invisible radiation."},
				document.Fields{Caption: "Fitted", Rows: []document.Field{{Name: "angle", Value: "45 deg"}}},
				picture.Figure("A picture"),
				document.Signatures{Rows: []document.Signature{{Role: "Prepared", Name: "A. N.", Date: "2026-11-25"}}}}},
			{Title: "Sub", Level: 3, Blocks: []document.Block{p("text")}},
		},
	}
	fill(reflect.ValueOf(&d).Elem(), say)
	return d
}

// panels are two panels of readings with uncertainties and source lines, a model with its band, a limit.
func panels() figure.Panels {
	p := figure.Panels{ShareX: true}
	for k, title := range []string{"23 °C", "70 °C"} {
		c := figure.Chart{Title: title, X: figure.Axis{Label: "wavelength", Unit: "nm"},
			Y:      figure.Axis{Label: "isolation", Unit: "dB", Min: 20, Max: 50},
			Limits: []figure.Limit{{Label: "limit 30 dB", At: 30, From: 1535, To: 1565, Forbid: figure.Below}}}
		read := figure.Series{Label: "measured", Color: figure.Black, Marker: figure.Plus, Line: figure.NoLine,
			File: "0417.csv"}
		model := figure.Series{Label: "specified model", Color: figure.Blue, Line: figure.Dashed}
		band := figure.Band{Label: "uncertainty of the model", Of: "specified model", Color: figure.SkyBlue}
		for i := range 41 {
			x := 1530 + float64(i)
			y := 42 - math.Abs(x-1550)*0.5 - float64(k)
			read.X, read.Y, read.U = append(read.X, x), append(read.Y, y), append(read.U, 0.13)
			read.Err, read.Lines = append(read.Err, 0.13), append(read.Lines, 5+i+41*k)
			model.X, model.Y = append(model.X, x), append(model.Y, y-1)
			band.X, band.Low, band.High = append(band.X, x), append(band.Low, y-2), append(band.High, y+1)
		}
		c.Series, c.Bands = []figure.Series{read, model}, []figure.Band{band}
		p.Charts = append(p.Charts, c)
	}
	return p
}

// returns is a chart with a logarithmic axis and a gap.
func returns() figure.Chart {
	return figure.Chart{X: figure.Axis{Label: "power", Unit: "mW", Log: true}, Y: figure.Axis{Label: "n"},
		Series: []figure.Series{{Label: "a", X: []float64{0.01, 0.1, 1, 10}, Y: []float64{1, math.NaN(), 3, 4},
			Marker: figure.Circle, Line: figure.Solid}}}
}

// fill passes every text through say, within drawings too. Addresses and the identifiers of formats are left.
func fill(v reflect.Value, say func(string) string) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(say(v.String()))
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() && f.Name != "Link" && f.Name != "Format" && f.Name != "Unit" &&
				f.Name != "Of" {
				fill(v.Field(i), say)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			fill(v.Index(i), say)
		}
	case reflect.Interface:
		if v.IsNil() || v.Elem().Kind() == reflect.Pointer {
			return // pixels
		}
		e := reflect.New(v.Elem().Type()).Elem()
		e.Set(v.Elem())
		fill(e, say)
		v.Set(e)
	}
}

var options = Options{Program: "wedgework 1.2.3", Number: "WR-1", Record: strings.Repeat("ab", 32),
	Files: []File{{"record.json", "the record", 120, strings.Repeat("cd", 32)},
		{"in.csv", "an input", 99, strings.Repeat("ef", 32)}}}

// sumOfNothing is the SHA-256 of nothing (FIPS 180-4): that of the PDF, to which these pages belong.
const sumOfNothing = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"

func render(t testing.TB, d document.Document, o Options) []byte {
	t.Helper()
	return renderFor(t, d, o, sumOfNothing)
}

func renderFor(t testing.TB, d document.Document, o Options, pdf string) []byte {
	t.Helper()
	page, err := Begin(d, o)(pdf)
	if err != nil {
		t.Fatal(err)
	}
	return page
}

func same(s string) string { return s }

func parse(t testing.TB, page []byte) *html.Node {
	t.Helper()
	n, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func elements(root *html.Node, name string) (all []*html.Node) {
	for n := range root.Descendants() {
		if n.Type == html.ElementNode && (name == "" || n.Data == name) {
			all = append(all, n)
		}
	}
	return all
}

func attribute(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func text(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return b.String()
}

// What people who do not see the page, or have no mouse, need of it: WCAG 2.2, 1.1.1, 1.3.1, 2.4.1, 2.4.2, 3.1.1,
// 4.1.2.
func TestStructure(t *testing.T) {
	root := parse(t, render(t, sample(t, same), options))
	for name, want := range map[string]int{"h1": 1, "header": 1, "main": 1, "nav": 1, "footer": 1, "title": 1, "figure": 3} {
		if got := len(elements(root, name)); got != want {
			t.Errorf("%d elements %s, want %d", got, name, want)
		}
	}
	if lang := attribute(elements(root, "html")[0], "lang"); lang != "en-GB" {
		t.Errorf("lang %q", lang)
	}
	last, ids := 0, map[string]bool{}
	for _, n := range elements(root, "") {
		if id := attribute(n, "id"); id != "" && n.Namespace == "" {
			if ids[id] {
				t.Errorf("the id %s stands twice", id)
			}
			ids[id] = true
		}
		if len(n.Data) == 2 && n.Data[0] == 'h' && n.Data[1] >= '1' && n.Data[1] <= '6' {
			level := int(n.Data[1] - '0')
			if level > last+1 {
				t.Errorf("heading %q of level %d follows one of level %d", text(n), level, last)
			}
			last = level
		}
	}
	first := elements(elements(root, "body")[0], "")[0]
	if first.Data != "a" || attribute(first, "href") != "#report" || !ids["report"] {
		t.Errorf("the page begins with <%s href=%q>, want a link to the report", first.Data, attribute(first, "href"))
	}
	for _, a := range elements(root, "a") {
		href := attribute(a, "href")
		if to, inside := strings.CutPrefix(href, "#"); inside && !ids[to] || !inside && !document.SafeLink(href) {
			t.Errorf("link to %q", href)
		}
	}
	for _, th := range elements(root, "th") {
		if s := attribute(th, "scope"); s != "col" && s != "row" {
			t.Errorf("head %q has the scope %q", text(th), s)
		}
	}
	for _, n := range slices.Concat(elements(root, "svg"), elements(root, "img")) {
		label := attribute(n, "aria-label") + attribute(n, "alt")
		mark := n.Data == "img" && strings.Contains(attribute(n, "class"), "sign") // the word stands beside it
		if label == "" && !mark || n.Data == "svg" && attribute(n, "role") != "img" {
			t.Errorf("<%s> says %q to whoever does not see it", n.Data, label)
		}
	}
	for _, want := range []string{"WR-1", options.Record, sumOfNothing, options.Files[1].SHA256} {
		if !strings.Contains(text(root), want) {
			t.Errorf("the page does not show %s", want)
		}
	}
}

// Verdicts come before the contents, and nothing of the page is styled or scripted beside what the policy knows.
func TestPolicy(t *testing.T) {
	page := render(t, sample(t, same), options)
	root := parse(t, page)
	body := string(page)
	if v, c := strings.Index(body, "id=\"verdicts\""), strings.Index(body, "<nav"); v < 0 || v > c {
		t.Error("the contents stand before the verdicts")
	}
	for _, n := range elements(root, "") {
		for _, a := range n.Attr {
			if a.Key == "style" || strings.HasPrefix(a.Key, "on") {
				t.Errorf("<%s %s=%q>", n.Data, a.Key, a.Val)
			}
			if (a.Key == "src" || a.Key == "href" && n.Data != "a") && !strings.HasPrefix(a.Val, "data:") {
				t.Errorf("<%s> asks for %q", n.Data, a.Val)
			}
		}
	}
	for _, s := range []string{readout.Script, style} {
		if regexp.MustCompile(`(?i)</s|<!--|url\([^#]|@import|https?:`).MatchString(
			strings.ReplaceAll(s, "http://www.w3.org/2000/svg", "")) {
			t.Error("script or style ends early, or fetches something")
		}
	}
	if len(elements(root, "script")) != 3 || len(elements(root, "style")) != 1 {
		t.Errorf("%d scripts, want the data of two figures and the program", len(elements(root, "script")))
	}
}

// Every text of a document is text, whatever it holds: the page has the same elements and attributes as the page of a
// harmless document, and the text arrives to the letter.
func TestNoInjection(t *testing.T) {
	skeleton := func(root *html.Node) string {
		var b strings.Builder
		for _, n := range elements(root, "") {
			var keys []string
			for _, a := range n.Attr {
				if !slices.Contains([]string{"aria-label", "alt"}, a.Key) {
					keys = append(keys, a.Key)
				}
			}
			fmt.Fprintln(&b, n.Data, keys)
		}
		// How a drawing sets its labels depends on how long they are.
		return regexp.MustCompile(`(?m)(^(path|text|g|image) .*\n)+`).ReplaceAllString(b.String(), "drawing\n")
	}
	harmless := parse(t, render(t, sample(t, func(s string) string { return "x" }), Options{Number: "x", Program: "x"}))
	for _, payload := range []string{`"><script>hacked=1</script>`, `</script></style></title><img src=x onerror=hacked=1>`,
		`' onmouseover='hacked=1`, `-->`, `<!--`, `]]>`, `<svg/onload=hacked=1>`, `&lt;img src=x&gt;`, "\x00\xff\u202e<b>",
		"</textarea><iframe srcdoc=x>", "{{x}}<% %>", "\u2028</SCRIPT >"} {
		d := sample(t, func(string) string { return payload })
		page := renderFor(t, d, Options{Number: payload, Program: payload, Record: payload,
			Files: []File{{Name: payload, Description: payload}}}, payload)
		root := parse(t, page)
		for _, n := range elements(root, "section") { // the table of files, which the harmless page does not have
			if attribute(n, "aria-labelledby") == "files" {
				n.Parent.RemoveChild(n)
			}
		}
		var keep []*html.Node
		for _, n := range elements(root, "li") {
			if strings.Contains(text(n), filesTitle) {
				keep = append(keep, n)
			}
		}
		for _, n := range keep {
			n.Parent.RemoveChild(n)
		}
		want := skeleton(harmless)
		if got := withoutRows(skeleton(root)); got != withoutRows(want) {
			t.Errorf("%q changes the elements of the page:\n%s", payload, firstDifference(got, withoutRows(want)))
		}
		clean := strings.NewReplacer("\x00", "U+0000", "\u202e", "U+202E", "\xff", "\uFFFD").Replace(payload)
		if h := text(elements(root, "h1")[0]); h != clean {
			t.Errorf("the title reads %q, want %q", h, clean)
		}
	}
}

// withoutRows leaves out the footer's table, whose rows depend on the options.
func withoutRows(s string) string {
	before, _, _ := strings.Cut(s, "footer []")
	return before
}

func firstDifference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return fmt.Sprintf("element %d is %q, want %q", i, x[i], y[i])
		}
	}
	return fmt.Sprintf("%d elements, want %d", len(x), len(y))
}

// The same document gives the same bytes, and a page that was changed or is another report's does not pass for intact.
func TestIntact(t *testing.T) {
	page := render(t, sample(t, same), options)
	if again := render(t, sample(t, same), options); !bytes.Equal(page, again) {
		t.Error("the second page differs from the first")
	}
	if !Intact(page, nil) {
		t.Error("the page is not intact as it was written")
	}
	if Intact(page, []byte("another PDF")) {
		t.Error("the page passes for that of another PDF")
	}
	other := bytes.Replace(page, []byte("29.00\u00a0dB"), []byte("39.00\u00a0dB"), 1)
	for i, changed := range [][]byte{other, page[:len(page)-1],
		append(bytes.Clone(page), ' '), append(bytes.Clone(page), page...), nil} {
		if Intact(changed, nil) {
			t.Errorf("change %d is not seen", i)
		}
	}
}

// A figure that cannot be drawn fails the page, as it fails the PDF.
func TestFigureFails(t *testing.T) {
	for _, drawing := range []document.Drawing{nil, figure.Chart{}, broken{}} {
		d := document.Document{Sections: []document.Section{{Title: "A", Level: 1, Blocks: []document.Block{
			document.Figure{Caption: "Figure 9", Drawing: drawing}}}}}
		if _, err := Begin(d, Options{})(""); err == nil || !strings.Contains(err.Error(), "Figure 9") {
			t.Errorf("got %v, want an error that names Figure 9", err)
		}
	}
}

type broken struct{}

func (broken) Draw(vg.CanvasSizer) error { panic("out of ink") }

// Text stands out from its ground as WCAG 2.2, 1.4.3 asks: by its formula of relative luminance, at least 4.5 to 1.
func TestContrast(t *testing.T) {
	light, rest, _ := strings.Cut(style, "@media (prefers-color-scheme: dark)")
	dark, _, _ := strings.Cut(rest, "* {")
	for name, block := range map[string]string{"light": light, "dark": dark} {
		colors := map[string]string{}
		for _, m := range regexp.MustCompile(`--(\w+): (#[0-9a-f]{3,6})`).FindAllStringSubmatch(block, -1) {
			colors[m[1]] = m[2]
		}
		for _, on := range []string{"page", "shade"} {
			for _, ink := range []string{"ink", "quiet", "link", "accent"} {
				if c := contrast(t, colors[ink], colors[on]); c < 4.5 {
					t.Errorf("%s: %s on %s has a contrast of %.2f", name, ink, on, c)
				}
			}
		}
	}
	// white on black has 21 by that formula
	if c := contrast(t, "#fff", "#000000"); math.Abs(c-21) > 1e-9 {
		t.Errorf("white on black: %g", c)
	}
}

func contrast(t *testing.T, a, b string) float64 {
	luminance := func(hex string) float64 {
		if len(hex) == 4 {
			hex = "#" + strings.Repeat(hex[1:2], 2) + strings.Repeat(hex[2:3], 2) + strings.Repeat(hex[3:4], 2)
		}
		var v [3]int
		if _, err := fmt.Sscanf(hex, "#%02x%02x%02x", &v[0], &v[1], &v[2]); err != nil {
			t.Fatalf("%q: %v", hex, err)
		}
		sum := 0.0
		for i, share := range []float64{0.2126, 0.7152, 0.0722} {
			c := float64(v[i]) / 255
			if c <= 0.04045 {
				c /= 12.92
			} else {
				c = math.Pow((c+0.055)/1.055, 2.4)
			}
			sum += share * c
		}
		return sum
	}
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}
