package figure

import (
	"image/color"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// levelLines draws the lines of a grid's levels, each with its value, and its borders.
type levelLines struct{ prepared }

func (l levelLines) Plot(c draw.Canvas, p *plot.Plot) {
	t := l.logs().place(&c, p)
	for _, n := range l.Notes { // no label under a ring
		const ring = 5
		if at, ok := t.at(n.X, n.Y); ok {
			l.taken.add(vg.Rectangle{Min: vg.Point{X: at.X - ring, Y: at.Y - ring},
				Max: vg.Point{X: at.X + ring, Y: at.Y + ring}})
		}
	}
	for _, v := range l.Grid.Levels {
		ink := l.inkOn(v)
		l.line(&c, t, v, minus(strconv.FormatFloat(v, 'g', 5, 64)), draw.LineStyle{Color: ink, Width: 0.8})
	}
	for _, b := range l.Grid.Borders {
		ink := l.inkOn(b.At)
		style := draw.LineStyle{Color: ink, Width: 1.6}
		runs := l.line(&c, t, b.At, b.Label, style)
		l.hatch(&c, t, b, runs, draw.LineStyle{Color: ink, Width: thin})
	}
}

// inkOn is the colour that is read on the tone of a value.
func (l levelLines) inkOn(v float64) color.NRGBA {
	const turn = 0.55 // L* of the scale is 60 here: as far from white as from ink
	if l.Grid.Map && l.z.share(v) < turn {
		return white
	}
	return ink
}

// line draws the lines of one value, broken for the label on the longest stretch within the frame, and returns them so.
func (l levelLines) line(c *draw.Canvas, t place, v float64, label string, style draw.LineStyle) [][]vg.Point {
	var runs [][]vg.Point
	for _, line := range l.Grid.contour(v) {
		run := make([]vg.Point, 0, len(line))
		for _, at := range line {
			if pt, ok := t.at(at.x, at.y); ok {
				run = append(run, pt)
			}
		}
		runs = append(runs, c.ClipLinesXY(run)...)
	}
	runs = slices.DeleteFunc(runs, func(r []vg.Point) bool { return len(r) < 2 })
	if len(runs) == 0 {
		return nil
	}
	text := textStyle(tickSize, false)
	text.Color, text.XAlign, text.YAlign = style.Color, draw.XCenter, draw.YCenter
	drawn := slices.Clone(runs)
	if k, at, turn, ok := l.room(c, runs, text.Width(label)+6); ok {
		drawn = append(slices.Delete(drawn, k, k+1), broken(runs[k], at, text.Width(label)/2+3)...)
		text.Rotation = turn
		c.FillText(text, at, label)
		half := vg.Point{X: text.Width(label)/2 + 2, Y: 6}
		l.taken.add(vg.Rectangle{Min: vg.Point{X: at.X - half.X, Y: at.Y - half.Y},
			Max: vg.Point{X: at.X + half.X, Y: at.Y + half.Y}})
	}
	c.SetLineStyle(style)
	stroke(c, drawn)
	return drawn
}

// room finds a place for a label along the longest line: where the line runs straightest for its length, away from the
// frame and from other labels.
func (l levelLines) room(c *draw.Canvas, runs [][]vg.Point, width vg.Length) (k int, at vg.Point, turn float64,
	ok bool) {
	longest := vg.Length(0)
	for i, r := range runs {
		if n := length(r); n > longest {
			k, longest = i, n
		}
	}
	if longest < 3*width {
		return 0, at, 0, false
	}
	best := math.Inf(1)
	const tries = 24
	for i := 1; i < tries; i++ {
		middle := longest * vg.Length(i) / tries
		a, b := along(runs[k], middle-width/2), along(runs[k], middle+width/2)
		p := vg.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
		chord := math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y))
		box := vg.Rectangle{Min: vg.Point{X: p.X - width/2, Y: p.Y - 5}, Max: vg.Point{X: p.X + width/2, Y: p.Y + 5}}
		bad := float64(width)/max(chord, 1) - 1 + 0.3*math.Abs(float64(i)/tries-0.5)
		if l.taken.meets(box) || box.Min.X < c.Min.X+2 || box.Max.X > c.Max.X-2 || box.Min.Y < c.Min.Y+2 ||
			box.Max.Y > c.Max.Y-2 {
			bad += 10
		}
		if bad < best {
			best, at, ok = bad, p, bad < 10
			if b.X < a.X {
				a, b = b, a
			}
			turn = math.Atan2(float64(b.Y-a.Y), float64(b.X-a.X))
		}
	}
	return k, at, turn, ok
}

func length(run []vg.Point) (sum vg.Length) {
	for i := 1; i < len(run); i++ {
		sum += distance(run[i-1], run[i])
	}
	return sum
}

func distance(a, b vg.Point) vg.Length {
	return vg.Length(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y)))
}

// along is the point of a run at a way from its beginning.
func along(run []vg.Point, way vg.Length) vg.Point {
	if way <= 0 {
		return run[0]
	}
	for i := 1; i < len(run); i++ {
		d := distance(run[i-1], run[i])
		if way <= d && d > 0 {
			f := way / d
			return vg.Point{X: run[i-1].X + f*(run[i].X-run[i-1].X), Y: run[i-1].Y + f*(run[i].Y-run[i-1].Y)}
		}
		way -= d
	}
	return run[len(run)-1]
}

// broken leaves out of a run what lies nearer to a point than a distance.
func broken(run []vg.Point, at vg.Point, gap vg.Length) (runs [][]vg.Point) {
	var one []vg.Point
	add := func(p vg.Point) {
		if distance(p, at) < gap {
			runs, one = append(runs, one), nil
			return
		}
		one = append(one, p)
	}
	for i, p := range run {
		if i > 0 {
			const parts = 8 // of a piece near the gap, which is then as wide as asked
			from := run[i-1]
			if far := distance(from, p); min(distance(from, at), distance(p, at)) < gap+far {
				for k := vg.Length(1); k < parts; k++ {
					add(vg.Point{X: from.X + k/parts*(p.X-from.X), Y: from.Y + k/parts*(p.Y-from.Y)})
				}
			}
		}
		add(p)
	}
	return append(runs, one)
}

// hatch draws short strokes from a border into its forbidden side.
func (l levelLines) hatch(c *draw.Canvas, t place, b Limit, runs [][]vg.Point, style draw.LineStyle) {
	if b.Forbid == Neither {
		return
	}
	const pitch, deep = 6, 4
	var path vg.Path
	for _, run := range runs {
		for way, n := vg.Length(pitch)/2, length(run); way < n; way += pitch {
			p, q := along(run, way-1), along(run, way+1)
			d := distance(p, q)
			if d == 0 {
				continue
			}
			at := vg.Point{X: (p.X + q.X) / 2, Y: (p.Y + q.Y) / 2}
			out := vg.Point{X: -(q.Y - p.Y) / d * deep, Y: (q.X - p.X) / d * deep}
			tip := vg.Point{X: at.X + out.X, Y: at.Y + out.Y}
			if v := l.Grid.at(t.back(c, tip)); math.IsNaN(v) || (v < b.At) != (b.Forbid == Below) {
				tip = vg.Point{X: at.X - out.X, Y: at.Y - out.Y}
			}
			if inside(c, at) && inside(c, tip) {
				path.Move(at)
				path.Line(tip)
			}
		}
	}
	c.SetLineStyle(style)
	if len(path) > 0 {
		c.Stroke(path)
	}
}
