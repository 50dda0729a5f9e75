package figure

import (
	"errors"
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"wedgework/reports/document"
)

// Panels is several charts in one figure, row by row, with their axes aligned and one legend for all. A
// chart may be left empty (no series and no band) to keep its place free.
type Panels struct {
	Charts  []Chart
	Columns int // zero or one: stacked

	// ShareX leaves the label and the numbers of the x axis to the lowest row, ShareY those of the y axis to
	// the first column; the ranges are then made the same too.
	ShareX, ShareY bool
}

// Figure returns the panels as a block with a caption, described in words. Stacked panels get more height
// than one alone, up to three quarters of a page.
func (p Panels) Figure(caption string) document.Figure {
	f := document.Figure{Caption: caption, Text: p.Describe(), Drawing: p}
	if rows := (len(p.Charts) + max(p.Columns, 1) - 1) / max(p.Columns, 1); rows > 1 {
		f.Height = min(vg.Length(rows)*58, 200) * vg.Millimeter
	}
	return f
}

// Draw draws the panels over the whole canvas. It implements document.Drawing. Data that cannot be drawn
// and a panic of the plotting library are errors.
func (p Panels) Draw(canvas vg.CanvasSizer) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("figure: the plotting library panicked: %v", r)
		}
	}()
	charts, err := p.prepare()
	if err != nil {
		return fmt.Errorf("figure: %w", err)
	}
	w, h := canvas.Size()
	if w < 60 || h < 50 {
		return fmt.Errorf("figure: a canvas of %.0f by %.0f points is too small, expected at least 60 by 50",
			float64(w), float64(h))
	}
	c := draw.New(canvas)
	// The ground is drawn, not assumed: in a dark notebook the ink would vanish.
	c.SetColor(white)
	c.Fill(c.Rectangle.Path())
	c = draw.Crop(c, 2, -6, 2, -3)

	lg := newLegend(charts)
	height := lg.height(c.Size().X)
	lg.draw(draw.Crop(c, 0, 0, c.Size().Y-height, 0))
	c = draw.Crop(c, 0, 0, 0, -height)

	cols := max(p.Columns, 1)
	rows := (len(charts) + cols - 1) / cols
	tiles := draw.Tiles{Cols: cols, Rows: rows, PadX: 14, PadY: 8}
	width, high := p.frameWidth(charts, tiles, c), p.frameHeight(charts, tiles, c)
	plots := make([][]*plot.Plot, rows)
	for j := range plots {
		plots[j] = make([]*plot.Plot, cols)
		for i := range plots[j] {
			k := j*cols + i
			if k >= len(charts) || charts[k].blank() {
				continue
			}
			size := vg.Point{X: width, Y: tiles.At(c, i, j).Size().Y}
			pl := charts[k].plot(size, p.ShareX && !p.lowest(k), p.ShareY && i > 0)
			pl.Y.Label.Text, pl.Y.Label.TextStyle = fitLabel(pl.Y.Label.Text, pl.Y.Label.TextStyle, high, mostLines)
			plots[j][i] = pl
		}
	}
	canvases := plot.Align(plots, tiles, c)
	for j, row := range plots {
		for i, pl := range row {
			if pl != nil {
				drawPanel(pl, canvases[j][i], charts[j*cols+i])
			}
		}
	}
	return nil
}

// frameWidth is about the width of the frames, which is one for all.
func (p Panels) frameWidth(charts []prepared, tiles draw.Tiles, c draw.Canvas) vg.Length {
	beside := make([]vg.Length, tiles.Cols)
	for k, chart := range charts {
		if i := k % tiles.Cols; !chart.blank() {
			beside[i] = max(beside[i], chart.beside(tiles.At(c, i, k/tiles.Cols).Size().Y, p.ShareY && i > 0))
		}
	}
	width := c.Size().X - tiles.PadX*vg.Length(tiles.Cols-1)
	for _, b := range beside {
		width -= b
	}
	return width / vg.Length(tiles.Cols)
}

// frameHeight is a height that the frames, which are of one height, have at least: numbers that reach beyond the ends
// of an axis take up to a quarter.
func (p Panels) frameHeight(charts []prepared, tiles draw.Tiles, c draw.Canvas) vg.Length {
	height := c.Size().Y - tiles.PadY*vg.Length(tiles.Rows-1)
	for j := range tiles.Rows {
		var taken vg.Length
		for i := range tiles.Cols {
			if k := j*tiles.Cols + i; k < len(charts) {
				taken = max(taken, charts[k].aboveAndBelow(p.ShareX && !p.lowest(k)))
			}
		}
		height -= taken
	}
	return max(0.75*height/vg.Length(tiles.Rows), 0)
}

// aboveAndBelow is about the height that the title and the numbers and label of the x axis take.
func (c prepared) aboveAndBelow(hideX bool) (taken vg.Length) {
	if c.Title != "" {
		taken += labelSize + 6
	}
	if !hideX {
		taken += tickLength + tickSize + labelSize + 8
	}
	return taken
}

// lowest reports whether no chart stands below the k-th in its column.
func (p Panels) lowest(k int) bool {
	below := k + max(p.Columns, 1)
	return below >= len(p.Charts) || p.Charts[below].blank()
}

func (c Chart) blank() bool { return len(c.Series) == 0 && len(c.Bands) == 0 && c.Grid == nil }

// Check says what keeps the panels from being drawn, nil for nothing.
func (p Panels) Check() error {
	_, err := p.prepare()
	return err
}

// prepare checks the charts and settles ranges, colours, dashes and markers.
func (p Panels) prepare() ([]prepared, error) {
	var out []prepared
	var pick chooser
	drawn := 0
	for i, c := range p.Charts {
		q := prepared{Chart: c}
		if !c.blank() {
			drawn++
			if err := c.check(); err != nil {
				return nil, p.locate(i, err)
			}
			var err error
			if q.extent, err = c.ranges(); err != nil {
				return nil, p.locate(i, err)
			}
			if !q.right.empty() && q.bar() {
				return nil, p.locate(i, errors.New("a second axis and a bar of colours need the same edge of the "+
					"panel"))
			}
			q.Series = pick.series(c.Series)
			q.Bands = pick.bands(c.Bands)
		}
		out = append(out, q)
	}
	if drawn == 0 {
		return nil, errors.New("nothing to draw: no chart has a series or a band")
	}
	p.share(out)
	return out, nil
}

func (p Panels) locate(i int, err error) error {
	if len(p.Charts) == 1 {
		return err
	}
	return fmt.Errorf("panel %d: %w", i+1, err)
}

// share makes ranges common: of x down each column, of y along each row.
func (p Panels) share(charts []prepared) {
	cols := max(p.Columns, 1)
	join := func(same func(i, j int) bool, get func(*prepared) *span) {
		for i := range charts {
			all := emptySpan()
			for j := range charts {
				if same(i, j) && !charts[j].blank() {
					all.add(get(&charts[j]).lo)
					all.add(get(&charts[j]).hi)
				}
			}
			for j := range charts {
				if same(i, j) && !charts[j].blank() {
					*get(&charts[j]) = all
				}
			}
		}
	}
	if p.ShareX {
		join(func(i, j int) bool { return i%cols == j%cols }, func(q *prepared) *span { return &q.x })
	}
	if p.ShareY {
		join(func(i, j int) bool { return i/cols == j/cols }, func(q *prepared) *span { return &q.y })
	}
}

// prepared is a chart with nothing left open.
type prepared struct {
	Chart
	extent
	taken *boxes // by labels, of the drawing under way
}
