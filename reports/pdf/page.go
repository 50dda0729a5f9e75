package pdf

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"wedgework/reports/document"
)

// paper is the sheet that pages are made for, in points. The text is as wide on all.
type paper struct {
	name                string // as the library has it
	width, height, side float64
}

const (
	marginTop = 70.0
	textWidth = 595.28 - 2*56.69 // that of A4 between margins of 20 mm: the 170 mm that figures are drawn for
)

// sheet returns the paper of a name: ISO 216 A4, the usual one, or ANSI/ASME Y14.1 A, which is called letter.
func sheet(name string) (paper, error) {
	p := paper{name: "A4", width: 595.28, height: 841.89}
	switch name {
	case "", "a4":
	case "letter":
		p = paper{name: "Letter", width: 612, height: 792}
	default:
		return p, fmt.Errorf("found the paper %q, expected a4 or letter", name)
	}
	p.side = (p.width - textWidth) / 2
	return p, nil
}

// box is what a block becomes: something of a fixed height that is never cut.
type box struct {
	block  string  // names the block in errors
	height float64 // of the box itself
	above  float64 // space before it, none at the top of a page; of two neighbours the greater counts
	below  float64
	keep   bool // stands on the same page as the next box
	loose  bool // but may be parted from it where much of a page would be empty otherwise
	head   *box // repeated on top when this box comes first on a page: the head of a table
	mark   *bookmark
	draw   func(w *writer, y float64) error
	tag    *element // what is drawn belongs to it, but for what draw says itself; nil for decoration

	// give is the height that the box can do without rather than leave the rest of a page empty; lower then
	// draws it that much lower.
	give  float64
	lower func(height float64) func(w *writer, y float64) error
}

type bookmark struct {
	title string
	level int

	page int // where its box stands, once the pages are made up
	y    float64
}

// placed is a box at its height on a page.
type placed struct {
	box
	y float64
}

// paginate puts boxes on pages of a height.
func paginate(boxes []box, room float64) ([][]placed, error) {
	var pages [][]placed
	var page []placed
	y, below := 0.0, 0.0
	put := func(b box) {
		if len(page) > 0 {
			y += max(below, b.above)
		}
		page = append(page, placed{b, marginTop + y})
		y += b.height
		below = b.below
	}
	turn := func() {
		pages = append(pages, page)
		page, y, below = nil, 0, 0
	}
	for i := 0; i < len(boxes); {
		n := chain(boxes[i:], room)
		if over := y + measure(boxes[i:i+n], len(page) > 0, below) - room; len(page) > 0 && over > hair {
			last, part := boxes[i+n-1], loosened(boxes[i:i+n], room-y, below)
			switch {
			case last.give >= over:
				last.height -= over
				last.draw = last.lower(last.height)
				boxes[i+n-1] = last
			case part > 0 && room-y > mostEmpty*room:
				n = part
			default:
				turn()
			}
		}
		for _, b := range boxes[i : i+n] {
			if len(page) == 0 && b.head != nil {
				put(*b.head)
			}
			if b.height > room+hair {
				return nil, fmt.Errorf("%s is %.0f points high, and a page has room for %.0f", b.block, b.height, room)
			}
			put(b)
		}
		i += n
	}
	if len(page) > 0 || len(pages) == 0 {
		turn()
	}
	return pages, nil
}

// locate tells the bookmarks where they are.
func locate(pages [][]placed) {
	for n, page := range pages {
		for _, b := range page {
			if b.mark != nil {
				b.mark.page, b.mark.y = n+1, b.y
			}
		}
	}
}

// chain returns how many boxes from the first on must stand together; never more than a page can hold, so
// that a table whose rows all ask to be kept is still broken somewhere.
func chain(boxes []box, room float64) int {
	n := 1
	for n < len(boxes) && boxes[n-1].keep {
		n++
	}
	for n > 1 && measure(boxes[:n], false, 0) > room {
		n--
	}
	return n
}

// mostEmpty is the share of a page that is left empty rather than break a table that one page could hold.
const mostEmpty = 1.0 / 3

// loosened returns how many boxes of a chain fit on the rest of a page, below others, if it is broken after a loose
// one; 0 if none do.
func loosened(boxes []box, rest, below float64) int {
	most := 0
	for n := 1; n < len(boxes) && measure(boxes[:n], true, below) <= rest+hair; n++ {
		if boxes[n-1].loose {
			most = n
		}
	}
	return most
}

