package figure

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"wedgework/reports/readout"
)

var white = color.NRGBA{0xFF, 0xFF, 0xFF, 0xFF}

// plot builds the gonum plot of a chart whose frame will be about as wide, and with its axis about as high, as the
// given size. hideX and hideY leave out the label and the numbers of an axis that another panel carries.
func (c prepared) plot(size vg.Point, hideX, hideY bool) *plot.Plot {
	if c.taken == nil {
		c.taken = new(boxes)
	}
	p := plot.New()
	p.BackgroundColor = nil // drawn once for all panels
	if c.Title != "" {
		p.Title.Text = " " // room only: gonum would centre the title over the axis labels too
	}
	p.Title.TextStyle = textStyle(labelSize, true)
	p.Title.TextStyle.XAlign, p.Title.TextStyle.YAlign = draw.XCenter, draw.YTop
	p.Title.Padding = 3

	dressAxis(&p.Y, c.Y, c.y, int(size.Y/24), hideY)
	dressAxis(&p.X, c.X, c.x, tickCount(c.X, c.x, size.X), hideX)
	p.X.Tick.Label.XAlign, p.X.Tick.Label.YAlign = draw.XCenter, draw.YTop
	p.Y.Tick.Label.XAlign, p.Y.Tick.Label.YAlign = draw.XRight, draw.YCenter
	p.X.Label.Padding, p.Y.Label.Padding = 2, 4

	if c.Grid != nil && c.Grid.Map {
		p.Add(gridMap{c})
	} else {
		p.Add(gridLines{})
	}
	for i, b := range c.Bands {
		p.Add(part{bandFill{b, c.logs()}, readout.ABand, i})
	}
	for i, b := range c.Bands { // edges over all fills, so that overlapping bands stay apart
		p.Add(part{bandEdge{b, c.logs()}, readout.ABand, i})
	}
	for _, l := range c.Limits {
		p.Add(limitLine{l, c})
	}
	if c.Grid != nil {
		p.Add(levelLines{c})
	}
	for i, s := range c.Series {
		p.Add(part{errorBars{s, c.mapping(s.Right)}, readout.ASeries, i})
	}
	for i, s := range c.Series {
		p.Add(part{curve{s, c.mapping(s.Right)}, readout.ASeries, i})
	}
	p.Add(notes{c}, frame{c.Title})
	switch {
	case !c.right.empty():
		p.Add(rightAxis{c.Right, c.right})
	case c.bar():
		most := lineTones
		if c.Grid != nil && c.Grid.Map {
			most = 1
		}
		p.Add(colorBar{rightAxis{c.Tones, c.z}, most})
	}
	return p
}

// beside is about the room that the axes left and right of the frame take.
func (c prepared) beside(height vg.Length, hideY bool) vg.Length {
	room := vg.Length(8)
	if !hideY {
		ticks, label := rightAxis{c.Y, c.y}.ticks(height) // as it would stand at the right
		if room += widest(ticks); label != "" {
			room += 16
		}
	}
	switch {
	case !c.right.empty():
		room += rightAxis{c.Right, c.right}.width()
	case c.bar():
		room += barGap + barWidth + rightAxis{c.Tones, c.z}.width()
	}
	return room
}

// tickCount returns how many numbers stand side by side with air between them, at most twelve.
func tickCount(a Axis, r span, length vg.Length) int {
	const most, least, air = 12, 2, 9
	for count := most; count > least; count-- {
		ticks, _ := linearTicks(r.lo, r.hi, count)
		if a.Log {
			ticks = logTicks(r.lo, r.hi, count)
		}
		n := 0
		for _, t := range ticks {
			if t.Label != "" {
				n++
			}
		}
		if vg.Length(n-1)*(widest(ticks)+air) <= length {
			return count
		}
	}
	return least
}

