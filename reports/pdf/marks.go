package pdf

import (
	"fmt"

	"wedgework/reports/document"
)

func outcomeInk(o document.Outcome) rgb {
	switch o {
	case document.Pass:
		return passInk
	case document.Fail:
		return failInk
	case document.Undecided:
		return openInk
	}
	return grey
}

// outcomeMark draws the sign of an outcome around a point. Each has its own outline, so that a page printed
// in black, or read with any kind of colour vision, tells them apart: a disc with a check mark, a square
// with a cross, a diamond with a question mark, a ring with a dash.
func (w *writer) outcomeMark(o document.Outcome, x, y float64) {
	c := outcomeInk(o)
	switch o {
	case document.Pass:
		w.disc(x, y, 7.5, c)
		w.polygon(white, 1.9, false, x-3.7, y+0.3, x-1.1, y+3.1, x+3.9, y-3)
	case document.Fail:
		w.rect(x-7, y-7, 14, 14, c)
		w.polygon(white, 1.9, false, x-3.5, y-3.5, x+3.5, y+3.5)
		w.polygon(white, 1.9, false, x-3.5, y+3.5, x+3.5, y-3.5)
	case document.Undecided:
		w.polygon(c, 0, true, x, y-9, x+9, y, x, y+9, x-9, y)
		bold := w.fonts.get(faceKey{bold: true})
		w.within(nil, func() { w.text(x-bold.width("?", 11)/2, y+3.9, "?", bold, 11, ink) })
	default:
		w.disc(x, y, 7.5, c)
		w.polygon(white, 1.9, false, x-3.5, y, x+3.5, y)
	}
}

// disc fills a circle, as four curves.
func (w *writer) disc(x, y, r float64, c rgb) {
	w.setFill(c)
	w.enter(nil)
	const k = 0.5522847 // of the radius: a cubic's control points for a quarter circle
	cy, q := w.paper.height-y, k*r
	w.pdf.RawWriteStr(fmt.Sprintf("%.2f %.2f m %.2f %.2f %.2f %.2f %.2f %.2f c %.2f %.2f %.2f %.2f %.2f %.2f c %.2f "+
		"%.2f %.2f %.2f %.2f %.2f c %.2f %.2f %.2f %.2f %.2f %.2f c h f",
		x+r, cy, x+r, cy+q, x+q, cy+r, x, cy+r, x-q, cy+r, x-r, cy+q, x-r, cy,
		x-r, cy-q, x-q, cy-r, x, cy-r, x+q, cy-r, x+r, cy-q, x+r, cy))
}

// caution sets a warning apart: ruled above and below, a triangle with an exclamation mark, and the word.
func (w *writer) caution(c document.Caution, at place) []box {
	const pad, room = 6.0, 32.0
	spans := []document.Span{{Text: "Caution. ", Style: document.Bold}, {Text: c.Text}}
	ls := w.breakLines(spans, 9.5, at.width-room-pad, ink)
	tag := w.leaf("Caution")
	boxes := make([]box, len(ls))
	for i, l := range ls {
		top, bottom := 0.0, 0.0
		first, last := i == 0, i == len(ls)-1
		if first {
			top = pad
		}
		if last {
			bottom = pad
		}
		h := top + 13 + bottom
		boxes[i] = box{height: h, tag: tag, keep: len(ls) > 1 && (i == 0 || i == len(ls)-2),
			draw: func(w *writer, y float64) error {
				if first {
					w.rule(at.x, y, at.width, 0.8, ink)
					x, base := at.x+15, y+pad+12
					w.polygon(ink, 1.2, true, x-8, base, x+8, base, x, base-13)
					w.rect(x-0.8, base-9, 1.6, 5, ink)
					w.rect(x-0.8, base-3, 1.6, 1.6, ink)
				}
				if last {
					w.rule(at.x, y+h, at.width, 0.8, ink)
				}
				w.line(l, at.x+room, y+top, 13)
				return nil
			}}
	}
	boxes[0].above, boxes[len(boxes)-1].below = gapBlock+3, gapBlock+3
	return boxes
}

// disposition sets a line of boxes to tick, with the words beside them.
func (w *writer) disposition(words []string, at place) []box {
	if len(words) == 0 {
		return nil
	}
	const height, side, pad = 20.0, 8.0, 4.0
	regular, bold := w.fonts.get(faceKey{}), w.fonts.get(faceKey{bold: true})
	tag := w.leaf("P")
	return []box{{height: height, keep: true, tag: tag, draw: func(w *writer, y float64) error {
		w.rule(at.x, y, at.width, 0.8, ink)
		const label = "Disposition: "
		x, base := at.x+pad, y+13
		w.text(x, base, label, bold, tableSize, ink)
		x += bold.width(label, tableSize) + 14
		for _, word := range words {
			word = w.fonts.clean(regular, word)
			w.polygon(ink, 0.7, true, x, base-side+1, x+side, base-side+1, x+side, base+1, x, base+1)
			w.text(x+side+5, base, word+" ", regular, tableSize, ink)
			x += side + 5 + regular.width(word, tableSize) + 26
		}
		return nil
	}}}
}

const signatureBlock = "the signatures"

// signatures sets a row to sign for each role, with room for a pen.
func (w *writer) signatures(s document.Signatures, at place) []box {
	const rowHeight, pad = 18.0, 4.0 // over 6 mm: room for a pen, and the block still stands on the first page
	shares := []float64{0.2, 0.3, 0.32, 0.18}
	regular, bold := w.fonts.get(faceKey{}), w.fonts.get(faceKey{bold: true})
	columns := func(w *writer, y float64, f *face, tags []*element, cells []string) {
		x := at.x
		for i, c := range cells {
			w.within(tags[i], func() { w.text(x+pad, y, c, f, tableSize, ink) })
			x += shares[i] * at.width
		}
	}
	if len(s.Rows) == 0 {
		return nil // nobody signs
	}
	boxes := w.disposition(s.Disposition, at)
	_, end := w.group("Table")
	defer end()
	heads := []string{"Role", "Name", "Signature", "Date"}
	rows := w.tableTags(len(heads), len(s.Rows))
	boxes = append(boxes, box{height: 16, keep: true, draw: func(w *writer, y float64) error {
		w.rule(at.x, y, at.width, 0.8, ink)
		columns(w, y+11, bold, rows[0], heads)
		w.rule(at.x, y+16, at.width, 0.5, ink)
		return nil
	}})
	for i, r := range s.Rows {
		cells := []string{r.Role, r.Name, "", r.Date}
		for k, c := range cells {
			cells[k] = w.fitTag(rows[i+1][k], c, 0, tableSize, shares[k]*at.width-2*pad)
		}
		boxes = append(boxes, box{height: rowHeight, keep: true, draw: func(w *writer, y float64) error {
			columns(w, y+rowHeight-5, regular, rows[i+1], cells)
			w.rule(at.x, y+rowHeight, at.width, 0.5, grey)
			return nil
		}})
	}
	for i := range boxes {
		boxes[i].block = signatureBlock
	}
	return spaced(boxes, gapTable)
}
