package document

import (
	"fmt"
	"strings"
)

// Verdicts that follow each other stand in one panel, as on the first page of a report: bar, mark, outcome as a word,
// then subject and sentence.

var (
	lookPanel = look{"verdicts", "margin:.8em 0;color:inherit;background:rgba(128,128,128,.12);border-top:1px " +
		"solid;border-bottom:1px solid"}
	lookLine = look{"line", "margin-left:4px;border-top:1px solid rgba(128,128,128,.6)"}
	lookMark = look{"mark", "flex:none;width:2em"}
	lookSign = look{"sign", "width:1.5em;height:1.5em;vertical-align:middle"}
	lookWord = look{"word", "flex:none;width:8em;padding-right:.5em;font-size:110%"}
)

// seat is the row of a verdict, with a bar in the colour of its outcome.
func seat(o Outcome, color string) look {
	return look{"verdict " + strings.ReplaceAll(o.String(), " ", "-"),
		"display:flex;padding:.6em .7em;border-left:4px solid " + color}
}

// leadingVerdicts are the verdicts that blocks begin with.
func leadingVerdicts(blocks []Block) []Verdict {
	var all []Verdict
	for _, b := range blocks {
		v, ok := b.(Verdict)
		if !ok {
			break
		}
		all = append(all, v)
	}
	return all
}

func (h Hypertext) verdicts(b *strings.Builder, all []Verdict) {
	if len(all) == 0 {
		return
	}
	fmt.Fprintf(b, "<div%s>\n", h.as(lookPanel))
	for i, v := range all {
		if i > 0 {
			fmt.Fprintf(b, "<div%s></div>\n", h.as(lookLine))
		}
		color, mark := outcomeMark(v.Outcome)
		text := "<div>"
		if h.Classes {
			text = "<div class=\"reason\">"
		}
		fmt.Fprintf(b,
			"<div%s><div%s>%s</div><div%s><strong>%s</strong></div>%s<strong>%s</strong><br>%s</div></div>\n",
			h.as(seat(v.Outcome, color)), h.as(lookMark), pictureHTML(mark, "", h.as(lookSign)), h.as(lookWord),
			strings.ToUpper(v.Outcome.String()), text, esc(v.Subject), h.cell(Column{}, v.Sentence))
	}
	b.WriteString("</div>\n")
}

// outcomeMark returns the colour of an outcome, from the palette of Okabe and Ito (2008): bluish green, vermillion,
// orange. With it comes the outcome's sign: each has its own outline, so that whoever sees no colours tells them apart.
// Where pictures are not shown, the word beside it says the same.
func outcomeMark(o Outcome) (color, picture string) {
	const white = " fill=\"none\" stroke=\"#fff\" stroke-width=\"1.9\"/>"
	var inside string
	switch o {
	case Pass:
		color = "#009E73"
		inside = "<circle r=\"7.5\" fill=\"" + color + "\"/><path d=\"M-3.7 .3L-1.1 3.1L3.9 -3\"" + white
	case Fail:
		color = "#D55E00"
		inside = "<path d=\"M-7 -7H7V7H-7Z\" fill=\"" + color + "\"/><path d=\"M-3.5 -3.5L3.5 3.5M-3.5 3.5L3.5 -3.5\"" +
			white
	case Undecided:
		color = "#E69F00"
		inside = "<path d=\"M0 -9L9 0L0 9L-9 0Z\" fill=\"" + color + "\"/><text y=\"3.9\" text-anchor=\"middle\" " +
			"font-family=\"sans-serif\" font-weight=\"bold\" font-size=\"11\" fill=\"#1A1A1A\">?</text>"
	default:
		color = "#808080"
		inside = "<circle r=\"7.5\" fill=\"" + color + "\"/><path d=\"M-3.5 0H3.5\"" + white
	}
	svg := "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-9 -9 18 18\" width=\"24\" height=\"24\">" + inside +
		"</svg>"
	return color, svg
}
