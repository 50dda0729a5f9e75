package figure

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"wedgework/reports/document"
)

// gridOver samples a function.
func gridOver(n int, lo, hi float64, f func(x, y float64) float64) *Grid {
	g := &Grid{}
	for i := range n {
		v := lo + (hi-lo)*float64(i)/float64(n-1)
		g.X, g.Y = append(g.X, v), append(g.Y, v)
	}
	for _, y := range g.Y {
		var row []float64
		for _, x := range g.X {
			row = append(row, f(x, y))
		}
		g.Z = append(g.Z, row)
	}
	return g
}

// TestContourOfACone: the line of a cone at height r is a circle, closed, of the length 2 pi r and of radius r to the
// error of straight pieces between the points of the grid, its pitch squared over 8 r.
func TestContourOfACone(t *testing.T) {
	g := gridOver(41, -2, 2, math.Hypot)
	const r, pitch = 1.3, 0.1
	lines := g.contour(r)
	if len(lines) != 1 {
		t.Fatalf("%d lines, want one", len(lines))
	}
	line := lines[0]
	if line[0] != line[len(line)-1] {
		t.Errorf("the line runs from %v to %v, want it closed", line[0], line[len(line)-1])
	}
	around := 0.0
	for k, v := range line {
		if d := math.Hypot(v.x, v.y) - r; math.Abs(d) > pitch*pitch/(8*r)*1.5 {
			t.Errorf("a point of the line is %g off the circle", d)
		}
		if k > 0 {
			around += math.Hypot(v.x-line[k-1].x, v.y-line[k-1].y)
		}
	}
	if math.Abs(around-2*math.Pi*r) > 0.01 {
		t.Errorf("the line is %g long, want %g", around, 2*math.Pi*r)
	}
}

// TestContourEndsAtEdgesAndGaps: on a plane a line runs from edge to edge; a gap breaks it; a saddle parts it by its
// mean; outside its values a grid has none.
func TestContourEndsAtEdgesAndGaps(t *testing.T) {
	g := gridOver(11, 0, 1, func(x, y float64) float64 { return x + 2*y })
	lines := g.contour(1.2)
	if len(lines) != 1 {
		t.Fatalf("%d lines on a plane, want one", len(lines))
	}
	for _, v := range lines[0] {
		if math.Abs(v.x+2*v.y-1.2) > 1e-12 {
			t.Errorf("%v is not on the line", v)
		}
	}
	if a, b := lines[0][0], lines[0][len(lines[0])-1]; math.Abs(math.Abs(a.x-b.x)-1) > 1e-9 {
		t.Errorf("the line runs from %v to %v, want from edge to edge", a, b)
	}
	g.Z[4][5] = math.NaN()
	if n := len(g.contour(1.2)); n != 2 {
		t.Errorf("%d lines around a gap, want two", n)
	}
	if n := len(g.contour(17)); n != 0 {
		t.Errorf("%d lines beyond all values, want none", n)
	}
	saddle := gridOver(2, -1, 1, func(x, y float64) float64 { return x * y })
	// beyond the mean, 0, the corners of that sign are cut off
	for level, want := range map[float64]float64{0.2: 1, -0.2: -1} {
		lines := saddle.contour(level)
		if len(lines) != 2 {
			t.Fatalf("%d lines in a saddle, want two", len(lines))
		}
		for _, l := range lines {
			x, y := (l[0].x+l[1].x)/2, (l[0].y+l[1].y)/2
			if x*y*want < 0.2*0.5 {
				t.Errorf("at %g a line passes (%g, %g), want it around a corner of that sign", level, x, y)
			}
		}
	}
}

// TestGridBetweenPoints: straight lines in both directions are exact for x y, which is bilinear, whichever way the axes
// run; outside and beside gaps there is nothing.
func TestGridBetweenPoints(t *testing.T) {
	g := gridOver(5, 1, 3, func(x, y float64) float64 { return x * y })
	back := &Grid{X: slices.Clone(g.X), Y: g.Y}
	slices.Reverse(back.X)
	for _, row := range g.Z {
		r := slices.Clone(row)
		slices.Reverse(r)
		back.Z = append(back.Z, r)
	}
	for _, p := range []vertex{{1, 1}, {3, 3}, {1.2, 2.9}, {2.5, 2.5}, {3, 1.7}} {
		for _, one := range []*Grid{g, back} {
			if got := one.at(p.x, p.y); math.Abs(got-p.x*p.y) > 1e-12 {
				t.Errorf("at %v: %g, want %g", p, got, p.x*p.y)
			}
		}
	}
	for _, p := range []vertex{{0.99, 2}, {2, 3.01}, {math.NaN(), 2}} {
		if got := g.at(p.x, p.y); !math.IsNaN(got) {
			t.Errorf("at %v: %g, want nothing", p, got)
		}
	}
	g.Z[2][2] = math.NaN()
	if got := g.at(2.2, 2.2); !math.IsNaN(got) {
		t.Errorf("beside a gap: %g, want nothing", got)
	}
}

