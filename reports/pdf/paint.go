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
	b := append(w.scratch[:0], "BT "...)
	b = append(strconv.AppendFloat(b, x, 'f', 2, 64), ' ')
	b = append(strconv.AppendFloat(b, y, 'f', 2, 64), " Td ("...)
	for _, r := range s {
		f.used.add(r)
		for _, c := range [2]byte{byte(r >> 8), byte(r)} {
			switch c {
			case '(', ')', '\\':
				b = append(b, '\\', c)
			case '\r': // by itself it would be read as the end of a line
				b = append(b, '\\', 'r')
			default:
				b = append(b, c)
			}
		}
	}
	w.scratch = append(b, ") Tj ET"...)
	w.pdf.RawWriteStr(string(w.scratch))
}

// text draws cleaned text with its baseline at y.
func (w *writer) text(x, y float64, s string, f *face, size float64, c rgb) {
	w.seen(x, y, visual(s), f, size, c)
}

// seen draws text that is already in the order in which it is seen.
func (w *writer) seen(x, y float64, s string, f *face, size float64, c rgb) {
	if strings.TrimSpace(s) == "" {
		return
	}
	w.setFill(c)
	f.split(s, func(f *face, s string) {
		w.setFace(f, size)
		w.show(x, pageHeight-y, f, s)
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
	for _, r := range l.runs {
		w.seen(x+r.x, base+r.drop, r.text, r.face, r.size, r.color)
		if r.link != "" {
			w.rule(x+r.x, base+1.5, r.width, 0.4, r.color) // underlined: a link is not told by colour alone
			w.pdf.LinkString(x+r.x, y, r.width, leading, r.link)
		}
	}
}

// rule draws a level line of a thickness, its middle at y.
func (w *writer) rule(x, y, length, thickness float64, c rgb) {
	w.setDraw(c, thickness)
	w.pdf.Line(x, y, x+length, y)
}

// rect fills a rectangle.
func (w *writer) rect(x, y, width, height float64, c rgb) {
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
		fmt.Fprintf(&b, "%.2f %.2f %s ", xy[i], pageHeight-xy[i+1], cmd)
	}
	if closed {
		b.WriteString("h ")
	}
	b.WriteString(op)
	w.pdf.RawWriteStr(b.String())
}
