package pdf

import (
	"slices"
	"strconv"
	"strings"

	"wedgework/reports/document"
)

const (
	contentsFrom   = 15  // pages: a shorter report is turned over faster than a list of it is read
	mostDeep       = 100 // entries, two pages of them: with more, the deepestListed are left out
	shortList      = 30  // entries that are kept on one page
	deepestListed  = 2   // level of a heading that is listed
	contentsSize   = 9.5
	contentsHeight = 14.0
)

// contents lists the headings of a report, with the pages that hold them, before the first section that does
// not begin on the first page or that follows the signatures: what is signed stays in front, and nothing else, on
// however many pages. Where nothing is signed the list comes before all sections. It returns the boxes with the list
// among them.
func (w *writer) contents(boxes []box, pages [][]placed) []box {
	first, signed := map[*bookmark]bool{}, false
	for _, b := range pages[0] {
		first[b.mark] = !signed
		signed = signed || b.block == signatureBlock
	}
	last := -1 // box of the signatures
	for i, b := range boxes {
		if b.block == signatureBlock {
			last = i
		}
	}
	if !signed {
		clear(first)
	}
	var entries []*bookmark
	at := -1
	for i, b := range boxes[1:] { // the first is the title
		if b.mark == nil || b.mark.level > deepestListed {
			continue
		}
		if at < 0 && b.mark.level == 0 && !first[b.mark] && i+1 > last {
			at = i + 1
		}
		entries = append(entries, b.mark)
	}
	if at < 0 {
		return boxes
	}
	deep, listed := deepestListed, len(entries)
	for deep > 0 && listed > mostDeep {
		for _, m := range entries {
			if m.level == deep {
				listed--
			}
		}
		deep--
	}
	list := w.contentsList(entries, deep, boxes[at].tag)
	for i := range list { // a short list together, of a long one neither its head nor its tail alone
		list[i].block, list[i].keep = "the contents", i < len(list)-1 && (len(list) <= shortList || i < 3 ||
			i > len(list)-4)
	}
	list[len(list)-1].below = gapTable
	out := append([]box(nil), boxes[:at]...)
	return append(append(out, list...), boxes[at:]...)
}

// contentsList sets the list itself. Its element comes before that of the section whose heading follows it.
func (w *writer) contentsList(entries []*bookmark, deep int, next *element) []box {
	sect := &element{kind: "Sect", parent: w.tags.root}
	i := slices.IndexFunc(w.tags.root.kids, func(k kid) bool { return k.element == next.parent })
	w.tags.root.kids = slices.Insert(w.tags.root.kids, max(i, 0), kid{element: sect})
	w.tags.at = sect
	defer func() { w.tags.at = w.tags.root }()
	list := w.heading("Contents", 1, w.whole())
	_, end := w.group("TOC")
	defer end()
	for _, m := range entries {
		if m.level <= deep {
			list = append(list, w.entry(m))
		}
	}
	return list
}

// entry sets a heading of the contents, its page at the right, both linked to it.
func (w *writer) entry(m *bookmark) box {
	const room = 34.0 // for the number
	x := w.paper.side + 14*float64(m.level)
	style := document.Style(0)
	if m.level == 0 {
		style = document.Bold
	}
	face := w.fonts.get(keyOf(style))
	regular := w.fonts.get(faceKey{})
	_, end := w.group("TOCI")
	defer end()
	_, end = w.group("Reference")
	defer end()
	tag := w.leaf("Link")
	title := w.fitTag(tag, m.title, style, contentsSize, textWidth-room-(x-w.paper.side))
	above := 0.0
	if m.level == 0 {
		above = 3
	}
	return box{height: contentsHeight, tag: tag, above: above, draw: func(w *writer, y float64) error {
		base, right := y+baseline(contentsSize, contentsHeight), w.paper.side+textWidth
		page := strconv.Itoa(m.page)
		number := regular.width(page, contentsSize)
		w.text(x, base, title+" ", face, contentsSize, ink) // or its last word is joined to the number
		w.text(right-number, base, page, regular, contentsSize, ink)
		dot := regular.width(".", contentsSize)
		from := x + face.width(title, contentsSize) + 6
		if n := int((right - room + 20 - from) / (2 * dot)); n > 2 { // the dots of all entries stand below each other
			w.within(nil, func() {
				w.text(right-room+20-2*dot*float64(n), base, strings.Repeat(". ", n), regular, contentsSize, faint)
			})
		}
		w.link(link{x: w.paper.side, y: y, width: textWidth, height: contentsHeight, to: m, tag: tag,
			text: w.meta(m.title) + ", page " + page})
		return nil
	}}
}
