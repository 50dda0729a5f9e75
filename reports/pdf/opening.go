package pdf

import (
	"strings"

	"wedgework/reports/document"
)

// opening sets what the first page begins with: the title block with the identification, and the verdicts.
func (w *writer) opening(d document.Document) ([]box, error) {
	const size, leading = 20.0, 25.0
	title := w.plainLines(d.Title, document.Bold, size, textWidth, accent)
	var sub []line
	if d.Subtitle != "" {
		sub = w.plainLines(d.Subtitle, 0, 11, textWidth, grey)
	}
	height := 8 + leading*float64(len(title)) + 16*float64(len(sub)) + 8
	boxes := []box{{block: "the title", height: height, below: 4, keep: true, mark: &bookmark{d.Title, 0},
		draw: func(w *writer, y float64) error {
			w.rect(marginSide, y-14, textWidth, 3, accent)
			for i, l := range title {
				w.line(l, marginSide, y+2+float64(i)*leading, leading)
			}
			for i, l := range sub {
				w.line(l, marginSide, y+4+leading*float64(len(title))+float64(i)*16, 16)
			}
			return nil
		}}}
	if len(d.Identity) > 0 {
		boxes = append(boxes, w.identity(d.Identity)...)
	}
	if len(d.Verdicts) > 0 {
		h := w.heading("Verdicts", 2, wholeWidth)
		h.mark, h.above = &bookmark{"Verdicts", 0}, 16
		boxes = append(boxes, h)
		boxes = append(boxes, w.verdicts(d.Verdicts, wholeWidth)...)
	}
	return boxes, nil
}

// identity sets the identification in two columns of name and value; a long value takes a row of its own.
func (w *writer) identity(fields []document.Field) []box {
	half := place{marginSide, (textWidth - 18) / 2}
	value := w.fonts.get(faceKey{})
	short := func(f document.Field) bool {
		return !strings.Contains(f.Value, "\n") && value.width(w.fonts.clean(value, f.Value), fieldSize) <= half.width-fieldName
	}
	var boxes []box
	for i := 0; i < len(fields); i++ {
		if i+1 < len(fields) && short(fields[i]) && short(fields[i+1]) {
			left := w.field(fields[i], half, fieldName)
			right := w.field(fields[i+1], place{half.x + half.width + 18, half.width}, fieldName)
			boxes = append(boxes, box{height: max(left.height, right.height), draw: func(w *writer, y float64) error {
				if err := left.draw(w, y); err != nil {
					return err
				}
				return right.draw(w, y)
			}})
			i++
			continue
		}
		boxes = append(boxes, w.field(fields[i], wholeWidth, fieldName))
	}
	for i := range boxes {
		boxes[i].block, boxes[i].keep = "the identification", i+1 < len(boxes)
	}
	return boxes
}

const (
	fieldSize, fieldLeading = 9.0, 12.0
	fieldName               = 92.0 // width of the names
)

// field sets a name and its value in one box, a hairline below.
func (w *writer) field(f document.Field, at place, nameWidth float64) box {
	const pad = 2.5
	names := w.plainLines(f.Name, 0, fieldSize, nameWidth-8, grey)
	values := w.plainLines(f.Value, 0, fieldSize, at.width-nameWidth, ink)
	h := float64(max(len(names), len(values)))*fieldLeading + 2*pad
	return box{height: h, draw: func(w *writer, y float64) error {
		for i, l := range names {
			w.line(l, at.x, y+pad+float64(i)*fieldLeading, fieldLeading)
		}
		for i, l := range values {
			w.line(l, at.x+nameWidth, y+pad+float64(i)*fieldLeading, fieldLeading)
		}
		w.rule(at.x, y+h, at.width, 0.4, hairInk)
		return nil
	}}
}

// fields sets a block of names and values; the names get the width they need, up to two fifths.
func (w *writer) fields(f document.Fields, at place) []box {
	boxes := w.tableCaption(f.Caption, at)
	face := w.fonts.get(faceKey{})
	wide := 0.0
	for _, r := range f.Rows {
		wide = max(wide, face.width(w.fonts.clean(face, r.Name), fieldSize))
	}
	wide = min(wide+14, at.width*0.4)
	for i, r := range f.Rows {
		b := w.field(r, at, wide)
		b.keep = len(f.Rows) > 1 && (i == 0 || i == len(f.Rows)-2)
		boxes = append(boxes, b)
	}
	return spaced(boxes, gapTable)
}

// spaced gives a sequence of boxes its space before and after; an empty sequence stays empty.
func spaced(boxes []box, gap float64) []box {
	if len(boxes) > 0 {
		boxes[0].above, boxes[len(boxes)-1].below = gap, gap
		boxes[len(boxes)-1].keep = false
	}
	return boxes
}

// verdicts sets a panel with a row for each verdict: mark, outcome as a word, subject and sentence.
func (w *writer) verdicts(vs []document.Verdict, at place) []box {
	const pad, markRoom, wordRoom = 7.0, 32.0, 98.0
	boxes := make([]box, len(vs))
	for i, v := range vs {
		word := w.plainLines(strings.ToUpper(v.Outcome.String()), document.Bold, 11, wordRoom, ink)
		inner := at.width - markRoom - wordRoom - pad
		subject := w.plainLines(v.Subject, document.Bold, bodySize, inner, ink)
		sentence := w.plainLines(v.Sentence, 0, 9.5, inner, ink)
		h := 2*pad + float64(len(subject))*bodyLeading + float64(len(sentence))*13
		first, last := i == 0, i == len(vs)-1
		boxes[i] = box{block: describe(v), height: h, keep: !last, draw: func(w *writer, y float64) error {
			w.rect(at.x, y, at.width, h, shade)
			w.rect(at.x, y, 3, h, outcomeInk(v.Outcome))
			// Each row draws the rule above it: one drawn below would vanish under the next row's ground.
			if first {
				w.rule(at.x, y, at.width, 0.8, ink)
			} else {
				w.rule(at.x+3, y, at.width-3, 0.5, faint)
			}
			if last {
				w.rule(at.x, y+h, at.width, 0.8, ink)
			}
			w.outcomeMark(v.Outcome, at.x+18, y+pad+bodyLeading/2)
			for k, l := range word {
				w.line(l, at.x+markRoom, y+pad+float64(k)*bodyLeading, bodyLeading)
			}
			x := at.x + markRoom + wordRoom
			for k, l := range subject {
				w.line(l, x, y+pad+float64(k)*bodyLeading, bodyLeading)
			}
			for k, l := range sentence {
				w.line(l, x, y+pad+float64(len(subject))*bodyLeading+float64(k)*13, 13)
			}
			return nil
		}}
	}
	if len(boxes) > 0 {
		boxes[0].above, boxes[len(boxes)-1].below = gapBlock, gapTable
	}
	return boxes
}
