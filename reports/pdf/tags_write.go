package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
)

// pageObject is the number that fpdf gives to a page, counted from 1.
func pageObject(page int) int { return 2*page + 1 }

// reserveTags numbers the annotations, what elements share, and the elements. The pages, which are written first, name
// the annotations.
func (f *file) reserveTags(t *tags) {
	f.tags = t
	for i := range t.links {
		t.links[i].object = f.next
		f.next++
	}
	f.shared = map[string]int{}
	for _, a := range []string{columnScope, rowScope, numbered, bulleted} {
		f.shared[a] = f.next
		f.next++
	}
	f.treeRoot, f.parents = f.next, f.next+1
	f.next += 2
	prune(t.root)
	f.number(t.root)
}

// prune drops elements that nothing was drawn of. An empty cell is still a cell, and an item without words still has
// a body.
func prune(e *element) bool {
	e.kids = slices.DeleteFunc(e.kids, func(k kid) bool { return k.element != nil && !prune(k.element) })
	return len(e.kids) > 0 || e.parent == nil || e.kind == "TD" || e.kind == "TH" || e.kind == "LBody"
}

func (f *file) number(e *element) {
	e.object = f.next
	f.next++
	for _, k := range e.kids {
		if k.element != nil {
			f.number(k.element)
		}
	}
}

// page adds to a page that fpdf wrote where its pieces stand in the tree, that the order of its annotations is that of
// the tree, and its annotations.
func (f *file) page(number int, body []byte) ([]byte, error) {
	page := (number - 1) / 2
	at := bytes.LastIndex(body, []byte("/Contents "))
	if at < 0 || number != pageObject(page) || page < 1 || page > len(f.tags.pages) {
		return nil, fmt.Errorf("object %d: the page is not as expected", number)
	}
	add := fmt.Appendf(nil, "/StructParents %d/Tabs/S\n", page-1)
	var annotations []byte
	for _, l := range f.tags.links {
		if l.page == page {
			annotations = appendReference(annotations, l.object)
			annotations = append(annotations, ' ')
		}
	}
	if len(annotations) > 0 {
		add = fmt.Appendf(add, "/Annots [%s]\n", bytes.TrimRight(annotations, " "))
	}
	return slices.Concat(body[:at], add, body[at:]), nil
}

func appendReference(b []byte, object int) []byte {
	return append(strconv.AppendInt(b, int64(object), 10), " 0 R"...)
}

// putTags writes what reserveTags numbered.
func (f *file) putTags() error {
	t := f.tags
	for i, l := range t.links {
		body, err := f.annotation(l, len(t.pages)+i)
		if err != nil {
			return err
		}
		f.putAs(l.object, body)
	}
	for _, a := range []string{columnScope, rowScope, numbered, bulleted} {
		f.putAs(f.shared[a], []byte(a))
	}
	f.putAs(f.treeRoot, fmt.Appendf(nil, "<</Type/StructTreeRoot/K %d 0 R/ParentTree %d 0 R/ParentTreeNextKey "+
		"%d/RoleMap%s>>", t.root.object, f.parents, len(t.pages)+len(t.links), roles))
	f.putAs(f.parents, f.parentTree())
	f.element(t.root)
	return nil
}

// annotation writes a link (ISO 32000-1, 12.5.6.5). The flag has it printed.
func (f *file) annotation(l link, key int) ([]byte, error) {
	if l.tag == nil {
		return nil, fmt.Errorf("page %d: the link %q belongs to no element", l.page, l.text)
	}
	b := fmt.Appendf(nil, "<</Type/Annot/Subtype/Link/F 4/Rect[%.2f %.2f %.2f %.2f]/Border[0 0 0]/StructParent "+
		"%d/Contents %s", l.x, f.tags.height-l.y, l.x+l.width, f.tags.height-l.y-l.height, key, textString(l.text))
	switch {
	case l.address != "":
		return fmt.Appendf(b, "/A<</S/URI/URI %s>>>>", textString(l.address)), nil
	case l.to != nil && l.to.page > 0:
		return fmt.Appendf(b, "/Dest[%d 0 R/XYZ 0 %.2f null]>>", pageObject(l.to.page), f.tags.height-l.to.y+landing),
			nil
	}
	return nil, errors.New("a link leads nowhere")
}

