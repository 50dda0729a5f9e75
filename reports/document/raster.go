package document

import (
	"image"
	"image/color"
	"math"

	"github.com/golang/freetype/raster"
	xdraw "golang.org/x/image/draw"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	gonum "gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// raster draws in pixels of numbered colours. Points become 64ths of a pixel, and from there on whole numbers decide,
// so that processors which differ in the last bit of a float give the same picture. Edges have as many shades as
// edgeShades says: more are not seen, and the colours of a drawing then fit into a palette.
type rasterCanvas struct {
	graphics
	wide, high int
	pixels     []int32 // numbers of colours, row by row
	seen       tally
	shades     map[color.NRGBA][]int32 // of a colour over others: its number plus 1 at under*edgeShades + level
	fill       raster.Rasterizer
	glyphs     map[glyph]sfnt.Segments
	buffer     sfnt.Buffer
}

// glyph is a shape of a face in a size, in 64ths of a pixel to the em.
type glyph struct {
	face  *sfnt.Font
	index sfnt.GlyphIndex
	size  fixed.Int26_6
}

const (
	pixelsPerPoint = dotsPerInch / 72.0
	edgeShades     = 16
	// mostShaded is how many colours are remembered as ground for shades.
	mostShaded = 1 << 10
	// farthest a point may lie off, in pixels: beyond, whole numbers of 32 bits would overflow.
	farthest = 1 << 17
)

func newRasterCanvas(f Figure) *rasterCanvas {
	c := &rasterCanvas{graphics: newGraphics(f), shades: map[color.NRGBA][]int32{}, glyphs: map[glyph]sfnt.Segments{}}
	c.wide = int(settled(float64(c.w) * pixelsPerPoint))
	c.high = int(settled(float64(c.h) * pixelsPerPoint))
	c.pixels = make([]int32, c.wide*c.high)
	c.seen.number(color.RGBA{0xff, 0xff, 0xff, 0xff}) // the ground, number 0
	c.fill = *raster.NewRasterizer(c.wide, c.high)
	c.fill.UseNonZeroWinding = true
	vg.Initialize(c)
	return c
}

// grid is a distance in pixels as 64ths of one.
func grid(pixels float64) fixed.Int26_6 {
	return fixed.Int26_6(settled(min(max(pixels, -farthest), farthest) * 64))
}

func (c *rasterCanvas) place(p vg.Point) fixed.Point26_6 {
	x, y := c.at(p)
	return fixed.Point26_6{X: grid(x * pixelsPerPoint), Y: grid(y * pixelsPerPoint)}
}

// Fill implements vg.Canvas.
func (c *rasterCanvas) Fill(path vg.Path) {
	for _, s := range c.trace(path) {
		c.fill.Start(s.points[0])
		for _, p := range s.points[1:] {
			c.fill.Add1(p)
		}
		c.fill.Add1(s.points[0])
	}
	c.paint()
}

// Stroke implements vg.Canvas.
func (c *rasterCanvas) Stroke(path vg.Path) {
	if c.width <= 0 {
		return
	}
	k := c.scale() * pixelsPerPoint
	width := max(grid(float64(c.width)*k), 1)
	var dash []float64
	sum := 0.0
	for _, d := range c.dash {
		dash = append(dash, float64(grid(float64(d)*k)))
		sum += dash[len(dash)-1]
	}
	for _, s := range c.trace(path) {
		if s.closed {
			s.points = append(s.points, s.points[0])
		}
		lines := [][]fixed.Point26_6{s.points}
		if sum > 0 {
			lines = dashed(s.points, dash, float64(grid(float64(c.offset)*k)))
		}
		for _, line := range lines {
			var p raster.Path
			p.Start(line[0])
			for _, q := range line[1:] {
				p.Add1(q)
			}
			c.fill.AddStroke(p, width, raster.ButtCapper, raster.RoundJoiner)
		}
	}
	c.paint()
}

// dashed cuts a line into its dashes; pattern and offset are in 64ths of a pixel.
func dashed(points []fixed.Point26_6, pattern []float64, offset float64) [][]fixed.Point26_6 {
	var out [][]fixed.Point26_6
	at, left := 0, pattern[0]
	for ; offset > 0; offset -= pattern[at%len(pattern)] {
		if left = pattern[at%len(pattern)]; offset < left {
			left -= offset
			break
		}
		at++
		left = pattern[at%len(pattern)]
	}
	line := []fixed.Point26_6{points[0]}
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
		length := math.Hypot(dx, dy)
		done := 0.0
		for length-done > left {
			done += left
			p := fixed.Point26_6{X: a.X + fixed.Int26_6(settled(dx*done/length)),
				Y: a.Y + fixed.Int26_6(settled(dy*done/length))}
			if at%2 == 0 {
				out = append(out, append(line, p))
			}
			line = []fixed.Point26_6{p}
			at++
			left = max(pattern[at%len(pattern)], 1)
		}
		left -= length - done
		line = append(line, b)
	}
	if at%2 == 0 {
		out = append(out, line)
	}
	return out
}

