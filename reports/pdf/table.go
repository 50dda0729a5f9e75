package pdf

import (
	"fmt"
	"strings"

	"wedgework/reports/document"
)

// tall is how many lines of a row stand together. A longer cell is broken over pages, since it might be
// longer than any page; a shorter one is easier to read whole.
const tall = 14

// whole is how many rows a table may have to be kept on one page, and wholeCompact one whose rows stand close.
const whole, wholeCompact = 12, 20

// tallHead is how many lines the head of a table may have: it comes again on every page.
const tallHead = 8

// wholeNote is how many lines the note under a table may have to be kept on one page.
const wholeNote = 6

// table sets a table: caption above, a head repeated on every page, rules only where the eye needs them.
func (w *writer) table(t document.Table, at place) ([]box, error) {
	if len(t.Columns) == 0 {
		return nil, fmt.Errorf("it has no columns")
	}
	for i, r := range t.Rows {
		if len(r) != len(t.Columns) {
			return nil, fmt.Errorf("row %d has %d cells, expected %d", i+1, len(r), len(t.Columns))
		}
	}
	if panes := w.panes(t, at); len(panes) > 1 {
		var boxes []box
		for _, p := range panes {
			more, err := w.table(p, at)
			if err != nil {
				return nil, err
			}
			boxes = append(boxes, more...)
		}
		return boxes, nil
	}
	g := w.grid(t, at)
	_, end := w.group("Table")
	caption := w.tableCaption(t.Caption, at)
	tags := w.tableTags(len(t.Columns), len(t.Rows))
	heads := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = headText(c.Head)
	}
	head := w.headRow(g, heads, tags[0])
	repeated := w.continued(t.Caption, head, at)

	most := whole
	if t.Compact {
		most = wholeCompact
	}
	boxes := append(caption, head)
	for i, r := range t.Rows {
		row := w.row(g, r, tags[i+1], i == len(t.Rows)-1)
		for k := range row {
			row[k].head = &repeated
		}
		// A short table is broken only where much of a page would be empty, and of none does the first or the last row
		// stand alone.
		if last := len(t.Rows) - 1; i < last {
			alone := i == 0 || i == last-1
			row[len(row)-1].keep, row[len(row)-1].loose = alone || len(t.Rows) <= most, !alone
		}
		boxes = append(boxes, row...)
	}
	if len(t.Rows) == 0 {
		ls := w.plainLines("no rows", document.Italic, 8, at.width, grey)
		boxes = append(boxes, w.lines(w.noRows(len(t.Columns)), ls, at, 10.5, 3, 0)...)
	}
	end()
	if t.Note != "" {
		boxes[len(boxes)-1].keep = true
		boxes[len(boxes)-1].below = 3
		note := w.lines(w.leaf("P"), w.plainLines(t.Note, 0, 8, at.width, grey), at, 10.5, 3, 0)
		for i := range note[:len(note)-1] {
			note[i].keep = note[i].keep || len(note) <= wholeNote
		}
		boxes = append(boxes, note...)
	}
	return spaced(boxes, gapTable), nil
}

// headText keeps the stroke before a unit with its unit: "Margin / dB" is broken before the stroke.
func headText(s string) string { return strings.ReplaceAll(s, " / ", " /"+tie) }

// tableCaption sets the caption above a table and keeps it there.
func (w *writer) tableCaption(caption string, at place) []box {
	if caption == "" {
		return nil
	}
	ls := w.breakLines(captionSpans(caption), captionSize, at.width, ink)
	boxes := w.lines(w.leaf("Caption"), ls, at, captionLeading, 0, 0)
	for i := range boxes {
		boxes[i].keep = true
	}
	boxes[len(boxes)-1].below = 4
	return boxes
}

// captionSpans sets the name of a figure or table, as "Figure 3.", in bold.
func captionSpans(s string) []document.Span {
	for _, kind := range []string{"Figure ", "Table "} {
		rest, ok := strings.CutPrefix(s, kind)
		if !ok {
			continue
		}
		n := strings.IndexAny(rest, ".: ")
		if n <= 0 || strings.Trim(rest[:n], "0123456789") != "" {
			continue
		}
		if rest[n] != ' ' {
			n++
		}
		return []document.Span{{Text: kind + rest[:n], Style: document.Bold}, {Text: rest[n:]}}
	}
	return []document.Span{{Text: s}}
}

