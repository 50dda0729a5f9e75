package figure

import (
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

// newLegend lists what is drawn, panel by panel; what looks and reads the same is listed once.
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
			add(key{s.Label, s.Color, s.Line, s.Marker, len(s.Err) > 0, false}, entry{label: s.Label, series: s})
		}
		for j := range charts[i].Bands {
			b := &charts[i].Bands[j]
			add(key{label: b.Label, color: b.Color, band: true}, entry{label: b.Label, band: b})
		}
	}
	return l
}

// rows breaks the entries over rows of the given width. The entries of a row start where those of the
// other rows do, in columns.
func (l legend) rows(width vg.Length) (rows [][]entry, pitch vg.Length) {
	style := textStyle(tickSize, false)
	for _, e := range l.entries {
		pitch = max(pitch, sampleWidth+sampleGap+style.Width(e.label)+entryGap)
	}
	perRow := max(1, int((width+entryGap)/max(pitch, 1)))
	for i := 0; i < len(l.entries); i += perRow {
		rows = append(rows, l.entries[i:min(i+perRow, len(l.entries))])
	}
	return rows, pitch
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
	rows, pitch := l.rows(c.Size().X)
	for j, row := range rows {
		y := c.Max.Y - (vg.Length(j)+0.5)*rowHeight
		for i, e := range row {
			x := c.Min.X + vg.Length(i)*pitch
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
		c.StrokeLines(draw.LineStyle{Color: s.Color.rgba(), Width: s.Width, Dashes: s.Line.dashes()}, []vg.Point{left, right})
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