// measure returns the height of boxes, with the space before the first when it is not on top of a page and
// with the head that it brings when it is.
func measure(boxes []box, follows bool, below float64) float64 {
	h := 0.0
	if follows {
		h = max(below, boxes[0].above)
	} else if boxes[0].head != nil {
		h = boxes[0].head.height
	}
	for i, b := range boxes {
		if i > 0 {
			h += max(boxes[i-1].below, b.above)
		}
		h += b.height
	}
	return h
}

// paint draws one page. An error of a box, or a panic below it, names the block.
func (w *writer) paint(page []placed, n, of int) error {
	w.pdf.AddPage()
	w.now = graphics{}
	w.turnPage()
	defer w.leave()
	if err := w.guard("the running head", func() error { w.paintEdges(n, of); return nil }); err != nil {
		return err
	}
	for _, b := range page {
		err := w.guard(b.block, func() error {
			if b.mark != nil {
				w.bookmark(*b.mark, b.y)
			}
			w.tags.target = b.tag
			return b.draw(w, b.y)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// guard runs f and names the block in whatever goes wrong.
func (w *writer) guard(block string, f func() error) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("%s: %w", block, err)
		}
	}()
	defer catch(&err)
	if err := f(); err != nil {
		return err
	}
	if err := w.pdf.Error(); err != nil {
		return fmt.Errorf("the PDF library: %w", err)
	}
	return nil
}

// landing is the air over a heading where the reader lands.
const landing = 4

// bookmark adds an entry to the outline. fpdf loses its place when a level is left out, so a deeper entry is
// never more than one level below the one before it.
func (w *writer) bookmark(m bookmark, y float64) {
	w.level = max(0, min(m.level, w.level+1))
	w.pdf.Bookmark(string(utf16Text(w.meta(m.title))), w.level, y-landing)
}

// meta cleans text that is read outside the pages, where any face may be at hand: only what fpdf cannot
// write is replaced.
func (w *writer) meta(s string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xFFFF || r < ' ' {
			return '\uFFFD'
		}
		return r
	}, strings.ToValidUTF8(strings.Join(strings.Fields(s), " "), "\uFFFD"))
}

// Sizes of the running head and foot.
const (
	edgeSize    = 8.0
	edgeLeading = 10.5
	footGap     = 8.0 // between the foot's rule and its text
	footEdge    = 30.0
)

// prepareHead cuts and breaks what stands at the edges of every page.
func (w *writer) prepareHead(d document.Document) {
	var parts []string
	for _, s := range []string{d.Covers, d.Number} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if d.Revision != "" {
		parts = append(parts, "revision "+d.Revision)
	}
	w.number = w.fit(strings.Join(parts, ", "), document.Bold, edgeSize, textWidth/2)
	used := w.fonts.get(faceKey{bold: true}).width(w.number, edgeSize)
	w.title = w.fit(d.Title, 0, edgeSize, textWidth-used-20)
	if d.Report != "" {
		w.report = d.Report + "   "
	}
	if d.Digest != "" {
		w.report += cmp.Or(d.DigestOf, "record") + " " + d.Digest + "   "
	}
	if d.Notice != "" {
		room := textWidth - 80 - w.fonts.get(faceKey{}).width(w.report, edgeSize)
		w.notice = w.plainLines(d.Notice, 0, edgeSize, room, grey)
	}
	w.footHeight = footEdge + edgeLeading*float64(max(len(w.notice), 1)) + footGap + 12
}

// paintEdges draws the running head and foot. The first page bears the title itself and needs only the number.
func (w *writer) paintEdges(n, of int) {
	w.tags.target, w.tags.edge = nil, true
	defer func() { w.leave(); w.tags.edge = false }()
	regular, bold := w.fonts.get(faceKey{}), w.fonts.get(faceKey{bold: true})
	w.text(w.paper.width-w.paper.side-bold.width(w.number, edgeSize), 46, w.number, bold, edgeSize, grey)
	if n > 1 {
		w.text(w.paper.side, 46, w.title, regular, edgeSize, grey)
		w.rule(w.paper.side, 52, textWidth, 0.5, faint)
	}
	top := w.paper.height - w.footHeight + 12
	w.rule(w.paper.side, top, textWidth, 0.5, faint)
	for i, l := range w.notice {
		w.line(l, w.paper.side, top+footGap-3+float64(i)*edgeLeading, edgeLeading)
	}
	page := w.report + "page " + strconv.Itoa(n) + " of " + strconv.Itoa(of)
	w.text(w.paper.width-w.paper.side-regular.width(page, edgeSize), top+footGap-3+baseline(edgeSize, edgeLeading),
		page,
		regular, edgeSize, grey)
}
