package document

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"html"
	"image"
	"image/png"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"wedgework/reports/readout"
)

// SVG draws a figure as a stand-alone SVG document. The text stays text; where Liberation Sans is not
// installed, faces of the same metrics stand in. A panic of the drawing becomes an error.
func SVG(f Figure) (svg string, err error) {
	c, err := drawn(f, false)
	if err != nil {
		return "", err
	}
	return svgHead(c) + string(c.out) + "</svg>\n", nil
}

// svgHead begins a stand-alone document.
func svgHead(c *svgCanvas) string {
	return fmt.Sprintf("<?xml version=\"1.0\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" "+
		"xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"%[1]spt\" height=\"%[2]spt\" viewBox=\"0 0 %[1]s "+
		"%[2]s\" font-family=\"%[3]s\">\n", hundredths(c.w), hundredths(c.h), sansFaces)
}

// InlineSVG draws a figure as an element of an HTML page, which names it to whoever does not see it by the text given;
// and returns what can be read off it, nil for nothing.
func InlineSVG(f Figure, text string) (svg string, data *readout.Figure, err error) {
	c, err := drawn(f, true)
	if err != nil {
		return "", nil, err
	}
	head := fmt.Sprintf("<svg role=\"img\" aria-label=\"%s\" viewBox=\"0 0 %s %s\" font-family=\"%s\">\n",
		html.EscapeString(xmlText(text)), hundredths(c.w), hundredths(c.h), sansFaces)
	if len(c.read.Panels) > 0 {
		data = &c.read
		data.Width, data.Height = float64(c.w), float64(c.h)
	}
	return head + string(c.out) + "</svg>", data, nil
}

// drawn draws a figure.
func drawn(f Figure, parts bool) (c *svgCanvas, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("drawing panicked: %v", r)
		}
	}()
	if f.Drawing == nil {
		return nil, errors.New("the figure has no drawing")
	}
	c = &svgCanvas{graphics: newGraphics(f)}
	vg.Initialize(c)
	var to vg.CanvasSizer = c
	if parts {
		to = partedCanvas{c}
	}
	if err := f.Drawing.Draw(to); err != nil {
		return nil, err
	}
	return c, nil
}

// svgCanvas writes what is drawn as elements of SVG that have no style of their own beside attributes: a page can
// forbid inline styles. Coordinates are those of the finished drawing, in hundredths of a point.
type svgCanvas struct {
	graphics
	out   []byte
	read  readout.Figure
	marks []piece // of out: where parts begin and end
}

// piece is a run of bytes.
type piece struct{ from, to int }

// partedCanvas groups what belongs together, and notes what can be read off.
type partedCanvas struct{ *svgCanvas }

// Panel implements readout.Recorder.
func (c partedCanvas) Panel(p readout.Panel) int {
	x, y := c.at(vg.Point{X: vg.Length(p.Left), Y: vg.Length(p.Top)})
	k := readout.Rounded(c.scale())
	p.Left, p.Top, p.Width, p.Height = readout.Rounded(x), readout.Rounded(y), p.Width*k, p.Height*k
	c.read.Panels = append(c.read.Panels, p)
	return len(c.read.Panels) - 1
}

// Begin implements readout.Recorder.
func (c partedCanvas) Begin(part readout.Part, i int) {
	from := len(c.out)
	c.out = fmt.Appendf(c.out, "<g data-%s=\"%d\">\n", part, i)
	c.marks = append(c.marks, piece{from, len(c.out)})
}

// End implements readout.Recorder.
func (c partedCanvas) End() {
	from := len(c.out)
	c.out = append(c.out, "</g>\n"...)
	c.marks = append(c.marks, piece{from, len(c.out)})
}

// attr writes an attribute whose value needs no escaping.
func (c *svgCanvas) attr(name, value string) {
	c.out = append(c.out, ' ')
	c.out = append(c.out, name...)
	c.out = append(c.out, `="`...)
	c.out = append(c.out, value...)
	c.out = append(c.out, '"')
}

// paint writes what is painted with the colour: fill or stroke.
func (c *svgCanvas) paint(what string) {
	c.attr(what, fmt.Sprintf("#%02x%02x%02x", c.color.R, c.color.G, c.color.B))
	if c.color.A != 0xFF {
		c.attr(what+"-opacity", strconv.FormatFloat(float64(c.color.A)/0xFF, 'f', 3, 64))
	}
}

