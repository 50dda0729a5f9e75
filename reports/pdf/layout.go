package pdf

import (
	"fmt"
	"strconv"
	"strings"

	"wedgework/reports/document"
)

// Sizes and leadings of text, in points.
const (
	bodySize, bodyLeading       = 10.0, 14.0
	tableSize, tableLeading     = 8.5, 11.5
	codeSize, codeLeading       = 8.0, 10.5
	captionSize, captionLeading = 9.0, 12.0
	gapBlock                    = 7.0 // between blocks of running text
	gapTable                    = 13.0
	listIndent                  = 16.0
	quoteIndent                 = 14.0
	displayIndent               = 28.0 // of a formula on a line of its own
)

// place is the strip of the page that a block is set in.
type place struct{ x, width float64 }

func (w *writer) whole() place { return place{w.paper.side, textWidth} }

// narrowest is what a block is set in when it is nested deeper than the page is wide.
const narrowest = 60

// inset returns the strip without some of its left side.
func inset(at place, by float64) place {
	if at.width-by < narrowest {
		return place{at.x + at.width - narrowest, narrowest}
	}
	return place{at.x + by, at.width - by}
}

// layout turns the document into boxes, the first page's blocks first.
func (w *writer) layout(d document.Document) ([]box, error) {
	boxes, err := w.opening(d)
	if err != nil {
		return nil, err
	}
	w.remember()
	for i, s := range d.Sections {
		section, err := w.section(s)
		for i == 0 && err == nil && s.Shorter != nil && !w.signedInFront(boxes, section) {
			s = *s.Shorter
			w.forget()
			section, err = w.section(s)
		}
		if err != nil {
			return nil, err
		}
		boxes = append(boxes, section...)
	}
	return boxes, nil
}

// fewLines is what a text below a heading may have to stay with a table that follows it.
const fewLines = 2

// section sets a heading and what follows it. Verdicts that follow each other make one panel.
func (w *writer) section(s document.Section) ([]box, error) {
	_, end := w.group("Sect")
	defer end()
	var boxes []box
	level := max(s.Level, 1)
	if s.Title != "" {
		boxes = append(boxes, w.heading(s.Title, level, w.whole())...)
	}
	for i := 0; i < len(s.Blocks); i++ {
		b := s.Blocks[i]
		if h, ok := b.(document.Heading); ok {
			// A heading from a notebook stands below the section that holds it.
			b = document.Heading{Level: level + max(h.Level, 1), Text: h.Text}
		}
		if _, ok := b.(document.Verdict); ok {
			var vs []document.Verdict
			for ; i < len(s.Blocks); i++ {
				v, ok := s.Blocks[i].(document.Verdict)
				if !ok {
					break
				}
				vs = append(vs, v)
			}
			i--
			boxes = append(boxes, w.verdicts(vs, w.whole())...)
			continue
		}
		more, err := w.block(b, w.whole())
		if err != nil {
			return nil, err
		}
		if _, text := b.(document.Paragraph); text && i == 0 && len(more) <= fewLines && i+1 < len(s.Blocks) {
			if _, table := s.Blocks[i+1].(document.Table); table {
				more[len(more)-1].keep = true // or heading and text are left behind by a table that is kept whole
			}
		}
		boxes = append(boxes, more...)
	}
	if s.Together && measure(boxes, false, 0) <= w.room() {
		for i := range boxes[:max(len(boxes)-1, 0)] {
			boxes[i].keep = true
		}
	}
	return boxes, nil
}

// room is the height that a page has for the flow.
func (w *writer) room() float64 { return w.paper.height - marginTop - w.footHeight }

// block turns one block into boxes. What goes wrong names it.
func (w *writer) block(b document.Block, at place) (boxes []box, err error) {
	name := describe(b)
	defer func() {
		if err != nil {
			err = fmt.Errorf("%s: %w", name, err)
		}
		for i := range boxes {
			if boxes[i].block == "" {
				boxes[i].block = name
			}
		}
	}()
	defer catch(&err)
	switch b := b.(type) {
	case document.Heading:
		return w.heading(b.Text, b.Level, at), nil
	case document.Paragraph:
		if b.Displayed {
			at = inset(at, displayIndent)
		}
		return w.paragraph(b.Spans, at), nil
	case document.Quote:
		return w.quote(b, at)
	case document.List:
		return w.list(b, at, 0)
	case document.Code:
		return w.code(b, at), nil
	case document.Table:
		return w.table(b, at)
	case document.Figure:
		return w.figure(b, at)
	case document.Fields:
		return w.fields(b, at), nil
	case document.Verdict:
		return w.verdicts([]document.Verdict{b}, at), nil
	case document.Caution:
		return w.caution(b, at), nil
	case document.Rule:
		return []box{{height: 1, above: 10, below: 10, draw: func(w *writer, y float64) error {
			w.rule(at.x, y+0.5, at.width, 0.5, faint)
			return nil
		}}}, nil
	case document.Signatures:
		return w.signatures(b, at), nil
	}
	return nil, fmt.Errorf("a block of type %T is not known here", b)
}

