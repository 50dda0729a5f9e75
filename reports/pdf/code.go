package pdf

import (
	"strings"

	"wedgework/reports/document"
)

const (
	codePad  = 7.0  // between the edge of the ground and the text
	codeHang = 14.0 // by which a line that goes on is set in
)

// codeRow is a line of code as it stands on the page; one that goes on from the line above is continued.
type codeRow struct {
	text      string
	continued bool
}

// code sets preformatted text on a grey ground, one box to a line. A line too long goes on below, set in,
// with a hook in the margin: a sign drawn, not typed, so that copied code stays code.
func (w *writer) code(c document.Code, at place) []box {
	face := w.fonts.get(faceKey{mono: true})
	advance := face.width("0", codeSize)
	first := max(1, int((at.width-2*codePad+hair)/advance))
	next := max(1, int((at.width-2*codePad-codeHang+hair)/advance))
	var rows []codeRow
	for _, l := range strings.Split(strings.TrimRight(c.Text, "\n"), "\n") {
		rows = append(rows, wrapCode(w.fonts.clean(face, l), first, next)...)
	}
	_, end := w.group("Listing")
	defer end()
	var tag *element
	boxes := make([]box, len(rows))
	for i, r := range rows {
		if !r.continued {
			tag = w.leaf("CodeLine")
		}
		top, bottom := 0.0, 0.0
		if i == 0 {
			top = 5
		}
		if i == len(rows)-1 {
			bottom = 5
		}
		h := top + codeLeading + bottom
		boxes[i] = box{height: h, tag: tag, keep: len(rows) > 1 && (i == 0 || i == len(rows)-2),
			draw: func(w *writer, y float64) error {
				w.rect(at.x, y-0.1, at.width, h+0.2, shade) // a hair over, or viewers show seams between lines
				w.rect(at.x, y-0.1, 1.5, h+0.2, faint)
				x, base := at.x+codePad, y+top+baseline(codeSize, codeLeading)
				if r.continued {
					w.polygon(grey, 0.6, false, x+2, base-6, x+2, base-2.5, x+8, base-2.5, x+6, base-4, x+8, base-2.5,
						x+6,
						base-1)
					x += codeHang
				}
				w.text(x, base, r.text, face, codeSize, ink)
				return nil
			}}
	}
	boxes[0].above, boxes[len(boxes)-1].below = gapBlock+1, gapBlock+1
	return boxes
}

// wrapCode breaks a line into rows of at most first characters and then next, after a space or a comma
// when there is one in the last third of the row.
func wrapCode(l string, first, next int) []codeRow {
	var rows []codeRow
	runes, room := []rune(l), first
	for len(runes) > room {
		n := room
		for k := room; k > room*2/3; k-- {
			if runes[k-1] == ' ' || runes[k-1] == ',' {
				n = k
				break
			}
		}
		rows = append(rows, codeRow{string(runes[:n]), len(rows) > 0})
		runes, room = runes[n:], next
	}
	return append(rows, codeRow{string(runes), len(rows) > 0})
}