func (c *svgCanvas) Stroke(path vg.Path) {
	if c.width <= 0 || len(path) == 0 {
		return
	}
	k := vg.Length(c.scale())
	c.out = append(c.out, `<path fill="none"`...)
	c.paint("stroke")
	if w := hundredths(c.width * k); w != "1" {
		c.attr("stroke-width", w)
	}
	if len(c.dash) > 0 {
		parts := make([]string, len(c.dash))
		for i, d := range c.dash {
			parts[i] = hundredths(d * k)
		}
		c.attr("stroke-dasharray", strings.Join(parts, " "))
		if c.offset != 0 {
			c.attr("stroke-dashoffset", hundredths(c.offset*k))
		}
	}
	c.path(path)
}

func (c *svgCanvas) Fill(path vg.Path) {
	if len(path) == 0 {
		return
	}
	c.out = append(c.out, "<path"...)
	c.paint("fill")
	c.path(path)
}

func (c *svgCanvas) path(path vg.Path) {
	w := pathWriter{out: append(c.out, ` d="`...), at: c.at}
	for _, comp := range path {
		w.component(comp)
	}
	c.out = append(w.out, "\"/>\n"...)
}

const (
	sansFaces  = "'Liberation Sans',Arial,Helvetica,sans-serif"
	serifFaces = "'Liberation Serif','Times New Roman',Times,serif"
	monoFaces  = "'Liberation Mono','Courier New',Courier,monospace"
)

// FillString writes text as text. What XML cannot hold is left out.
func (c *svgCanvas) FillString(f font.Face, p vg.Point, text string) {
	x, y := c.at(p)
	c.out = append(c.out, "<text"...)
	k := c.scale()
	if along, across, upright := c.turned(); !upright {
		turn := strconv.FormatFloat(math.Atan2(-across, along)*180/math.Pi, 'f', 2, 64)
		c.attr("transform", fmt.Sprintf("translate(%s %s) rotate(%s)", hundredths(vg.Length(x)),
			hundredths(vg.Length(y)),
			strings.TrimSuffix(turn, ".00")))
	} else {
		c.attr("x", hundredths(vg.Length(x)))
		c.attr("y", hundredths(vg.Length(y)))
	}
	c.attr("font-size", hundredths(f.Font.Size*vg.Length(k)))
	switch strings.ToLower(string(f.Font.Variant)) {
	case "mono", "monospace":
		c.attr("font-family", monoFaces)
	case "serif", "":
		c.attr("font-family", serifFaces)
	}
	if f.Font.Weight > 0 {
		c.attr("font-weight", "bold")
	}
	if f.Font.Style != 0 {
		c.attr("font-style", "italic")
	}
	c.paint("fill")
	c.out = append(c.out, '>')
	c.out = append(c.out, html.EscapeString(xmlText(text))...)
	c.out = append(c.out, "</text>\n"...)
}

// DrawImage carries the pixels. A picture goes in as the file that it came from.
func (c *svgCanvas) DrawImage(rect vg.Rectangle, img image.Image) {
	data, kind := []byte(nil), "png"
	if p, ok := img.(Picture); ok && len(p.Data) > 0 {
		data, kind = p.Data, p.Format
	} else {
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			panic(fmt.Errorf("a picture cannot be packed: %w", err))
		}
		data = b.Bytes()
	}
	x, y := c.at(vg.Point{X: rect.Min.X, Y: rect.Max.Y})
	k, size := vg.Length(c.scale()), rect.Size()
	c.out = fmt.Appendf(c.out, "<image x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\" preserveAspectRatio=\"none\" "+
		"xlink:href=\"data:image/%s;base64,%s\"/>\n", hundredths(vg.Length(x)), hundredths(vg.Length(y)),
		hundredths(size.X*k), hundredths(size.Y*k), kind, base64.StdEncoding.EncodeToString(data))
}

// pathWriter writes the components of a path, each relative to the end of the one before: shorter by half.
type pathWriter struct {
	out    []byte
	at     func(vg.Point) (x, y float64)
	x, y   int64 // the end of what is written, in hundredths of a point
	fx, fy int64 // the beginning of the stretch, where closing it leads
	last   byte  // the last command
}