// parentTree leads from the pieces of each page, and from each annotation, to their elements.
func (f *file) parentTree() []byte {
	b := []byte("<</Nums[")
	for i, page := range f.tags.pages {
		b = append(strconv.AppendInt(b, int64(i), 10), '[')
		for k, e := range page {
			if k > 0 {
				b = append(b, ' ')
			}
			b = appendReference(b, e.object)
		}
		b = append(b, "]\n"...)
	}
	for i, l := range f.tags.links {
		b = append(strconv.AppendInt(b, int64(len(f.tags.pages)+i), 10), ' ')
		b = append(appendReference(b, l.tag.object), '\n')
	}
	return append(b, "]>>"...)
}

// element writes an element and its parts. The entry Type may be left out (ISO 32000-1, table 323).
func (f *file) element(e *element) {
	parent := f.treeRoot
	if e.parent != nil {
		parent = e.parent.object
	}
	b := append(f.scratch[:0], "<</S/"...)
	b = append(append(b, e.kind...), "/P "...)
	b = appendReference(b, parent)
	if e.alt != "" {
		b = appendText(append(b, "/Alt"...), e.alt)
	}
	if e.actual != "" {
		b = appendText(append(b, "/ActualText"...), e.actual)
	}
	if shared, ok := f.shared[e.attributes]; ok {
		b = appendReference(append(b, "/A "...), shared)
	} else if e.attributes != "" {
		b = append(append(b, "/A"...), e.attributes...)
	}
	f.scratch = append(f.kids(b, e), ">>"...)
	f.putAs(e.object, f.scratch)
	for _, k := range e.kids {
		if k.element != nil {
			f.element(k.element)
		}
	}
}

// kids writes what an element holds. Pieces on its own page, that of the first of them, need only their number.
func (f *file) kids(b []byte, e *element) []byte {
	own := 0
	for _, k := range e.kids {
		if own == 0 && k.page > 0 {
			own = k.page
			b = appendReference(append(b, "/Pg "...), pageObject(own))
		}
	}
	if len(e.kids) == 0 {
		return b
	}
	b = append(b, "/K["...)
	for i, k := range e.kids {
		if i > 0 {
			b = append(b, ' ')
		}
		switch {
		case k.element != nil:
			b = appendReference(b, k.element.object)
		case k.annotation:
			b = appendReference(append(b, "<</Type/OBJR/Obj "...), f.tags.links[k.id].object)
			b = append(appendReference(append(b, "/Pg "...), pageObject(k.page)), ">>"...)
		case k.page == own:
			b = strconv.AppendInt(b, int64(k.id), 10)
		default:
			b = appendReference(append(b, "<</Type/MCR/Pg "...), pageObject(k.page))
			b = append(strconv.AppendInt(append(b, "/MCID "...), int64(k.id), 10), ">>"...)
		}
	}
	return append(b, ']')
}

// appendText appends a text string of PDF: as textString does, but what is not plain ASCII in half as many bytes.
func appendText(b []byte, s string) []byte {
	for _, r := range s {
		if r < ' ' || r > '~' {
			b = append(b, '(')
			for _, c := range utf16Text(s) {
				b = appendEscaped(b, c)
			}
			return append(b, ')')
		}
	}
	return append(b, textString(s)...)
}

// appendEscaped appends a byte of a string in brackets.
func appendEscaped(b []byte, c byte) []byte {
	switch c {
	case '(', ')', '\\':
		return append(b, '\\', c)
	case '\r': // by itself it would be read as the end of a line
		return append(b, '\\', 'r')
	}
	return append(b, c)
}
