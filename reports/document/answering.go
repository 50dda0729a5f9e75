package document

import (
	"fmt"
	"strings"

	"wedgework/reports/readout"
)

// parted draws a figure once, as three things: the stand-alone SVG document, the same document with its parts marked
// for the script of package readout, and what can be read off it; nil for nothing.
func parted(f Figure) (plain, marked string, data *readout.Figure, err error) {
	c, err := drawn(f, true)
	if err != nil {
		return "", "", nil, err
	}
	var rest []byte
	from := 0
	for _, m := range c.marks {
		rest = append(rest, c.out[from:m.from]...)
		from = m.to
	}
	rest = append(rest, c.out[from:]...)
	head := svgHead(c)
	if len(c.read.Panels) > 0 {
		data = &c.read
		data.Width, data.Height = float64(c.w), float64(c.h)
	}
	return head + string(rest) + "</svg>\n", head + string(c.out) + "</svg>\n", data, nil
}

// answering writes a figure that numbers can be read off where scripts run: in a notebook that is trusted, and in the
// page that is made of one. It is the picture that stands everywhere else, and beside it the numbers and the script,
// which viewers that do not trust a notebook take out. It reports false, and writes nothing, for a figure of which there
// is nothing to be read.
func (h Hypertext) answering(b *strings.Builder, f Figure, marked string, data *readout.Figure) bool {
	if data == nil || f.Still || data.Points() > readout.MostPoints {
		return false
	}
	data.Settle(readout.Decimals)
	numbers, err := data.JSON()
	if err != nil {
		return false // the picture stands
	}
	fmt.Fprintf(b, "<div class=\"chart wedgework\"><div class=\"plot\">%s</div>"+
		"<script type=\"application/json\">%s</script></div>\n", pictureHTML(marked, f.Alt(), h.as(lookFigure)), numbers)
	fmt.Fprintf(b, "<p%s><em>%s</em></p>\n", h.as(lookCaption), esc(f.Caption))
	fmt.Fprintf(b, "<script>%s</script>\n", readout.Notebook())
	return true
}
