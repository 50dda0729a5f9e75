package figure

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"wedgework/reports/document"
)

// Dials is rows of round views of parts from one end, x to the right and y up: directions in the plane of the view,
// as hands about a centre. Told apart by dash and label as well as colour.
type Dials struct{ Views []Dial }

// Dial is one view.
type Dial struct {
	Title string
	Hands []Hand
	Note  string // beneath
}

// Hand is a direction: an axis through the centre with a head at either end, or an arrow from the centre.
type Hand struct {
	Label   string
	Azimuth float64 // degrees, from +x towards +y
	Axis    bool
	Color   Color
	Line    Line
}

// Figure returns the views as a block with a caption, described in words.
func (d Dials) Figure(caption string) document.Figure {
	return document.Figure{Caption: caption, Text: d.Describe(), Width: document.DefaultWidth,
		Height: vg.Length(50*d.rows()) * vg.Millimeter, Drawing: d}
}

// dialsAcross is how many views stand in a row: more would be too small to read.
const dialsAcross = 4

func (d Dials) rows() int { return max(1, (len(d.Views)+dialsAcross-1)/dialsAcross) }

// Describe says in words what each view shows.
func (d Dials) Describe() string {
	var all []string
	for _, v := range d.Views {
		s := v.Title + ":"
		for _, h := range v.Hands {
			s += fmt.Sprintf(" %s at %.4g°;", h.Label, h.Azimuth)
		}
		all = append(all, strings.TrimRight(s+" "+v.Note, ";: "))
	}
	return strings.Join(all, ". ") + "."
}

// Draw draws the views side by side over the whole canvas. It implements document.Drawing.
func (d Dials) Draw(canvas vg.CanvasSizer) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("figure: the plotting library panicked: %v", r)
		}
	}()
	if len(d.Views) == 0 {
		return fmt.Errorf("figure: there is no view to draw")
	}
	c := draw.New(canvas)
	c.SetColor(white)
	c.Fill(c.Rectangle.Path())
	across := min(len(d.Views), dialsAcross)
	tiles := draw.Tiles{Cols: across, Rows: d.rows(), PadX: 6, PadY: 4}
	for i, v := range d.Views {
		v.draw(tiles.At(c, i%across, i/across))
	}
	return nil
}

func (v Dial) draw(c draw.Canvas) {
	const line = 10 // points between two lines of text
	title, small := textStyle(8, true), textStyle(7, false)
	title.XAlign, title.YAlign = text.XCenter, text.YTop
	small.XAlign, small.YAlign = text.XCenter, text.YCenter
	at := vg.Point{X: (c.Min.X + c.Max.X) / 2, Y: (c.Min.Y + c.Max.Y) / 2}
	r := min(c.Size().X-44, c.Size().Y-5*line) / 2
	c.FillText(title, vg.Point{X: at.X, Y: c.Max.Y - 1}, v.Title)
	c.FillText(small, vg.Point{X: at.X, Y: c.Min.Y + line/2}, v.Note)

	grey := draw.LineStyle{Color: Grey.rgba(), Width: 0.6}
	circle := make([]vg.Point, 73)
	for i := range circle {
		circle[i] = polarPoint(at, r, float64(i)*5)
	}
	c.StrokeLines(grey, circle)
	for _, axis := range []struct {
		azimuth, beside float64
		name            string
	}{{0, -9, "x"}, {90, 99, "y"}} {
		c.StrokeLine2(grey, at.X, at.Y, polarPoint(at, r, axis.azimuth).X, polarPoint(at, r, axis.azimuth).Y)
		c.FillText(small, polarPoint(at, r*0.86, axis.beside), axis.name)
	}
	for _, h := range v.Hands {
		style := draw.LineStyle{Color: h.Color.rgba(), Width: 1.2, Dashes: h.Line.dashes()}
		tail := at
		if h.Axis {
			tail = polarPoint(at, r, h.Azimuth+180)
			head(c, style, tail, h.Azimuth+180)
		}
		tip := polarPoint(at, r, h.Azimuth)
		c.StrokeLine2(style, tail.X, tail.Y, tip.X, tip.Y)
		head(c, style, tip, h.Azimuth)
		c.FillText(small, polarPoint(at, r+12, h.Azimuth), h.Label)
	}
}

// head draws the head of an arrow.
func head(c draw.Canvas, s draw.LineStyle, tip vg.Point, azimuth float64) {
	s.Dashes = nil
	for _, side := range []float64{155, -155} {
		end := polarPoint(tip, 6, azimuth+side)
		c.StrokeLine2(s, tip.X, tip.Y, end.X, end.Y)
	}
}

func polarPoint(at vg.Point, r vg.Length, degrees float64) vg.Point {
	s, k := math.Sincos(degrees * math.Pi / 180)
	return vg.Point{X: at.X + r*vg.Length(k), Y: at.Y + r*vg.Length(s)}
}
