package document

import (
	"encoding/base64"
	"strings"

	"gonum.org/v1/plot/vg"
)

// Sizes of a figure that states none: the width of the text on an A4 page, and a flat shape that lets two
// figures stand on one page.
const (
	DefaultWidth  = 170 * vg.Millimeter
	DefaultHeight = 85 * vg.Millimeter
)

// Size returns the figure's size on the page, with the defaults in place of what it leaves open.
func (f Figure) Size() (w, h vg.Length) {
	w, h = f.Width, f.Height
	if w <= 0 {
		w = DefaultWidth
	}
	if h <= 0 {
		h = DefaultHeight
	}
	return w, h
}

// Bundle returns the forms in which a notebook keeps the blocks, by MIME type: text/plain and text/html
// always, and image/svg+xml and image/png when the only block is a figure that can be drawn. Viewers that do not trust
// a notebook take out SVG elements, and some take no SVG at all: the HTML has its figures as pictures by data URL, and
// the pixels stand beside it. Where they do trust it, numbers can be read off a lone figure (answering). Long tables are
// shortened.
func Bundle(blocks []Block) map[string]any {
	blocks = Shorten(blocks)
	m := map[string]any{"text/plain": valid(Keyboard(Text(blocks)))}
	if len(blocks) == 1 {
		if f, ok := blocks[0].(Figure); ok {
			svg, marked, data, err := parted(f) // drawn once for all
			if err == nil {
				m["image/svg+xml"] = svg
				if png, err := PNG(f); err == nil {
					m["image/png"] = base64.StdEncoding.EncodeToString(png)
				}
			}
			var b strings.Builder
			if err != nil || !(Hypertext{}).answering(&b, f, marked, data) {
				Hypertext{}.picture(&b, f, svg, err)
			}
			m["text/html"] = b.String()
			return m
		}
	}
	m["text/html"] = HTML(blocks)
	return m
}

// xmlText leaves out what no XML document may hold, so that one odd label does not cost the whole picture:
// control characters, and bytes that are not UTF-8.
func xmlText(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, valid(s))
}
