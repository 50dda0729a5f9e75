package pdf

import (
	"strconv"
)

// A file says what its pages hold: a tree of elements (ISO 32000-1, 14.7 and 14.8), which is what is read aloud,
// copied and set anew on narrow screens. Layout makes the elements, in the order of reading; painting adds to them the
// pieces of the pages' contents that they hold. What belongs to no element is decoration, an artifact: rules, grounds,
// signs beside a word, running heads, and the head of a table where it comes again.

// element is a node of the tree.
type element struct {
	kind       string
	kids       []kid
	parent     *element
	outer      *element // of an element within running text: the one of the text that it is set in, if not the line's
	alt        string   // says what the element shows
	actual     string   // is the text that the element shows in another way: cut, or raised
	attributes string   // a dictionary, or one of sharedAttributes
	object     int      // number in the file
}

// kid is what an element holds: another element, or, on a page counted from 1, a piece of its contents or one of its
// annotations.
type kid struct {
	element    *element
	page       int
	id         int // of the piece within its page, of the annotation among all
	annotation bool
}

// Attributes that many elements have. They stand in the file once.
const (
	columnScope = "<</O/Table/Scope/Column>>"
	rowScope    = "<</O/Table/Scope/Row>>"
	numbered    = "<</O/List/ListNumbering/Decimal>>"
	bulleted    = "<</O/List/ListNumbering/Disc>>"
)

// roles are the kinds of element that are ours alone, and the standard ones that they stand for.
const roles = "<</Title/P/Subtitle/P/Caution/P/Listing/Div/CodeLine/P>>"

// tags is the tree that is being made, and where writing a page stands in it.
type tags struct {
	height float64 // of a page
	root   *element
	at     *element // gets the next element as a part
	level  int      // of the last heading

	target *element // what is drawn belongs to it; nil for decoration
	muted  bool     // whatever is drawn is decoration
	inside bool     // a piece of the page is open,
	open   *element // and belongs to this
	edge   bool     // what is drawn now stands at the edges of the page
	pages  [][]*element
	links  []link
}

// link is an annotation that leads elsewhere.
type link struct {
	page                int
	x, y, width, height float64 // from the page's upper left corner
	address             string  // "" within the file, where it leads to a bookmark
	to                  *bookmark
	text                string // says where it leads
	tag                 *element
	object              int
}

func newTags() tags {
	root := &element{kind: "Document"}
	return tags{root: root, at: root}
}

// leaf makes an element that is part of the one being made.
func (w *writer) leaf(kind string) *element {
	e := &element{kind: kind, parent: w.tags.at}
	w.tags.at.kids = append(w.tags.at.kids, kid{element: e})
	return e
}

// group makes an element that the next ones become part of, until end is called.
func (w *writer) group(kind string) (e *element, end func()) {
	e = w.leaf(kind)
	before := w.tags.at
	w.tags.at = e
	return e, func() { w.tags.at = before }
}

// headingTag makes the element of a heading. Its level is never more than one below that of the last.
func (w *writer) headingTag(level int) *element {
	const deepest = 6
	w.tags.level = min(max(level, 1), w.tags.level+1, deepest)
	return w.leaf("H" + strconv.Itoa(w.tags.level))
}

// within draws what belongs to an element.
func (w *writer) within(e *element, draw func()) {
	outer := w.tags.target
	w.tags.target = e
	draw()
	w.tags.target = outer
}

// decoration draws what belongs to no element, whatever it would belong to otherwise.
func (w *writer) decoration(draw func() error) error {
	outer := w.tags.muted
	w.tags.muted = true
	defer func() { w.tags.muted = outer }()
	return draw()
}

// place puts an element within running text where it is first drawn: after what was drawn of the text before.
func (w *writer) place(e *element) {
	if e.parent != nil || w.tags.muted {
		return
	}
	e.parent = w.tags.target
	if e.outer != nil {
		w.place(e.outer)
		e.parent = e.outer
	}
	if e.parent != nil {
		e.parent.kids = append(e.parent.kids, kid{element: e})
	}
}

// enter makes sure that what is drawn next belongs to an element, or is decoration. It alone begins and ends pieces.
func (w *writer) enter(e *element) {
	t := &w.tags
	if t.muted {
		e = nil
	}
	if t.inside && t.open == e {
		return
	}
	w.leave()
	t.inside, t.open = true, e
	switch {
	case e != nil:
		n := len(t.pages)
		id := len(t.pages[n-1])
		t.pages[n-1] = append(t.pages[n-1], e)
		e.kids = append(e.kids, kid{page: n, id: id})
		w.pdf.RawWriteStr("/" + e.kind + "<</MCID " + strconv.Itoa(id) + ">>BDC")
	case t.edge:
		w.pdf.RawWriteStr("/Artifact<</Type/Pagination>>BDC")
	default:
		w.pdf.RawWriteStr("/Artifact BMC")
	}
}

// leave ends the piece that is open, if one is.
func (w *writer) leave() {
	if w.tags.inside {
		w.pdf.RawWriteStr("EMC")
		w.tags.inside = false
	}
}

// turnPage begins the pieces of a page.
func (w *writer) turnPage() {
	w.tags.pages = append(w.tags.pages, nil)
}

// link records an annotation over a part of the page that is being painted.
func (w *writer) link(l link) {
	l.page = len(w.tags.pages)
	if !w.tags.muted && l.tag != nil {
		l.tag.kids = append(l.tag.kids, kid{page: l.page, id: len(w.tags.links), annotation: true})
	}
	w.tags.links = append(w.tags.links, l)
}
