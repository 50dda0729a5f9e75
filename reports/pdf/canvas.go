package pdf

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/go-pdf/fpdf"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
)

// canvas is a vg.CanvasSizer over a rectangle of the current page. It writes path operators into the page
// itself: what fpdf offers for lines rounds and repeats more than a figure of thousands of points can bear.
type canvas struct {
	w      *writer
	size   vg.Point
	state  pen
	stack  []pen
	buf    []byte
	closed bool

	// What the page is set to since the canvas began, so that nothing is set twice.
	fill, line *color.NRGBA
	width      float64
	dash       []float64
	phase      float64
}

// pen is what Push keeps.
type pen struct {
	m     [6]float64 // from the user's points to the page's, both with y upwards
	color color.NRGBA
	width float64
	dash  []float64
	phase float64
}

// newCanvas begins a canvas of width by height points at x, y from the page's upper left corner. What is
// drawn sees a canvas larger by 1/scale.
func newCanvas(w *writer, x, y, width, height, scale float64) *canvas {
	c := &canvas{w: w, size: vg.Point{X: vg.Length(width / scale), Y: vg.Length(height / scale)}, width: -1}
	c.state.m = [6]float64{scale, 0, 0, scale, x, c.w.paper.height - y - height}
	w.enter(w.tags.target)
	w.pdf.RawWriteStr(fmt.Sprintf("q %.2f %.2f %.2f %.2f re W n 1 j", x, c.w.paper.height-y-height, width, height))
	vg.Initialize(c)
	return c
}

// close gives the page back. The page's own settings are restored by the file, and forgotten by the writer,
// which then sets them anew.
func (c *canvas) close() {
	if c.closed {
		return
	}
	c.closed = true
	c.w.pdf.RawWriteStr("Q")
	c.w.now = graphics{}
}

func (c *canvas) Size() (x, y vg.Length)   { return c.size.X, c.size.Y }
func (c *canvas) SetLineWidth(w vg.Length) { c.state.width = float64(w) }
func (c *canvas) Push()                    { c.stack = append(c.stack, c.state) }
func (c *canvas) Scale(x, y float64)       { c.transform([6]float64{x, 0, 0, y, 0, 0}) }
func (c *canvas) Translate(p vg.Point) {
	c.transform([6]float64{1, 0, 0, 1, float64(p.X), float64(p.Y)})
}
func (c *canvas) Rotate(radians float64) {
	s, k := math.Sincos(radians)
	c.transform([6]float64{k, s, -s, k, 0, 0})
}

func (c *canvas) Pop() {
	n := len(c.stack) - 1
	c.state, c.stack = c.stack[n], c.stack[:n]
}

func (c *canvas) SetLineDash(pattern []vg.Length, offset vg.Length) {
	c.state.dash = make([]float64, len(pattern)) // never the array that Push has kept
	for i, v := range pattern {
		c.state.dash[i] = float64(v)
	}
	c.state.phase = float64(offset)
}

// SetColor lays a translucent colour over white: no transparency enters the page, and a print shows what
// the screen does.
func (c *canvas) SetColor(k color.Color) {
	if k == nil {
		k = color.Black
	}
	n := color.NRGBAModel.Convert(k).(color.NRGBA)
	over := func(v uint8) uint8 { return uint8((int(v)*int(n.A) + 255*(255-int(n.A)) + 127) / 255) }
	c.state.color = color.NRGBA{over(n.R), over(n.G), over(n.B), 255}
}

// transform puts n before the current transformation.
func (c *canvas) transform(n [6]float64) {
	m := c.state.m
	c.state.m = [6]float64{
		m[0]*n[0] + m[2]*n[1], m[1]*n[0] + m[3]*n[1],
		m[0]*n[2] + m[2]*n[3], m[1]*n[2] + m[3]*n[3],
		m[0]*n[4] + m[2]*n[5] + m[4], m[1]*n[4] + m[3]*n[5] + m[5],
	}
}

// scale returns by how much the transformation enlarges lengths.
func (c *canvas) scale() float64 {
	m := c.state.m
	return math.Sqrt(math.Abs(m[0]*m[3] - m[1]*m[2]))
}

