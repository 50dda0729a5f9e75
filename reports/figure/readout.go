package figure

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"wedgework/reports/readout"
)

// drawPanel draws a plot on a canvas, and tells one that notes it what it draws.
func drawPanel(p *plot.Plot, c draw.Canvas, chart prepared) {
	r := recorderOf(c)
	if r == nil {
		p.Draw(c)
		return
	}
	frame := p.DataCanvas(c)
	panel := chart.readout()
	panel.Left, panel.Top = readout.Rounded(frame.Min.X), readout.Rounded(frame.Max.Y)
	panel.Width, panel.Height = readout.Rounded(frame.Size().X), readout.Rounded(frame.Size().Y)
	r.Begin(readout.WholePanel, r.Panel(panel))
	defer r.End()
	p.Draw(c)
}

// recorderOf is the canvas below c when it notes what is drawn on it: cropping a canvas wraps it.
func recorderOf(c draw.Canvas) readout.Recorder {
	for {
		inner, wrapped := c.Canvas.(draw.Canvas)
		if !wrapped {
			r, _ := c.Canvas.(readout.Recorder)
			return r
		}
		c = inner
	}
}

// part is what is drawn of one series or band.
type part struct {
	plot.Plotter
	kind  readout.Part
	index int
}

func (p part) Plot(c draw.Canvas, plt *plot.Plot) {
	if r := recorderOf(c); r != nil {
		r.Begin(p.kind, p.index)
		defer r.End()
	}
	p.Plotter.Plot(c, plt)
}

// readout is the chart without its place on the drawing.
func (c prepared) readout() readout.Panel {
	p := readout.Panel{
		Title: c.Title,
		X:     readout.Axis{Label: c.X.Label, Unit: c.X.Unit, Low: c.x.lo, High: c.x.hi, Log: c.X.Log},
		Y:     readout.Axis{Label: c.Y.Label, Unit: c.Y.Unit, Low: c.y.lo, High: c.y.hi, Log: c.Y.Log},
	}
	if !c.right.empty() {
		p.Right = &readout.Axis{Label: c.Right.Label, Unit: c.Right.Unit, Low: c.right.lo, High: c.right.hi,
			Log: c.Right.Log}
	}
	if g := c.Grid; g != nil {
		p.Grid = &readout.Grid{X: g.X, Y: g.Y, Map: g.Map,
			Z: readout.Axis{Label: c.Tones.Label, Unit: c.Tones.Unit, Low: c.z.lo, High: c.z.hi}}
		for _, row := range g.Z {
			p.Grid.Values = append(p.Grid.Values, row)
		}
		if g.Map {
			for i := range scale {
				p.Grid.Colors = append(p.Grid.Colors, hex(Color(firstTone+i)))
			}
		}
	}
	for _, n := range c.Notes {
		p.Notes = append(p.Notes, readout.Note{Text: n.Text, At: readout.Numbers{n.X, n.Y}})
	}
	for _, s := range c.Series {
		one := readout.Series{Label: s.Label, Color: hex(s.Color), Mark: s.Marker.word(), Line: s.Line != NoLine,
			Width: readout.Rounded(s.Width), X: s.X, Y: s.Y, Err: s.Err, U: s.U, Lines: s.Lines, File: s.File,
			Right: s.Right}
		for _, d := range s.Line.dashes() {
			one.Dash = append(one.Dash, float64(d))
		}
		p.Series = append(p.Series, one)
	}
	for _, b := range c.Bands {
		p.Bands = append(p.Bands, readout.Band{Label: b.Label, Of: b.Of, Color: hex(b.Color), X: b.X, Low: b.Low,
			High: b.High})
	}
	for _, l := range c.Limits {
		side := map[Side]int{Above: 1, Below: -1}[l.Forbid]
		color := "#222222" // as ink
		if l.Color != AutoColor {
			color = hex(l.Color)
		}
		p.Limits = append(p.Limits, readout.Limit{Label: l.Label, At: l.At, Vertical: l.Vertical, From: l.From,
			To:   l.To,
			Side: side, Color: color, Right: l.Right})
	}
	return p
}

func hex(c Color) string {
	v := c.rgba()
	return fmt.Sprintf("#%02x%02x%02x", v.R, v.G, v.B)
}

// word names a marker to the script that draws an enlarged panel; "" for none.
func (m Marker) word() string {
	return map[Marker]string{Circle: "circle", Square: "square", Triangle: "triangle", Diamond: "diamond",
		Cross: "cross",
		Plus:  "plus", Arrow: "arrow", Rays: "rays"}[m]
}
