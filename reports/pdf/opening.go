package pdf

import (
	"strings"

	"wedgework/reports/document"
)

// tallTitle is how many lines of a title stand in its block.
const tallTitle = 6

// opening sets what the first page begins with: the title block with the identification, and the verdicts.
func (w *writer) opening(d document.Document) ([]box, error) {
	const size, leading = 20.0, 25.0
	code, err := newSquares(d.Code)
	if err != nil {
		return nil, err
	}
	width := textWidth - code.room()
	title := w.plainLines(d.Title, document.Bold, size, width, accent)
	var rest []line // of a title that is longer than any
	if len(title) > tallTitle {
		title, rest = title[:tallTitle], title[tallTitle:]
	}
	var sub []line
	if d.Subtitle != "" {
		sub = w.plainLines(d.Subtitle, 0, 11, width, grey)
	}
	sub = sub[:min(len(sub), tallTitle)]
	var after []line
	if len(rest) > 0 { // the subtitle stands below the whole title
		sub, after = nil, sub
	}
	height := max(8+leading*float64(len(title))+16*float64(len(sub))+8, code.room())
	titleTag, subTag, codeTag := w.leaf("Title"), w.leaf("Subtitle"), w.leaf("Figure")
	codeTag.alt = "QR code: " + d.Code
	if shown := len(sub) + len(after); shown == tallTitle {
		subTag.actual = w.meta(d.Subtitle)
	}
	boxes := []box{{block: "the title", tag: titleTag, height: height, below: 4, keep: true,
		mark: &bookmark{title: d.Title},
		draw: func(w *writer, y float64) error {
			w.rect(w.paper.side, y-14, textWidth, 3, accent)
			for i, l := range title {
				w.line(l, w.paper.side, y+2+float64(i)*leading, leading)
			}
			w.within(subTag, func() {
				for i, l := range sub {
					w.line(l, w.paper.side, y+4+leading*float64(len(title))+float64(i)*16, 16)
				}
			})
			w.within(codeTag, func() { code.draw(w, w.paper.side+textWidth-code.side(), y) })
			return nil
		}}}
	if len(rest) > 0 {
		boxes[0].below = 0
		boxes = append(boxes, w.lines(titleTag, rest, w.whole(), leading, 0, 2)...)
		if len(after) > 0 {
			boxes = append(boxes, w.lines(subTag, after, w.whole(), 16, 2, 12)...)
		}
	}
	if len(d.Identity) > 0 {
		boxes = append(boxes, w.identity(d.Identity)...)
	}
	if len(d.Verdicts) > 0 {
		h := w.heading("Verdicts", 2, w.whole())
		h[0].mark, h[0].above = &bookmark{title: "Verdicts"}, 16
		boxes = append(boxes, h...)
		boxes = append(boxes, w.verdicts(d.Verdicts, w.whole())...)
	}
	return boxes, nil
}