// continued is the head as it is repeated on later pages, under one line of the caption. It says nothing new: to who
// hears the page it is decoration.
func (w *writer) continued(caption string, head box, at place) box {
	if caption == "" {
		return box{block: head.block, height: head.height, draw: func(w *writer, y float64) error {
			return w.decoration(func() error { return head.draw(w, y) })
		}}
	}
	const more = " (continued)"
	text := w.fit(caption, document.Italic, captionSize, at.width-70) + more
	face := w.fonts.get(faceKey{italic: true})
	return box{block: head.block, height: captionLeading + 4 + head.height, draw: func(w *writer, y float64) error {
		return w.decoration(func() error {
			w.text(at.x, y+baseline(captionSize, captionLeading), text, face, captionSize, grey)
			return head.draw(w, y+captionLeading+4)
		})
	}}
}

// grid is where the columns of a table stand.
type grid struct {
	place
	columns []document.Column
	widths  []float64 // of the text in them
	size    float64
	leading float64
	pad     float64 // left and right of a cell's text
	rowPad  float64 // above and below a row
}

const (
	monoShare = 0.88 // of the size: the fixed-pitch face looks larger than the other
	tightPad  = 3.0  // left and right of a cell of a table of many columns
	smallest  = 6.5  // size of a table's type; one that needs a smaller is split by columns
)

// grid chooses the widths. Columns get what their longest line needs when all fit; otherwise the widest
// give way until all do, though none below its longest word. A table too wide for its words gets smaller
// type.
func (w *writer) grid(t document.Table, at place) grid {
	g := grid{place: at, columns: t.Columns, size: tableSize, pad: 5, rowPad: 2.8}
	if t.Compact {
		g.rowPad = 1
	}
	if len(t.Columns) > 9 {
		g.pad = tightPad
	}
	room := at.width - 2*g.pad*float64(len(t.Columns))
	natural, least := w.measureColumns(t)
	total, words := sum(natural), sum(least)
	for g.size > 7.5 && total*g.size/tableSize > room && total*7.5/tableSize <= room {
		g.size -= 0.5 // a little smaller rather than broken
	}
	for words*g.size/tableSize > room && g.size > smallest {
		g.size -= 0.5
	}
	g.leading = g.size * tableLeading / tableSize
	scale := g.size / tableSize
	total, words = total*scale, words*scale
	g.widths = make([]float64, len(natural))
	switch {
	case total <= room:
		// Some air, but not so much that a row falls apart.
		extra := min((room-total)/float64(len(natural)), 16)
		for i := range natural {
			g.widths[i] = natural[i]*scale + extra
		}
	case words <= room:
		level := waterLevel(natural, least, room/scale)
		for i := range natural {
			g.widths[i] = max(least[i], min(natural[i], level)) * scale
		}
	default:
		for i := range natural {
			g.widths[i] = room * least[i] * scale / words
		}
	}
	g.width = sum(g.widths) + 2*g.pad*float64(len(g.widths))
	return g
}

// panes splits a table that is too wide in the smallest type into several that stand below each other, each
// with the first column, which names the rows.
func (w *writer) panes(t document.Table, at place) []document.Table {
	const few = 3 // columns: of these the cells are broken rather than the table
	_, least := w.measureColumns(t)
	need := func(i int) float64 { return least[i]*smallest/tableSize + 2*tightPad }
	total := 0.0
	for i := range least {
		total += need(i)
	}
	if total <= at.width || len(t.Columns) <= few {
		return []document.Table{t}
	}
	var panes []document.Table
	for from := 1; from < len(t.Columns); {
		to, used := from, need(0)
		for to < len(t.Columns) && (to == from || used+need(to) <= at.width) {
			used += need(to)
			to++
		}
		p := document.Table{Compact: t.Compact, Columns: append([]document.Column{t.Columns[0]}, t.Columns[from:to]...)}
		for _, r := range t.Rows {
			p.Rows = append(p.Rows, append([]string{r[0]}, r[from:to]...))
		}
		first := from + 1
		if from == 1 {
			first = 1
		}
		p.Caption = strings.TrimSpace(fmt.Sprintf("%s (columns %d to %d of %d)", t.Caption, first, to, len(t.Columns)))
		if to == len(t.Columns) {
			p.Note = t.Note
		}
		panes = append(panes, p)
		from = to
	}
	return panes
}

