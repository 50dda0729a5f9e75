package pdf

import (
	"fmt"
	"strconv"
	"strings"
)

// rgb is a colour of the page.
type rgb struct{ r, g, b uint8 }

// Sober: near black for text, two greys, and the outcome colours of Okabe and Ito (2008) for marks only.
var (
	ink     = rgb{0x1A, 0x1A, 0x1A}
	grey    = rgb{0x55, 0x55, 0x55}
	faint   = rgb{0xB4, 0xB4, 0xB4}
	hairInk = rgb{0xD8, 0xD8, 0xD8}
	shade   = rgb{0xF3, 0xF3, 0xF3}
	white   = rgb{0xFF, 0xFF, 0xFF}
	accent  = rgb{0x1F, 0x3A, 0x5F} // dark blue of headings; a choice
	linkInk = rgb{0x00, 0x4F, 0x7C} // darker than the palette's blue, to be read at text size
	passInk = rgb{0x00, 0x9E, 0x73}
	failInk = rgb{0xD5, 0x5E, 0x00}
	openInk = rgb{0xE6, 0x9F, 0x00}
)

// graphics is what the page being painted is set to, so that nothing is set twice.
type graphics struct {
	fill, draw *rgb
	width      float64
	face       *face
	size       float64
}

func (w *writer) setFill(c rgb) {
	if w.now.fill == nil || *w.now.fill != c {
		w.pdf.SetFillColor(int(c.r), int(c.g), int(c.b))
		w.now.fill = &c
	}
}

func (w *writer) setDraw(c rgb, width float64) {
	if w.now.draw == nil || *w.now.draw != c {
		w.pdf.SetDrawColor(int(c.r), int(c.g), int(c.b))
		w.now.draw = &c
	}
	if w.now.width != width {
		w.pdf.SetLineWidth(width)
		w.now.width = width
	}
}

func (w *writer) setFace(f *face, size float64) {
	if w.now.face != f || w.now.size != size {
		b := append(w.scratch[:0], "BT /"...)
		b = append(append(b, w.fonts.use(f)...), ' ')
		w.scratch = append(strconv.AppendFloat(b, size, 'f', 2, 64), " Tf ET"...)
		w.pdf.RawWriteStr(string(w.scratch))
		w.now.face, w.now.size = f, size
	}
}

// show draws cleaned text in the face that is set, from a point given in the page's own coordinates, y upwards.
func (w *writer) show(x, y float64, f *face, s string) {
	w.enter(w.tags.target)
	b := append(w.scratch[:0], "BT "...)
	b = append(strconv.AppendFloat(b, x, 'f', 2, 64), ' ')
	b = append(strconv.AppendFloat(b, y, 'f', 2, 64), " Td ("...)
	for _, r := range s {
		f.used.add(r)
		b = appendEscaped(appendEscaped(b, byte(r>>8)), byte(r))
	}
	w.scratch = append(b, ") Tj ET"...)
	w.pdf.RawWriteStr(string(w.scratch))
}

// text draws cleaned text with its baseline at y.
func (w *writer) text(x, y float64, s string, f *face, size float64, c rgb) {
	w.textIn(x, y, s, leftward(s), f, size, c)
}

// textIn is text in a paragraph of a direction.
func (w *writer) textIn(x, y float64, s string, left bool, f *face, size float64, c rgb) {
	if strings.TrimSpace(s) == "" {
		return
	}
	w.setFill(c)
	if turns(s) {
		w.turned(x, y, s, left, f, size)
		return
	}
	w.plain(x, y, s, f, size)
}

// turned draws text that is not seen in the order in which it is read: character by character in the order of
// reading, so that the file can be read in it, each where it is seen.
func (w *writer) turned(x, y float64, s string, left bool, f *face, size float64) {
	type spot struct {
		r    rune
		from float64
	}
	order := arrange(s, left)
	spots := make([]spot, len(order))
	for _, g := range order {
		spots[g.at] = spot{g.r, x}
		x += f.width(string(g.r), size)
	}
	for i, r := range []rune(s) {
		if spots[i].r == r {
			w.plain(spots[i].from, y, string(r), f, size)
			continue
		}
		mirrored := &element{kind: "Span", actual: string(r)} // a bracket that is seen as the other one
		w.place(mirrored)
		w.within(mirrored, func() { w.plain(spots[i].from, y, string(spots[i].r), f, size) })
	}
}

// plain draws text that is read from left to right.
func (w *writer) plain(x, y float64, s string, f *face, size float64) {
	f.split(s, func(f *face, s string) {
		w.setFace(f, size)
		w.show(x, w.paper.height-y, f, s)
		x += f.width(s, size)
	})
}

// baseline returns how far below the top of a line of a leading the baseline lies.
func baseline(size, leading float64) float64 {
	return (leading-(ascent+descent)*size)/2 + ascent*size
}

// line draws a broken line in a strip of height leading whose top is at y.
func (w *writer) line(l line, x, y, leading float64) {
	base := y + baseline(l.size, leading)
	for i := range l.runs {
		r := &l.runs[i]
		if l.left { // in the order of reading
			r = &l.runs[len(l.runs)-1-i]
		}
		outer := w.tags.target
		if r.tag != nil {
			w.place(r.tag)
			w.tags.target = r.tag
		}
		w.textIn(x+r.x, base+r.drop, r.text, l.left, r.face, r.size, r.color)
		w.tags.target = outer
		if r.link != "" {
			w.rule(x+r.x, base+1.5, r.width, 0.4, r.color) // underlined: a link is not told by colour alone
			w.link(link{x: x + r.x, y: y, width: r.width, height: leading, address: r.link, tag: r.linkTag(),
				text: "leads to " + w.meta(r.link)})
		}
	}
}

// rule draws a level line of a thickness, its middle at y.
func (w *writer) rule(x, y, length, thickness float64, c rgb) {
	w.enter(nil)
	w.setDraw(c, thickness)
	w.pdf.Line(x, y, x+length, y)
}

// rect fills a rectangle.
func (w *writer) rect(x, y, width, height float64, c rgb) {
	w.enter(nil)
	w.setFill(c)
	w.pdf.Rect(x, y, width, height, "F")
}

// polygon fills (thickness 0) or strokes a closed or open line through points, given in points from the
// upper left corner.
func (w *writer) polygon(c rgb, thickness float64, closed bool, xy ...float64) {
	op := "f"
	if thickness > 0 {
		w.setDraw(c, thickness)
		op = "S"
	} else {
		w.setFill(c)
	}
	var b strings.Builder
	for i := 0; i+1 < len(xy); i += 2 {
		cmd := "l"
		if i == 0 {
			cmd = "m"
		}
		fmt.Fprintf(&b, "%.2f %.2f %s ", xy[i], w.paper.height-xy[i+1], cmd)
	}
	if closed {
		b.WriteString("h ")
	}
	b.WriteString(op)
	w.enter(nil)
	w.pdf.RawWriteStr(b.String())
}