// identity sets the identification in two columns of name and value; a long value takes a row of its own.
func (w *writer) identity(fields []document.Field) []box {
	half := place{w.paper.side, (textWidth - 18) / 2}
	value := w.fonts.get(faceKey{})
	short := func(f document.Field) bool {
		return !strings.Contains(f.Value, "\n") && value.width(w.plainCell(value, f.Value),
			fieldSize) <= half.width-fieldName &&
			value.width(w.plainCell(value, f.Name), fieldSize) <= fieldName-8
	}
	_, end := w.group("Table")
	defer end()
	var boxes []box
	for i := 0; i < len(fields); i++ {
		if i+1 < len(fields) && short(fields[i]) && short(fields[i+1]) {
			left := w.field(fields[i], half, fieldName)[0]
			right := w.field(fields[i+1], place{half.x + half.width + 18, half.width}, fieldName)[0]
			boxes = append(boxes, box{height: max(left.height, right.height), draw: func(w *writer, y float64) error {
				if err := left.draw(w, y); err != nil {
					return err
				}
				return right.draw(w, y)
			}})
			i++
			continue
		}
		boxes = append(boxes, w.field(fields[i], w.whole(), fieldName)...)
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

// field sets a name and its value, a hairline below.
func (w *writer) field(f document.Field, at place, nameWidth float64) []box {
	nameTag, valueTag := w.fieldTags()
	names := w.plainLines(f.Name, 0, fieldSize, nameWidth-8, grey)
	values := w.plainLines(f.Value, 0, fieldSize, at.width-nameWidth, ink)
	return sheaf(max(len(names), len(values)), fieldLeading, 2.5, func(w *writer, y float64, s stretch) {
		show := func(ls []line, x float64) {
			for i := s.from; i < min(s.to, len(ls)); i++ {
				w.line(ls[i], x, y+s.top+float64(i-s.from)*fieldLeading, fieldLeading)
			}
		}
		w.within(nameTag, func() { show(names, at.x) })
		w.within(valueTag, func() { show(values, at.x+nameWidth) })
		if s.last {
			w.rule(at.x, y+s.height, at.width, 0.4, hairInk)
		}
	})
}

// fields sets a block of names and values; the names get the width they need, up to two fifths.
func (w *writer) fields(f document.Fields, at place) []box {
	_, end := w.group("Table")
	defer end()
	boxes := w.tableCaption(f.Caption, at)
	face := w.fonts.get(faceKey{})
	wide := 0.0
	for _, r := range f.Rows {
		wide = max(wide, face.width(w.plainCell(face, r.Name), fieldSize))
	}
	wide = min(wide+14, at.width*0.4)
	for i, r := range f.Rows {
		b := w.field(r, at, wide)
		b[len(b)-1].keep = len(f.Rows) > 1 && (i == 0 || i == len(f.Rows)-2)
		boxes = append(boxes, b...)
	}
	return spaced(boxes, gapTable)
}

// stretch is the part of a row's lines that one box holds.
type stretch struct {
	from, to    int
	first, last bool
	top, height float64 // where the lines begin, and the height of the box
}

// sheaf makes boxes of a row of n lines with space above and below: one box, or several where the row is so
// tall that it may have to be broken.
func sheaf(n int, leading, pad float64, draw func(w *writer, y float64, s stretch)) []box {
	var boxes []box
	for from := 0; ; from += tall {
		s := stretch{from: from, to: min(from+tall, n), first: from == 0}
		if n-s.to < 4 { // no stub of a few lines
			s.to = n
		}
		s.last = s.to == n
		s.height = float64(s.to-s.from) * leading
		if s.first {
			s.top = pad
		}
		s.height += s.top
		if s.last {
			s.height += pad
		}
		boxes = append(boxes, box{height: s.height, draw: func(w *writer, y float64) error {
			draw(w, y,
				s)
			return nil
		}})
		if s.last {
			return boxes
		}
	}
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
	const pad, markRoom, wordRoom, leading = 6.0, 32.0, 98.0, 13.5
	list, end := w.group("L")
	defer end()
	list.attributes = bulleted
	var boxes []box
	for i, v := range vs {
		label, subjectTag, sentenceTag := w.verdictTags()
		word := w.plainLines(strings.ToUpper(v.Outcome.String()), document.Bold, 11, wordRoom, ink)
		inner := at.width - markRoom - wordRoom - pad
		subject := w.plainLines(v.Subject, document.Bold, bodySize, inner, ink)
		lines := append(subject[:len(subject):len(subject)], w.plainLines(v.Sentence, 0, 9.5, inner, ink)...)
		end := i == len(vs)-1
		row := sheaf(max(len(lines), len(word)), leading, pad, func(w *writer, y float64, s stretch) {
			w.rect(at.x, y, at.width, s.height, shade)
			w.rect(at.x, y, 3, s.height, outcomeInk(v.Outcome))
			// Each row draws the rule above it: one drawn below would vanish under the next row's ground.
			switch {
			case s.first && i == 0:
				w.rule(at.x, y, at.width, 0.8, ink)
			case s.first:
				w.rule(at.x+3, y, at.width-3, 0.5, faint)
			}
			if s.last && end {
				w.rule(at.x, y+s.height, at.width, 0.8, ink)
			}
			if s.first {
				w.outcomeMark(v.Outcome, at.x+18, y+pad+leading/2)
				w.within(label, func() {
					for k, l := range word {
						w.line(l, at.x+markRoom, y+pad+float64(k)*leading, leading)
					}
				})
			}
			for k := s.from; k < min(s.to, len(lines)); k++ {
				if w.tags.target = subjectTag; k >= len(subject) {
					w.tags.target = sentenceTag
				}
				w.line(lines[k], at.x+markRoom+wordRoom, y+s.top+float64(k-s.from)*leading, leading)
			}
		})
		for k := range row {
			row[k].block = describe(v)
		}
		row[len(row)-1].keep = !end
		boxes = append(boxes, row...)
	}
	if len(boxes) > 0 {
		boxes[0].above, boxes[len(boxes)-1].below = gapBlock, gapTable
	}
	return boxes
}