// describe names a block by its kind and first words.
func describe(b document.Block) string {
	kind, text := strings.ToLower(strings.TrimPrefix(fmt.Sprintf("%T", b), "document.")), ""
	switch b := b.(type) {
	case document.Heading:
		text = b.Text
	case document.Paragraph:
		text = document.PlainText(b.Spans)
	case document.Code:
		text = b.Text
	case document.Table:
		text = b.Caption
	case document.Figure:
		text = b.Caption
	case document.Fields:
		text = b.Caption
	case document.Verdict:
		text = b.Subject
	case document.Caution:
		text = b.Text
	}
	words := []rune(strings.Join(strings.Fields(text), " "))
	const most = 48
	if len(words) > most {
		words = append(words[:most], '\u2026')
	}
	if len(words) == 0 {
		return kind
	}
	return kind + " " + strconv.Quote(string(words))
}

// lines makes one box of each line of text of an element. The first two and the last two stay together, so that no line
// is left alone at the foot or the head of a page.
func (w *writer) lines(tag *element, ls []line, at place, leading, above, below float64) []box {
	boxes := make([]box, len(ls))
	for i, l := range ls {
		boxes[i] = box{height: leading, tag: tag, draw: func(w *writer, y float64) error {
			w.line(l, at.x, y, leading)
			return nil
		}}
		boxes[i].keep = len(ls) > 1 && (i == 0 || i == len(ls)-2)
	}
	boxes[0].above, boxes[len(boxes)-1].below = above, below
	return boxes
}

func (w *writer) paragraph(spans []document.Span, at place) []box {
	ls := w.breakLines(spans, bodySize, at.width, ink)
	return w.lines(w.leaf("P"), ls, at, bodyLeading, gapBlock, gapBlock)
}

// heading sets a heading that stays with what follows it, and makes a bookmark of it.
func (w *writer) heading(text string, level int, at place) []box {
	size, leading, above, below, color := 14.0, 18.0, 22.0, 7.0, accent
	switch {
	case level == 2:
		size, leading, above, below = 11.5, 15.5, 15, 5
	case level > 2:
		size, leading, above, below, color = 10, 14, 11, 4, ink
	}
	ls := w.plainLines(text, document.Bold, size, at.width, color)
	boxes := w.lines(w.headingTag(level), ls, at, leading, above, below)
	for i := range boxes {
		boxes[i].block, boxes[i].keep = describe(document.Heading{Text: text}), true
	}
	boxes[0].mark = &bookmark{title: text, level: level - 1}
	return boxes
}

// quote sets somebody else's words in, with a bar along their side.
func (w *writer) quote(q document.Quote, at place) ([]box, error) {
	_, end := w.group("BlockQuote")
	defer end()
	inner := inset(at, quoteIndent)
	var boxes []box
	for _, b := range q.Blocks {
		more, err := w.block(b, inner)
		if err != nil {
			return nil, err
		}
		boxes = append(boxes, more...)
	}
	for i, b := range boxes {
		draw, x := b.draw, inner.x-quoteIndent+3
		above, below := b.above, b.below // the bar bridges the space between two boxes
		if i == 0 {
			above = 0
		}
		if i == len(boxes)-1 {
			below = 0
		}
		boxes[i].draw = func(w *writer, y float64) error {
			w.rect(x, y-above, 2, b.height+above+below, faint)
			return draw(w, y)
		}
		boxes[i].give = 0
	}
	return boxes, nil
}

// list sets the items indented, each mark beside the first line of its item.
func (w *writer) list(l document.List, at place, depth int) ([]box, error) {
	tag, end := w.group("L")
	defer end()
	if tag.attributes = bulleted; l.Ordered {
		tag.attributes = numbered
	}
	var out []box
	for i, item := range l.Items {
		mark := "\u2022"
		if depth%2 == 1 {
			mark = "\u2013"
		}
		indent := listIndent
		if l.Ordered {
			mark = strconv.Itoa(l.Number(i)) + "."
			indent = max(indent, w.fonts.get(faceKey{}).width(strconv.Itoa(l.Number(len(l.Items)-1))+".", bodySize)+5)
		}
		boxes, err := w.item(item, mark, at.x, inset(at, indent), depth)
		if err != nil {
			return nil, err
		}
		for k := range boxes { // items stand closer than paragraphs; tables and code inside keep their space
			if k == 0 || boxes[k].above <= gapBlock {
				boxes[k].above = min(boxes[k].above, 3)
			}
			if k == len(boxes)-1 || boxes[k].below <= gapBlock {
				boxes[k].below = min(boxes[k].below, 3)
			}
		}
		out = append(out, boxes...)
	}
	if len(out) > 0 && depth == 0 {
		out[0].above, out[len(out)-1].below = gapBlock, gapBlock
	}
	return out, nil
}

// item sets an item of a list, its mark at x.
func (w *writer) item(item []document.Block, mark string, x float64, at place, depth int) ([]box, error) {
	_, end := w.group("LI")
	defer end()
	label := w.leaf("Lbl")
	_, end = w.group("LBody")
	defer end()
	var boxes []box
	for _, b := range item {
		var more []box
		var err error
		if sub, ok := b.(document.List); ok {
			more, err = w.list(sub, at, depth+1)
		} else {
			more, err = w.block(b, at)
		}
		if err != nil {
			return nil, err
		}
		boxes = append(boxes, more...)
	}
	if len(boxes) == 0 {
		boxes = w.paragraph(nil, at)
	}
	w.markItem(&boxes[0], label, mark, x)
	return boxes, nil
}

func (w *writer) markItem(b *box, label *element, mark string, x float64) {
	draw, face := b.draw, w.fonts.get(faceKey{})
	b.draw = func(w *writer, y float64) error {
		w.within(label, func() { w.text(x+3, y+baseline(bodySize, bodyLeading), mark, face, bodySize, ink) })
		return draw(w, y)
	}
}
