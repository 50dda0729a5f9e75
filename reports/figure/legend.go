package figure

import (
	"cmp"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// legend stands above the panels in as many rows as it needs, where it cannot cover data.
type legend struct{ entries []entry }

type entry struct {
	label  string
	series *Series
	band   *Band
}

const (
	sampleWidth vg.Length = 24
	sampleGap   vg.Length = 4
	entryGap    vg.Length = 14
	rowHeight   vg.Length = 12
	legendGap   vg.Length = 5 // below the last row
)

// newLegend lists what is drawn: points first, then curves, then bands, each panel by panel, so that the
// like stands beside the like. What looks and reads the same is listed once.
func newLegend(charts []prepared) legend {
	type key struct {
		label  string
		color  Color
		line   Line
		marker Marker
		bars   bool
		band   bool
	}
	var l legend
	seen := map[key]bool{}
	add := func(k key, e entry) {
		if k.label != "" && !seen[k] {
			seen[k] = true
			l.entries = append(l.entries, e)
		}
	}
	for i := range charts {
		for j := range charts[i].Series {
			s := &charts[i].Series[j]
			if charts[i].bar() && s.Color >= firstTone {
				continue // the bar says what it is
			}
			label := s.Label
			if s.Right && label != "" {
				label += " (right axis)"
			}
			add(key{label, s.Color, s.Line, s.Marker, len(s.Err) > 0, false}, entry{label: label, series: s})
		}
		for j := range charts[i].Bands {
			b := &charts[i].Bands[j]
			add(key{label: b.Label, color: b.Color, band: true}, entry{label: b.Label, band: b})
		}
	}
	slices.SortStableFunc(l.entries, func(a, b entry) int { return cmp.Compare(a.kind(), b.kind()) })
	return l
}

func (e entry) kind() int {
	switch {
	case e.band != nil:
		return 2
	case e.series.Line == NoLine:
		return 0
	}
	return 1
}

// rows breaks the entries over as few rows as fit into the width, evenly filled, and returns where each
// column of entries starts.
func (l legend) rows(width vg.Length) (rows [][]entry, starts []vg.Length) {
	style := textStyle(tickSize, false)
	n := len(l.entries)
	for count := 1; count <= n; count++ {
		perRow := (n + count - 1) / count
		starts = make([]vg.Length, perRow+1)
		widths := make([]vg.Length, perRow)
		for i, e := range l.entries {
			widths[i%perRow] = max(widths[i%perRow], sampleWidth+sampleGap+style.Width(e.label)+entryGap)
		}
		for i, w := range widths {
			starts[i+1] = starts[i] + w
		}
		if starts[perRow]-entryGap > width && perRow > 1 {
			continue
		}
		for i := 0; i < n; i += perRow {
			rows = append(rows, l.entries[i:min(i+perRow, n)])
		}
		break
	}
	return rows, starts
}

func (l legend) height(width vg.Length) vg.Length {
	rows, _ := l.rows(width)
	if len(rows) == 0 {
		return 2
	}
	return vg.Length(len(rows))*rowHeight + legendGap
}

func (l legend) draw(c draw.Canvas) {
	style := textStyle(tickSize, false)
	style.XAlign, style.YAlign = draw.XLeft, draw.YCenter
	rows, starts := l.rows(c.Size().X)
	for j, row := range rows {
		y := c.Max.Y - (vg.Length(j)+0.5)*rowHeight
		for i, e := range row {
			x := c.Min.X + starts[i]
			e.sample(&c, x, y)
			ext := style.FontExtents()
			c.FillText(style, vg.Point{X: x + sampleWidth + sampleGap, Y: y + (ext.Height-ext.Ascent)/2}, e.label)
		}
	}
}

// sample draws what the entry looks like in the panel.
func (e entry) sample(c *draw.Canvas, x, y vg.Length) {
	left, mid, right := vg.Point{X: x, Y: y}, vg.Point{X: x + sampleWidth/2, Y: y}, vg.Point{X: x + sampleWidth, Y: y}
	if b := e.band; b != nil {
		r := vg.Rectangle{Min: vg.Point{X: x, Y: y - 3.5}, Max: vg.Point{X: x + sampleWidth, Y: y + 3.5}}
		c.SetColor(tint(b.Color.rgba(), 0.2))
		c.Fill(r.Path())
		c.SetLineStyle(draw.LineStyle{Color: tint(b.Color.rgba(), 0.6), Width: thin})
		c.Stroke(r.Path())
		return
	}
	s := e.series
	if s.Line != NoLine {
		c.StrokeLines(draw.LineStyle{Color: s.Color.rgba(), Width: s.Width, Dashes: s.Line.dashes()},
			[]vg.Point{left, right})
	}
	if len(s.Err) > 0 {
		c.StrokeLines(draw.LineStyle{Color: s.Color.rgba(), Width: 0.6},
			[]vg.Point{{X: mid.X, Y: y - 4.5}, {X: mid.X, Y: y + 4.5}})
	}
	if s.Marker != NoMarker {
		const r = 2.4
		var path vg.Path
		s.Marker.add(&path, mid, r)
		c.SetLineStyle(draw.LineStyle{Color: s.Color.rgba(), Width: markerWidth(r)})
		c.Stroke(path)
	}
}