func TestGridsRefused(t *testing.T) {
	good := func() *Grid { return gridOver(3, 1, 3, math.Hypot) }
	for want, spoil := range map[string]func(*Chart){
		"the grid has 1 by 3 points":                func(c *Chart) { c.Grid.X = c.Grid.X[:1] },
		"the grid has 2 rows for 3 values of y":     func(c *Chart) { c.Grid.Z = c.Grid.Z[:2] },
		"row 2 of the grid has 2 values for 3 of x": func(c *Chart) { c.Grid.Z[1] = c.Grid.Z[1][:2] },
		"row 3 of the grid, point 1: found +Inf":    func(c *Chart) { c.Grid.Z[2][0] = math.Inf(1) },
		"the grid, point 3: x is 1 after 2":         func(c *Chart) { c.Grid.X[2] = 1 },
		"the grid, point 1: y is 0":                 func(c *Chart) { c.Y.Log, c.Grid.Y[0] = true, 0 },
		"a bar of colours without ends": func(c *Chart) {
			*c = Chart{Bar: true, Series: []Series{{X: []float64{1}, Y: []float64{1}}}}
		},
		"a second axis and a bar of colours need the same edge": func(c *Chart) {
			c.Series = []Series{{X: []float64{1, 2}, Y: []float64{1, 2}, Right: true}}
		},
	} {
		c := Chart{Grid: good()}
		c.Grid.Map = true
		spoil(&c)
		err := Panels{Charts: []Chart{c}}.Check()
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

// TestHistogramShares holds the bars against numpy: numpy.histogram([1, 2, 2.5, 2.6, 3, 9, nan], bins=4, range=(1, 3))
// counts 1, 0, 1, 3, of six numbers.
func TestHistogramShares(t *testing.T) {
	bars, outline, err := Histogram([]float64{1, 2, 2.5, 2.6, 3, 9, math.NaN()}, 1, 3, 4)
	if err != nil {
		t.Fatal(err)
	}
	for k, count := range []float64{1, 0, 1, 3} {
		if got := bars.High[2*k]; math.Abs(got-100*count/6) > 1e-12 || bars.High[2*k+1] != got || bars.Low[2*k] != 0 {
			t.Errorf("bin %d has %g %%, want %g of 6", k+1, got, count)
		}
		if from, to := bars.X[2*k], bars.X[2*k+1]; from != 1+0.5*float64(k) || to != from+0.5 {
			t.Errorf("bin %d runs from %g to %g", k+1, from, to)
		}
	}
	if n := len(outline.Y); outline.Y[0] != 0 || outline.Y[n-1] != 0 || n != 10 {
		t.Errorf("the outline is %v, want it to begin and end at zero", outline.Y)
	}
	for _, bad := range []struct {
		values    []float64
		low, high float64
		bins      int
	}{{nil, 0, 1, 4}, {[]float64{1}, 1, 1, 4}, {[]float64{1}, 0, 1, 0}} {
		if _, _, err := Histogram(bad.values, bad.low, bad.high, bad.bins); err == nil {
			t.Errorf("a histogram of %v was made", bad)
		}
	}
}

// TestRightAxis draws one value on either axis: each lies where its own axis says, in height and beside the frame.
func TestRightAxis(t *testing.T) {
	c := Chart{X: Axis{Min: 0, Max: 1}, Y: Axis{Min: 0, Max: 10}, Right: Axis{Label: "PDL", Unit: "dB", Min: 0.01,
		Max: 1,
		Log: true},
		Series: []Series{{X: []float64{0, 1}, Y: []float64{5, 5}},
			{Label: "PDL", X: []float64{0, 1}, Y: []float64{0.1, 0.1}, Right: true}}}
	charts, err := Panels{Charts: []Chart{c}}.prepare()
	if err != nil {
		t.Fatal(err)
	}
	p := charts[0].plot(vg.Point{X: 300, Y: 200}, false, false)
	s := &sized{w: 300, h: 200}
	canvas := draw.New(s)
	frame := p.DataCanvas(canvas)
	left := charts[0].mapping(false).place(&frame, p).y(5)
	right := charts[0].mapping(true).place(&frame, p).y(0.1) // the middle of two decades
	if math.Abs(float64(left-right)) > 1e-9 {
		t.Errorf("5 of 0 to 10 lies at %g, 0.1 of 0.01 to 1 at %g, want both in the middle", left, right)
	}
	if room := canvas.Max.X - frame.Max.X; room < 30 {
		t.Errorf("%g points beside the frame, want room for numbers and a label", room)
	}
	x, y := charts[0].mapping(false).place(&frame, p).back(&frame, vg.Point{X: frame.Max.X, Y: left})
	if math.Abs(x-1) > 1e-9 || math.Abs(y-5) > 1e-9 {
		t.Errorf("back from the canvas: %g, %g, want 1, 5", x, y)
	}
	text := c.Describe()
	if !strings.Contains(text, "PDL (dB) on the right axis: 2 points, all at 0.1 dB") {
		t.Errorf("described as %q", text)
	}
}

// TestLabelsStayApart draws notes and limits that crowd one place: no text covers another.
func TestLabelsStayApart(t *testing.T) {
	c := Chart{X: Axis{Min: 0, Max: 10}, Y: Axis{Min: 0, Max: 10},
		Series: []Series{{X: []float64{0, 10}, Y: []float64{1, 9}, Line: Solid}},
		Limits: []Limit{{Label: "at least 5 dB", At: 5, Forbid: Below}, {Label: "at most 5.2 dB", At: 5.2,
			Forbid: Above}},
		Notes: []Note{{"peak of the first", 5, 5}, {"peak of the second", 5.1, 5}, {"edge", 5, math.NaN()},
			{"middle", math.NaN(), 5.1}},
	}
	charts, err := Panels{Charts: []Chart{c}}.prepare()
	if err != nil {
		t.Fatal(err)
	}
	q := charts[0]
	q.taken = new(boxes)
	p := q.plot(vg.Point{X: 480, Y: 240}, false, false)
	s := &sized{w: 480, h: 240}
	p.Draw(draw.New(s))
	if n := strings.Count(strings.Join(calls(t, c, 480, 240), "\n"), "text \""); n < 6 {
		t.Errorf("%d texts, want the labels of all", n)
	}
	taken := *q.taken
	if len(taken) != 6 {
		t.Fatalf("%d labels were placed, want 6", len(taken))
	}
	for i, a := range taken {
		for _, b := range taken[i+1:] {
			one := boxes{a}
			if one.meets(b) {
				t.Errorf("labels at %v and %v cover each other", a, b)
			}
		}
	}
}

// TestLimitsThatCrowd draws 40 limits into a panel, each over a part of the band: no text of the figure covers another,
// those that find room are named, and the hatching of all does not make a black field.
func TestLimitsThatCrowd(t *testing.T) {
	for _, n := range []int{1, 3, 8, 9, 20, 40} {
		c := Chart{X: Axis{Label: "wavelength", Unit: "nm", Min: 1500, Max: 1580}, Y: Axis{Label: "isolation", Unit: "dB",
			Min: 15, Max: 50}, Series: []Series{{X: []float64{1500, 1540, 1580}, Y: []float64{25, 42, 27}, Line: Solid}}}
		for k := range n {
			lo := 1525 + 0.5*float64(k)
			c.Limits = append(c.Limits, Limit{Label: fmt.Sprintf("limit %.1f dB", 20+0.3*float64(k)),
				At: 20 + 0.3*float64(k), From: lo, To: lo + 25, Forbid: Below})
		}
		texts := textBoxes(t, Panels{Charts: []Chart{c}}, 480, 180)
		named := 0
		for i, a := range texts {
			if strings.HasPrefix(a.text, "limit ") {
				named++
			}
			for _, b := range texts[i+1:] {
				if one := (boxes{a.at}); one.meets(b.at) {
					t.Errorf("%d limits: %q and %q cover each other", n, a.text, b.text)
				}
			}
		}
		if want := min(n, 4); named < want {
			t.Errorf("%d of %d limits are named, want %d at least", named, n, want)
		}
		hatched := strings.Count(strings.Join(calls(t, c, 480, 180), "\n"), " in all") // paths of many strokes
		if n > mostHatched && hatched > 3 {
			t.Errorf("%d limits: %d paths of many strokes, want no hatching", n, hatched)
		}
	}
}

// textBox is a text of a figure, and the ink of its line, from the baseline to the height of capitals.
type textBox struct {
	text string
	at   vg.Rectangle
}

// textBoxes reads the upright texts of a figure off what it asks of a canvas.
func textBoxes(t *testing.T, d document.Drawing, w, h vg.Length) (all []textBox) {
	t.Helper()
	s := &sized{w: w, h: h}
	if err := d.Draw(s); err != nil {
		t.Fatal(err)
	}
	var place []vg.Point // where the origin is, of what was pushed
	at, turned := vg.Point{}, false
	for _, a := range s.Actions {
		switch a := a.(type) {
		case *recorder.Push:
			place = append(place, at)
		case *recorder.Pop:
			at, place, turned = place[len(place)-1], place[:len(place)-1], false
		case *recorder.Translate:
			at = vg.Point{X: at.X + a.Point.X, Y: at.Y + a.Point.Y}
		case *recorder.Rotate:
			turned = true
		case *recorder.FillString:
			if turned || strings.TrimSpace(a.String) == "" {
				continue
			}
			f := font.DefaultCache.Lookup(a.Font, a.Size)
			low := vg.Point{X: at.X + a.Point.X, Y: at.Y + a.Point.Y}
			all = append(all, textBox{a.String, vg.Rectangle{Min: low,
				Max: vg.Point{X: low.X + f.Width(a.String), Y: low.Y + 0.7*a.Size}}})
		}
	}
	if len(all) == 0 {
		t.Fatal("the figure has no text")
	}
	return all
}