// waterLevel returns the width that no column may pass unless its longest word does, so that all together
// fill the room: columns of short texts stay unbroken at the cost of those that break well.
func waterLevel(natural, least []float64, room float64) float64 {
	lo, hi := 0.0, room
	for range 50 { // halving: far below any printer's step
		mid := (lo + hi) / 2
		total := 0.0
		for i := range natural {
			total += max(least[i], min(natural[i], mid))
		}
		if total > room {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo
}

// measureColumns returns the width of each column's longest line and longest word at the usual size. A word
// longer than a third of the page counts as that: a hash may be broken.
func (w *writer) measureColumns(t document.Table) (natural, least []float64) {
	natural, least = make([]float64, len(t.Columns)), make([]float64, len(t.Columns))
	tally := func(i int, face *face, cell string) {
		size := tableSize
		if face.key.mono {
			size *= monoShare
		}
		for _, l := range strings.Split(w.plainCell(face, cell), "\n") {
			natural[i] = max(natural[i], face.width(l, size))
			for _, word := range strings.Split(tieUnits(l), " ") { // not Fields: it would break at ties
				least[i] = max(least[i], min(face.width(word, size), textWidth/3))
			}
		}
		least[i] = max(least[i], 4)
		natural[i] = max(natural[i]+hair, least[i])
	}
	for i, c := range t.Columns {
		tally(i, w.fonts.get(faceKey{bold: true}), headText(c.Head))
		for _, r := range t.Rows {
			tally(i, w.fonts.get(faceKey{mono: c.Mono}), r[i])
		}
	}
	return natural, least
}

// plainCell cleans text for measuring without counting what is missing twice.
func (w *writer) plainCell(f *face, s string) string {
	trial := fonts{missing: map[rune]int{}}
	return trial.clean(f, s)
}

func sum(v []float64) float64 {
	t := 0.0
	for _, x := range v {
		t += x
	}
	return t
}

// cells breaks the texts of a row into lines.
func (w *writer) cells(g grid, texts []string, style document.Style) [][]line {
	out := make([][]line, len(texts))
	for i, s := range texts {
		st, size := style, g.size
		if g.columns[i].Mono && style == 0 {
			st, size = document.Mono, size*monoShare
		}
		out[i] = w.plainLines(s, st, size, g.widths[i], ink)
	}
	return out
}

func deepest(cells [][]line) int {
	n := 1
	for _, c := range cells {
		n = max(n, len(c))
	}
	return n
}

// drawCells draws lines from to up to of each cell from a height on.
func (w *writer) drawCells(g grid, tags []*element, cells [][]line, from, to int, y float64) {
	defer func(outer *element) { w.tags.target = outer }(w.tags.target)
	x := g.x
	for i, c := range cells {
		w.tags.target = tags[i]
		for k := from; k < min(to, len(c)); k++ {
			dx := g.pad
			switch g.columns[i].Align {
			case document.Right:
				dx += g.widths[i] - c[k].width
			case document.Centre:
				dx += (g.widths[i] - c[k].width) / 2
			}
			w.line(c[k], x+dx, y+float64(k-from)*g.leading, g.leading)
		}
		x += g.widths[i] + 2*g.pad
	}
}

func (w *writer) headRow(g grid, heads []string, tags []*element) box {
	cells := w.cells(g, heads, document.Bold)
	for i, c := range cells {
		if len(c) > tallHead {
			cells[i] = append(c[:tallHead-1:tallHead-1], w.plainLines("\u2026", document.Bold, g.size, g.widths[i],
				ink)...)
			w.cutHeads++
			tags[i].actual = w.meta(heads[i])
		}
	}
	n := deepest(cells)
	h := float64(n)*g.leading + 7
	return box{height: h, keep: true, draw: func(w *writer, y float64) error {
		w.rect(g.x, y, g.width, h, shade)
		w.rule(g.x, y, g.width, 0.8, ink)
		w.rule(g.x, y+h, g.width, 0.5, ink)
		for i := range cells { // heads stand on the rule, however many lines their neighbours have
			one := make([][]line, len(cells))
			one[i] = cells[i]
			w.drawCells(g, tags, one, 0, n, y+3.5+float64(n-len(cells[i]))*g.leading)
		}
		return nil
	}}
}

// row sets a row.
func (w *writer) row(g grid, texts []string, tags []*element, last bool) []box {
	cells := w.cells(g, texts, 0)
	return sheaf(deepest(cells), g.leading, g.rowPad, func(w *writer, y float64, s stretch) {
		w.drawCells(g, tags, cells, s.from, s.to, y+s.top)
		switch {
		case s.last && last:
			w.rule(g.x, y+s.height, g.width, 0.8, ink)
		case s.last:
			w.rule(g.x, y+s.height, g.width, 0.4, hairInk)
		}
	})
}