func (w *pathWriter) component(comp vg.PathComp) {
	switch comp.Type {
	case vg.MoveComp:
		w.x, w.y = w.place(comp.Pos)
		w.fx, w.fy = w.x, w.y
		w.last = 'M'
		w.out = append(w.out, 'M')
		w.pair(w.x, w.y, true)
	case vg.LineComp:
		w.line(comp.Pos)
	case vg.ArcComp:
		w.arc(comp)
	case vg.CurveComp:
		w.command(map[int]byte{1: 'q', 2: 'c'}[len(comp.Control)])
		for i, p := range append(append([]vg.Point(nil), comp.Control...), comp.Pos) {
			x, y := w.place(p)
			w.pair(x-w.x, y-w.y, i == 0 && w.out[len(w.out)-1] > '9')
		}
		w.x, w.y = w.place(comp.Pos)
	case vg.CloseComp:
		w.out = append(w.out, 'z')
		w.x, w.y, w.last = w.fx, w.fy, 'z'
	}
}

func (w *pathWriter) place(p vg.Point) (x, y int64) {
	fx, fy := w.at(p)
	return settled(fx * 100), settled(fy * 100)
}

// line leads to a point; the first one of a path begins there.
func (w *pathWriter) line(p vg.Point) {
	if w.last == 0 {
		w.component(vg.PathComp{Type: vg.MoveComp, Pos: p})
		return
	}
	x, y := w.place(p)
	w.command('l')
	w.pair(x-w.x, y-w.y, w.out[len(w.out)-1] > '9')
	w.x, w.y = x, y
}

// arc is written as curves of an eighth turn at most: they hold under any transformation, to 4e-6 of the radius.
func (w *pathWriter) arc(comp vg.PathComp) {
	on := func(angle float64) (p, along vg.Point) {
		s, k := math.Sincos(angle)
		return vg.Point{X: comp.Pos.X + comp.Radius*vg.Length(k), Y: comp.Pos.Y + comp.Radius*vg.Length(s)},
			vg.Point{X: -comp.Radius * vg.Length(s), Y: comp.Radius * vg.Length(k)}
	}
	from, _ := on(comp.Start)
	if x, y := w.place(from); w.last == 0 || x != w.x || y != w.y {
		w.line(from)
	}
	n := max(int(math.Ceil(math.Abs(comp.Angle)/(math.Pi/4)-1e-9)), 1)
	step := comp.Angle / float64(n)
	reach := vg.Length(4.0 / 3 * math.Tan(step/4))
	for i := range n {
		a, u := on(comp.Start + float64(i)*step)
		b, v := on(comp.Start + float64(i+1)*step)
		w.component(vg.PathComp{Type: vg.CurveComp, Pos: b, Control: []vg.Point{
			{X: a.X + reach*u.X, Y: a.Y + reach*u.Y}, {X: b.X - reach*v.X, Y: b.Y - reach*v.Y}}})
	}
}

// command names what follows, unless it is what came before.
func (w *pathWriter) command(c byte) {
	if w.last != c {
		w.out, w.last = append(w.out, c), c
	}
}

// pair writes two numbers; first says that nothing need part them from what stands before.
func (w *pathWriter) pair(x, y int64, first bool) {
	for i, v := range []int64{x, y} {
		if v >= 0 && (i > 0 || !first) {
			w.out = append(w.out, ' ')
		}
		w.out = appendHundredths(w.out, v)
	}
}

// appendHundredths writes v/100 without needless zeros.
func appendHundredths(out []byte, v int64) []byte {
	if v < 0 {
		out, v = append(out, '-'), -v
	}
	if whole := v / 100; whole > 0 || v == 0 {
		out = strconv.AppendInt(out, whole, 10)
	}
	switch f := v % 100; {
	case f == 0:
	case f%10 == 0:
		out = append(out, '.', byte('0'+f/10))
	default:
		out = append(out, '.', byte('0'+f/10), byte('0'+f%10))
	}
	return out
}

// hundredths is a length in points, to the hundredth.
func hundredths(l vg.Length) string {
	return string(appendHundredths(nil, settled(float64(l)*100)))
}