// FillString implements vg.Canvas: the outlines of the face, as sharp turned as upright.
func (c *rasterCanvas) FillString(f gonum.Face, p vg.Point, text string) {
	size := grid(float64(f.Font.Size) * c.scale() * pixelsPerPoint)
	if size <= 0 {
		return
	}
	along, across, upright := c.turned()
	from, pen := c.place(p), fixed.Int26_6(0)
	place := func(q fixed.Point26_6) fixed.Point26_6 {
		x, y := pen+q.X, q.Y
		if !upright {
			fx, fy := float64(x), float64(y)
			x, y = fixed.Int26_6(settled(fx*along+fy*across)), fixed.Int26_6(settled(fy*along-fx*across))
		}
		return fixed.Point26_6{X: from.X + x, Y: from.Y + y}
	}
	var before sfnt.GlyphIndex
	for i, char := range text {
		index, err := f.Face.GlyphIndex(&c.buffer, char)
		if err != nil {
			continue
		}
		if i > 0 {
			if kern, err := f.Face.Kern(&c.buffer, before, index, size, font.HintingNone); err == nil {
				pen += kern
			}
		}
		c.outline(c.segments(glyph{f.Face, index, size}), place)
		if advance, err := f.Face.GlyphAdvance(&c.buffer, index, size, font.HintingNone); err == nil {
			pen += advance
		}
		before = index
	}
	c.paint()
}

// segments returns the outline of a glyph, none where it has none.
func (c *rasterCanvas) segments(g glyph) sfnt.Segments {
	s, known := c.glyphs[g]
	if !known {
		loaded, err := g.face.LoadGlyph(&c.buffer, g.index, g.size, nil)
		if err == nil {
			s = append(sfnt.Segments{}, loaded...)
		}
		c.glyphs[g] = s
	}
	return s
}

// outline adds an outline to what is painted next.
func (c *rasterCanvas) outline(segments sfnt.Segments, place func(fixed.Point26_6) fixed.Point26_6) {
	var first fixed.Point26_6
	open := false
	for _, s := range segments {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if open {
				c.fill.Add1(first)
			}
			first, open = place(s.Args[0]), true
			c.fill.Start(first)
		case sfnt.SegmentOpLineTo:
			c.fill.Add1(place(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			c.fill.Add2(place(s.Args[0]), place(s.Args[1]))
		case sfnt.SegmentOpCubeTo:
			c.fill.Add3(place(s.Args[0]), place(s.Args[1]), place(s.Args[2]))
		}
	}
	if open {
		c.fill.Add1(first)
	}
}

// DrawImage implements vg.Canvas, for a picture that stands upright.
func (c *rasterCanvas) DrawImage(r vg.Rectangle, m image.Image) {
	a, b := c.place(r.Min), c.place(r.Max)
	to := image.Rect(a.X.Round(), a.Y.Round(), b.X.Round(), b.Y.Round()).Intersect(image.Rect(0, 0, c.wide, c.high))
	out := image.NewRGBA(to)
	for y := to.Min.Y; y < to.Max.Y; y++ {
		for x := to.Min.X; x < to.Max.X; x++ {
			out.SetRGBA(x, y, c.seen.colors[c.pixels[y*c.wide+x]])
		}
	}
	xdraw.BiLinear.Scale(out, image.Rect(a.X.Round(), a.Y.Round(), b.X.Round(), b.Y.Round()), m, m.Bounds(), xdraw.Over,
		nil)
	for y := to.Min.Y; y < to.Max.Y; y++ {
		for x := to.Min.X; x < to.Max.X; x++ {
			c.pixels[y*c.wide+x] = c.seen.number(out.RGBAAt(x, y))
		}
	}
}

// paint paints what was added to the shape.
func (c *rasterCanvas) paint() {
	known := c.shades[c.color]
	c.fill.Rasterize(raster.PainterFunc(func(spans []raster.Span, _ bool) {
		for _, s := range spans {
			level := int(s.Alpha*(edgeShades-1)+0x7fff) / 0xffff
			if level == 0 {
				continue
			}
			row := c.pixels[s.Y*c.wide+s.X0 : s.Y*c.wide+s.X1]
			for i, under := range row {
				at := int(under)*edgeShades + level
				if at < len(known) && known[at] > 0 {
					row[i] = known[at] - 1
					continue
				}
				row[i] = c.seen.number(shade(c.seen.colors[under], c.color, level))
				if under < mostShaded {
					if at >= len(known) {
						known = append(known, make([]int32, at+16*edgeShades-len(known))...)
					}
					known[at] = row[i] + 1
				}
			}
		}
	}))
	c.shades[c.color] = known
	c.fill.Clear()
}

// shade is a colour over another at a level of its edge.
func shade(under color.RGBA, over color.NRGBA, level int) color.RGBA {
	const whole = 0xff * (edgeShades - 1)
	part := int(over.A) * level
	mix := func(a, b uint8) uint8 { return uint8((int(a)*(whole-part) + int(b)*part + whole/2) / whole) }
	return color.RGBA{mix(under.R, over.R), mix(under.G, over.G), mix(under.B, over.B), 0xff}
}