func (c *canvas) at(p vg.Point) (x, y float64) {
	m := c.state.m
	return m[0]*float64(p.X) + m[2]*float64(p.Y) + m[4], m[1]*float64(p.X) + m[3]*float64(p.Y) + m[5]
}

// num appends a number with two decimals, 0.01 points being finer than any printer.
func (c *canvas) num(v float64) { c.buf = appendNumber(c.buf, v, 100) }

func appendNumber(b []byte, v, scale float64) []byte {
	v = math.Round(v*scale) / scale
	if v == 0 {
		v = 0 // a negative zero would be printed with its sign
	}
	return append(strconv.AppendFloat(b, v, 'f', -1, 64), ' ')
}

func (c *canvas) point(p vg.Point) {
	x, y := c.at(p)
	c.num(x)
	c.num(y)
}

// Stroke strokes a path with the current pen; a width of zero draws nothing.
func (c *canvas) Stroke(p vg.Path) {
	if c.state.width <= 0 || len(p) == 0 {
		return
	}
	c.buf = c.buf[:0]
	if c.line == nil || *c.line != c.state.color {
		c.buf = appendColor(c.buf, c.state.color, "RG\n")
		k := c.state.color
		c.line = &k
	}
	s := c.scale()
	if width := c.state.width * s; c.width != width {
		c.num(width)
		c.buf = append(c.buf, "w\n"...)
		c.width = width
	}
	if phase := c.state.phase * s; c.phase != phase || !slices.Equal(c.dash, c.state.dash) {
		c.buf = append(c.buf, '[')
		for _, d := range c.state.dash {
			c.num(d * s)
		}
		c.buf = append(c.buf, "] "...)
		c.num(phase)
		c.buf = append(c.buf, "d\n"...)
		c.dash, c.phase = c.state.dash, phase
	}
	c.path(p, "S")
}

// Fill fills a path with the current colour.
func (c *canvas) Fill(p vg.Path) {
	if len(p) == 0 {
		return
	}
	c.fillColor()
	c.buf = c.buf[:0]
	c.path(p, "f")
}

func (c *canvas) fillColor() {
	if k := c.state.color; c.fill == nil || *c.fill != k {
		c.w.pdf.SetFillColor(int(k.R), int(k.G), int(k.B))
		c.fill = &k
	}
}

func appendColor(b []byte, k color.NRGBA, op string) []byte {
	for _, v := range []uint8{k.R, k.G, k.B} {
		b = appendNumber(b, float64(v)/255, 1000)
	}
	return append(b, op...)
}

// path appends a path and writes everything collected so far.
func (c *canvas) path(p vg.Path, op string) {
	var last vg.Point
	for i, k := range p {
		switch k.Type {
		case vg.MoveComp, vg.LineComp:
			c.point(k.Pos)
			if k.Type == vg.MoveComp {
				c.buf = append(c.buf, "m\n"...)
			} else {
				c.buf = append(c.buf, "l\n"...)
			}
			last = k.Pos
		case vg.ArcComp:
			last = c.arc(k, i == 0)
		case vg.CurveComp:
			a, b := k.Control[0], k.Control[len(k.Control)-1]
			if len(k.Control) == 1 { // a quadratic curve as the cubic that is the same
				a, b = mix(last, a, 2.0/3), mix(k.Pos, a, 2.0/3)
			}
			c.point(a)
			c.point(b)
			c.point(k.Pos)
			c.buf = append(c.buf, "c\n"...)
			last = k.Pos
		case vg.CloseComp:
			c.buf = append(c.buf, "h\n"...)
		}
	}
	c.buf = append(c.buf, op...)
	c.w.pdf.RawWriteStr(string(c.buf))
}

func mix(a, b vg.Point, share vg.Length) vg.Point {
	return vg.Point{X: a.X + (b.X-a.X)*share, Y: a.Y + (b.Y-a.Y)*share}
}