func dressAxis(a *plot.Axis, spec Axis, r span, count int, hide bool) {
	a.Min, a.Max = r.lo, r.hi
	a.Padding = 0
	a.LineStyle = draw.LineStyle{Color: ink, Width: thin}
	a.Tick.LineStyle = a.LineStyle
	a.Tick.Length = 3.5
	style := textStyle(tickSize, false)
	a.Tick.Label.Font, a.Tick.Label.Color, a.Tick.Label.Handler = style.Font, style.Color, style.Handler
	label := textStyle(labelSize, false)
	label.XAlign, label.YAlign = draw.XCenter, draw.YBottom
	a.Label.TextStyle = label

	var ticks []plot.Tick
	exponent := 0
	if spec.Log {
		// The axis runs in decades and data are mapped by place. gonum's own logarithmic scale takes the
		// middle of the numbers for the middle of the axis and leaves room for a label that is not there.
		a.Min, a.Max = math.Log10(r.lo), math.Log10(r.hi)
		ticks = logTicks(r.lo, r.hi, count)
		for i := range ticks {
			ticks[i].Value = math.Min(math.Max(math.Log10(ticks[i].Value), a.Min), a.Max)
		}
	} else {
		if spec.Whole {
			count = min(count, int(r.hi-r.lo))
		}
		ticks, exponent = linearTicks(r.lo, r.hi, max(count, 2))
		if spec.Whole {
			ticks = slices.DeleteFunc(ticks, func(t plot.Tick) bool { return t.Value != math.Trunc(t.Value) })
		}
	}
	if hide {
		for i := range ticks {
			if ticks[i].Label != "" {
				ticks[i].Label = " " // still a labelled tick, so that its mark and grid line stay long
			}
		}
	} else {
		a.Label.Text = spec.text(exponent)
	}
	a.Tick.Marker = plot.ConstantTicks(ticks)
}

// logs says which axes are logarithmic; right is the range of the axis at the right edge, for what belongs to it.
type logs struct {
	x, y  bool
	right *span
}

func (c Chart) logs() logs { return logs{x: c.X.Log, y: c.Y.Log} }

// logsOf is logs for what belongs to the left axis, or to the right one.
func (c Chart) logsOf(right bool) logs {
	if right {
		return logs{x: c.X.Log, y: c.Right.Log}
	}
	return c.logs()
}

// mapping is logsOf with the range of the axis.
func (c prepared) mapping(right bool) logs {
	l := c.logsOf(right)
	if right {
		l.right = &c.right
	}
	return l
}

// place maps data to the canvas, and back.
type place struct {
	x, y func(float64) vg.Length
	back func(c *draw.Canvas, p vg.Point) (x, y float64)
}

func (l logs) place(c *draw.Canvas, p *plot.Plot) place {
	x, y := p.Transforms(c)
	in := func(f func(float64) vg.Length, log bool) func(float64) vg.Length {
		if !log {
			return f
		}
		return func(v float64) vg.Length { return f(math.Log10(v)) }
	}
	if l.right != nil {
		a, low, height := rightAxis{Axis{Log: l.y}, *l.right}, c.Min.Y, c.Size().Y
		y = func(v float64) vg.Length { return low + vg.Length(a.share(v))*height }
		return place{in(x, l.x), y, nil}
	}
	return place{in(x, l.x), in(y, l.y), func(c *draw.Canvas, pt vg.Point) (x, y float64) {
		x = p.X.Min + float64((pt.X-c.Min.X)/c.Size().X)*(p.X.Max-p.X.Min)
		y = p.Y.Min + float64((pt.Y-c.Min.Y)/c.Size().Y)*(p.Y.Max-p.Y.Min)
		if l.x {
			x = math.Pow(10, x)
		}
		if l.y {
			y = math.Pow(10, y)
		}
		return x, y
	}}
}

// at returns where a point lies; ok is false where there is no number.
func (t place) at(x, y float64) (vg.Point, bool) {
	if math.IsNaN(x) || math.IsNaN(y) {
		return vg.Point{}, false
	}
	return vg.Point{X: t.x(x), Y: t.y(y)}, true
}

// gridLines draws a pale line at every labelled tick.
type gridLines struct{}

func (gridLines) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	var path vg.Path
	for _, t := range p.X.Tick.Marker.Ticks(p.X.Min, p.X.Max) {
		if !t.IsMinor() {
			path.Move(vg.Point{X: x(t.Value), Y: c.Min.Y})
			path.Line(vg.Point{X: x(t.Value), Y: c.Max.Y})
		}
	}
	for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
		if !t.IsMinor() {
			path.Move(vg.Point{X: c.Min.X, Y: y(t.Value)})
			path.Line(vg.Point{X: c.Max.X, Y: y(t.Value)})
		}
	}
	c.SetLineStyle(draw.LineStyle{Color: grid, Width: thin})
	if len(path) > 0 {
		c.Stroke(path)
	}
}

// frame closes the box around the data, over everything that touches it, and writes the title above.
type frame struct{ title string }

func (f frame) Plot(c draw.Canvas, _ *plot.Plot) {
	c.SetLineStyle(draw.LineStyle{Color: ink, Width: thin})
	c.Stroke(c.Rectangle.Path())
	if f.title != "" {
		style := textStyle(labelSize, true)
		style.XAlign, style.YAlign = draw.XCenter, draw.YBottom
		c.FillText(style, vg.Point{X: c.Center().X, Y: c.Max.Y + 3 + style.FontExtents().Descent}, f.title)
	}
}
