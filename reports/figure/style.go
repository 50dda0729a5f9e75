package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
)

// Color is a colour of the palette of M. Okabe and K. Ito, "Color Universal Design" (2008), which stays
// apart for the common kinds of colour vision.
type Color uint8

// AutoColor takes the next colour in turn. Yellow is too pale for thin lines on white and never comes by
// itself.
const (
	AutoColor Color = iota
	Blue
	Vermillion
	Green
	Purple
	Orange
	SkyBlue
	Black
	Yellow
	Grey // not of the palette: for what stands back, as a reference curve
)

var palette = [...]color.NRGBA{
	Blue:       {0x00, 0x72, 0xB2, 0xFF},
	Vermillion: {0xD5, 0x5E, 0x00, 0xFF},
	Green:      {0x00, 0x9E, 0x73, 0xFF},
	Purple:     {0xCC, 0x79, 0xA7, 0xFF},
	Orange:     {0xE6, 0x9F, 0x00, 0xFF},
	SkyBlue:    {0x56, 0xB4, 0xE9, 0xFF},
	Black:      {0x00, 0x00, 0x00, 0xFF},
	Yellow:     {0xF0, 0xE4, 0x42, 0xFF},
	Grey:       {0x70, 0x70, 0x70, 0xFF},
}

// ColorAt returns the i-th colour of the automatic order, counted from 0, so that points and the curve
// that belongs to them can share one.
func ColorAt(i int) Color { return Blue + Color(i%7) }

// LineAt and MarkerAt are the same for dash patterns and markers.
func LineAt(i int) Line { return Solid + Line(i%5) }

// MarkerAt returns the i-th marker of the automatic order, counted from 0.
func MarkerAt(i int) Marker { return Circle + Marker(i%6) }

func (c Color) rgba() color.NRGBA {
	if c >= firstTone {
		return scale[c-firstTone]
	}
	if int(c) >= len(palette) || c == AutoColor {
		c = Black
	}
	return palette[c]
}

// tint mixes a colour with white, so that no transparency is needed: share 1 is the colour itself.
func tint(c color.NRGBA, share float64) color.NRGBA {
	mix := func(v uint8) uint8 { return uint8(math.Round(255 + (float64(v)-255)*share)) }
	return color.NRGBA{mix(c.R), mix(c.G), mix(c.B), 0xFF}
}

// Line is the dash pattern of a curve.
type Line uint8

// AutoLine draws points that have markers or error bars unconnected, and gives every other series the next
// pattern in turn.
const (
	AutoLine Line = iota
	NoLine
	Solid
	Dashed
	Dotted
	DashDotted
	LongDashed
)

var dashes = [...][]vg.Length{
	Dashed:     {5, 2.5},
	Dotted:     {1.2, 1.8},
	DashDotted: {7, 2, 1.2, 2},
	LongDashed: {11, 3},
}

func (l Line) dashes() []vg.Length {
	if int(l) < len(dashes) {
		return dashes[l]
	}
	return nil
}

// Marker is the sign of a point. All are open or made of strokes: they stay apart where they overlap.
type Marker uint8

// AutoMarker gives a series without a line the next marker in turn, and a curve none.
const (
	AutoMarker Marker = iota
	NoMarker
	Circle
	Square
	Triangle
	Diamond
	Cross
	Plus
	Arrow // upwards: the point is the least that a value can be; never taken in turn
	Rays  // four strokes around another marker, to point it out; never taken in turn
)

// add appends the marker's outline around p to a path.
func (m Marker) add(path *vg.Path, p vg.Point, r vg.Length) {
	at := func(x, y vg.Length) vg.Point { return vg.Point{X: p.X + x*r, Y: p.Y + y*r} }
	poly := func(pts ...vg.Point) {
		path.Move(pts[0])
		for _, q := range pts[1:] {
			path.Line(q)
		}
		path.Close()
	}
	switch m {
	case Circle:
		path.Move(at(1, 0))
		path.Arc(p, r, 0, 2*math.Pi)
		path.Close()
	case Square:
		poly(at(-.87, -.87), at(.87, -.87), at(.87, .87), at(-.87, .87))
	case Triangle:
		poly(at(-1, -.75), at(1, -.75), at(0, 1.1))
	case Diamond:
		poly(at(-1.15, 0), at(0, -1.15), at(1.15, 0), at(0, 1.15))
	case Cross:
		path.Move(at(-.85, -.85))
		path.Line(at(.85, .85))
		path.Move(at(-.85, .85))
		path.Line(at(.85, -.85))
	case Plus:
		path.Move(at(-1.1, 0))
		path.Line(at(1.1, 0))
		path.Move(at(0, -1.1))
		path.Line(at(0, 1.1))
	case Rays:
		for _, d := range []vg.Point{{X: 1, Y: 1}, {X: -1, Y: 1}, {X: 1, Y: -1}, {X: -1, Y: -1}} {
			path.Move(at(.85*d.X, .85*d.Y))
			path.Line(at(1.9*d.X, 1.9*d.Y))
		}
	case Arrow:
		path.Move(at(0, 0))
		path.Line(at(0, 2.4))
		path.Move(at(-.8, 1.4))
		path.Line(at(0, 2.4))
		path.Line(at(.8, 1.4))
		path.Move(at(-.8, 0))
		path.Line(at(.8, 0))
	}
}

// Sizes of text in a figure, in points at the size it stands on the page: a step below the running text.
const (
	labelSize vg.Length = 9
	tickSize  vg.Length = 8
	thin      vg.Length = 0.5
)

var (
	ink  = color.NRGBA{0x22, 0x22, 0x22, 0xFF}
	grid = color.NRGBA{0xDD, 0xDD, 0xDD, 0xFF}
	sans = font.Font{Typeface: "Liberation", Variant: "Sans"}
)

// gonum/plot takes the face of every new plot, and what measures its text, from these globals. They are set here, once,
// before any plot can be made, so that figures made elsewhere agree with ours and two goroutines never write them.
func init() {
	plot.DefaultFont = sans
	plot.DefaultTextHandler = &measurer{Plain: text.Plain{Fonts: font.DefaultCache}, widths: map[labelled]vg.Length{}}
}

func textStyle(size vg.Length, bold bool) text.Style {
	f := font.From(sans, size)
	if bold {
		f.Weight = 3 // font.WeightBold of golang.org/x/image, which the module need not name for one number
	}
	return text.Style{Color: ink, Font: f, Handler: plot.DefaultTextHandler}
}