// arc appends an arc as cubic curves of at most a quarter turn, and returns where it ends.
func (c *canvas) arc(k vg.PathComp, first bool) vg.Point {
	on := func(angle float64) (p vg.Point, sin, cos vg.Length) {
		s, q := math.Sincos(angle)
		sin, cos = vg.Length(s), vg.Length(q)
		return vg.Point{X: k.Pos.X + k.Radius*cos, Y: k.Pos.Y + k.Radius*sin}, sin, cos
	}
	n := max(1, int(math.Ceil(math.Abs(k.Angle)/(math.Pi/2))))
	step := k.Angle / float64(n)
	t := vg.Length(4.0/3*math.Tan(step/4)) * k.Radius
	p0, s0, c0 := on(k.Start)
	c.point(p0)
	if first {
		c.buf = append(c.buf, "m\n"...)
	} else {
		c.buf = append(c.buf, "l\n"...)
	}
	for i := 1; i <= n; i++ {
		p1, s1, c1 := on(k.Start + step*float64(i))
		c.point(vg.Point{X: p0.X - t*s0, Y: p0.Y + t*c0})
		c.point(vg.Point{X: p1.X + t*s1, Y: p1.Y - t*c1})
		c.point(p1)
		c.buf = append(c.buf, "c\n"...)
		p0, s0, c0 = p1, s1, c1
	}
	return p0
}

// FillString draws text in the face of ours that is nearest to the one asked for.
func (c *canvas) FillString(f font.Face, pt vg.Point, s string) {
	if f.Font.Size == 0 || strings.TrimSpace(s) == "" {
		return
	}
	x := c.w.fonts.get(faceKey{mono: f.Font.Variant == "Mono", bold: f.Font.Weight > 0, italic: f.Font.Style > 0})
	s = c.w.fonts.clean(x, s)
	px, py := c.at(pt)
	size := float64(f.Font.Size)
	c.fillColor()
	x.split(visual(s), func(x *face, s string) {
		c.w.setFace(x, size) // outside of q and Q, which would take it back
		c.buf = append(c.buf[:0], "q "...)
		for _, v := range c.state.m[:4] {
			c.buf = appendNumber(c.buf, v, 1e5)
		}
		c.num(px)
		c.num(py)
		c.buf = append(c.buf, "cm"...)
		c.w.pdf.RawWriteStr(string(c.buf))
		c.w.show(0, 0, x, s)
		c.w.pdf.RawWriteStr("Q")
		along := x.width(s, size)
		px, py = px+c.state.m[0]*along, py+c.state.m[1]*along
	})
}

// DrawImage places an image, for what cannot be drawn as vectors: a photograph as the file it came in, else
// pixels laid over white like a colour. Equal images are kept once; fpdf names them by content and would
// otherwise list one name twice.
func (c *canvas) DrawImage(r vg.Rectangle, img image.Image) {
	o := fpdf.ImageOptions{ImageType: "png"}
	data := photograph(img)
	if data != nil {
		o.ImageType = "jpg"
	} else {
		flat := image.NewRGBA(img.Bounds())
		draw.Draw(flat, flat.Bounds(), image.White, image.Point{}, draw.Src)
		draw.Draw(flat, flat.Bounds(), img, img.Bounds().Min, draw.Over)
		var b bytes.Buffer
		if err := png.Encode(&b, flat); err != nil {
			c.w.pdf.SetError(fmt.Errorf("image of a figure: %w", err))
			return
		}
		data = b.Bytes()
	}
	name := fmt.Sprintf("%x", sha256.Sum256(data))
	if c.w.pdf.GetImageInfo(name) == nil {
		c.w.pdf.RegisterImageOptionsReader(name, o, bytes.NewReader(data))
	}
	x0, y0 := c.at(r.Min)
	x1, y1 := c.at(r.Max)
	c.w.pdf.ImageOptions(name, x0, c.w.paper.height-y1, x1-x0, y1-y0, false, o, 0, "")
}

// photograph returns the file of a JPEG picture that a PDF can hold as it is, else nil.
func photograph(img image.Image) []byte {
	p, ok := img.(document.Picture)
	if !ok || p.Format != "jpeg" {
		return nil
	}
	switch p.Image.(type) {
	case *image.YCbCr, *image.Gray:
		return p.Data
	}
	return nil // four inks, which readers take for inverted or not as they please
}
