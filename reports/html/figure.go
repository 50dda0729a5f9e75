package html

import (
	"encoding/base64"
	"fmt"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/readout"
)

// figure writes a figure: a drawing as lines and text, with the numbers to be read off where it has any; a picture as a
// picture.
func (p *page) figure(b *strings.Builder, f document.Figure) {
	drawn, data, err := drawing(f)
	if err == nil && data != nil && data.Points() <= readout.MostPoints {
		data.Settle(readout.Decimals)
		var numbers []byte
		numbers, err = data.JSON()
		p.charts++
		fmt.Fprintf(b, "<figure class=\"chart\">\n<div class=\"plot\">%s</div>\n"+
			"<script type=\"application/json\">%s</script>\n", drawn, numbers)
	} else {
		fmt.Fprintf(b, "<figure>\n<div class=\"plot\">%s</div>\n", drawn)
	}
	if err != nil && p.err == nil {
		p.err = fmt.Errorf("the figure %q: %w", f.Caption, err)
	}
	fmt.Fprintf(b, "<figcaption>%s</figcaption>\n</figure>\n", document.Escape(f.Caption))
}

func drawing(f document.Figure) (element string, data *readout.Figure, err error) {
	if p, ok := f.Drawing.(document.Picture); ok && len(p.Data) > 0 {
		b := p.Bounds()
		return fmt.Sprintf("<img src=\"data:image/%s;base64,%s\" width=\"%d\" height=\"%d\" alt=\"%s\">", p.Format,
			base64.StdEncoding.EncodeToString(p.Data), b.Dx(), b.Dy(), document.Escape(f.Alt())), nil, nil
	}
	return document.InlineSVG(f, f.Alt())
}
