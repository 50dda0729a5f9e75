package figure

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/recorder"
	"gonum.org/v1/plot/vg/vgsvg"

	"wedgework/reports/document"

	"wedgework/reports/golden"
)

// sized records drawing calls on a canvas of a size.
type sized struct {
	recorder.Canvas
	w, h vg.Length
}

func (s *sized) Size() (x, y vg.Length) { return s.w, s.h }

// calls draws d and returns what it asked of the canvas, numbers rounded to a tenth of a point so that the
// last bits of another processor do not matter.
func calls(t *testing.T, d document.Drawing, w, h vg.Length) []string {
	t.Helper()
	s := &sized{w: w, h: h}
	if err := d.Draw(s); err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, a := range s.Actions {
		out = append(out, describeAction(a))
	}
	return out
}

func describeAction(a recorder.Action) string {
	path := func(p vg.Path) string {
		var b strings.Builder
		for i, k := range p {
			if i == 6 && len(p) > 8 {
				fmt.Fprintf(&b, " ... %d in all", len(p))
				break
			}
			fmt.Fprintf(&b, " %s%.1f,%.1f", []string{"M", "L", "A", "C", "Z"}[k.Type], k.Pos.X, k.Pos.Y)
		}
		return b.String()
	}
	switch a := a.(type) {
	case *recorder.Stroke:
		return "stroke" + path(a.Path)
	case *recorder.Fill:
		return "fill" + path(a.Path)
	case *recorder.FillString:
		return fmt.Sprintf("text %q at %.1f,%.1f size %g", a.String, a.Point.X, a.Point.Y, a.Size)
	case *recorder.SetColor:
		r, g, b, _ := a.Color.RGBA()
		return fmt.Sprintf("color %02x%02x%02x", r>>8, g>>8, b>>8)
	case *recorder.SetLineWidth:
		return fmt.Sprintf("width %g", a.Width)
	case *recorder.SetLineDash:
		return fmt.Sprintf("dash %g", a.Dashes)
	}
	return strings.TrimPrefix(fmt.Sprintf("%T", a), "*recorder.")
}

// sample is a chart with everything in it and a gap in the data.
func sample() Chart {
	nan := math.NaN()
	return Chart{
		Title: "23 °C", X: Axis{Label: "Wavelength", Unit: "nm"}, Y: Axis{Label: "Isolation", Unit: "dB"},
		Series: []Series{
			{Label: "measured", X: []float64{1530, 1540, 1550, 1560, 1570}, Y: []float64{31, 36, 42, nan, 32},
				Err: []float64{1, 1, 2, 1, nan}},
			{Label: "model", X: []float64{1530, 1540, 1550, 1560, 1570}, Y: []float64{32, 36, 41, 36, 32},
				Color: Black},
		},
		Bands: []Band{{Label: "tolerances", X: []float64{1530, 1550, 1570}, Low: []float64{30, 38, 30},
			High: []float64{34, 44, 34}}},
		Limits: []Limit{{Label: "at least 30 dB", At: 30, From: 1535, To: 1565, Forbid: Below},
			{Label: "edge", At: 1565, Vertical: true, Forbid: Above}},
	}
}

func TestDrawingCalls(t *testing.T) {
	golden.Compare(t, "chart.txt", strings.Join(calls(t, sample(), 400, 220), "\n")+"\n")
	right := sample()
	right.Title, right.Bands, right.Limits = "70 °C", nil, nil
	panels := Panels{Charts: []Chart{sample(), right}, Columns: 2, ShareX: true, ShareY: true}
	golden.Compare(t, "panels.txt", strings.Join(calls(t, panels, 480, 200), "\n")+"\n")
}

func TestDescribe(t *testing.T) {
	want := "23 °C: Isolation (dB) over Wavelength (nm). Measured: 4 points, minimum 31 dB at 1530 nm, maximum 42 dB " +
		"at 1550 nm. Model: 5 points, minimum 32 dB at 1530 nm, maximum 41 dB at 1550 nm. Band: tolerances. Limit: " +
		"at least 30 dB, at 30 dB. Limit: edge, at 1565 nm."
	if got := sample().Describe(); got != want {
		t.Errorf("Describe = %q, want %q", got, want)
	}
	f := Panels{Charts: []Chart{sample(), {}, sample()}}.Figure("caption")
	if f.Text != want+" "+want || f.Caption != "caption" || f.Height <= document.DefaultHeight {
		t.Errorf("Figure = %q, %q, %v high; want both descriptions, the caption and more height than one chart", f.Text,
			f.Caption, f.Height)
	}
}

// TestLargeSeriesIsOnePath counts the strokes: the file and the page's speed depend on it.
func TestLargeSeriesIsOnePath(t *testing.T) {
	count := func(n int) int {
		s := Series{Label: "s", Line: Solid, Marker: Circle}
		for i := range n {
			s.X, s.Y, s.Err = append(s.X, float64(i)/float64(n)), append(s.Y, math.Sin(float64(i))), append(s.Err, 0.1)
		}
		strokes := 0
		for _, c := range calls(t, Chart{Series: []Series{s}, X: Axis{Min: 0, Max: 1}, Y: Axis{Min: -2, Max: 2}}, 400,
			200) {
			if strings.HasPrefix(c, "stroke") {
				strokes++
			}
		}
		return strokes
	}
	if few, many := count(10), count(5000); few != many {
		t.Errorf("5000 points take %d strokes, 10 points %d, want as many", many, few)
	}
}

// TestTellsApartWithoutColor looks at seven series made in the same way: each has a pattern or marker of
// its own as long as there are any.
func TestTellsApartWithoutColor(t *testing.T) {
	curves := new(chooser).series(make([]Series, 5))
	points := new(chooser).series([]Series{{Err: []float64{1}}, {Err: []float64{1}}, {Line: NoLine}, {Line: NoLine},
		{Err: []float64{1}}, {Err: []float64{1}}})
	lines, markers := map[Line]bool{}, map[Marker]bool{}
	for _, s := range curves {
		if s.Marker != NoMarker {
			t.Errorf("a curve got marker %d, want none", s.Marker)
		}
		lines[s.Line] = true
	}
	for _, s := range points {
		if s.Line != NoLine {
			t.Errorf("points got line %d, want none", s.Line)
		}
		markers[s.Marker] = true
	}
	if len(lines) != 5 || len(markers) != 6 {
		t.Errorf("got %d patterns and %d markers, want 5 and 6", len(lines), len(markers))
	}
}

func TestSameLabelLooksTheSame(t *testing.T) {
	var c chooser
	first := c.series([]Series{{Label: "model"}, {Label: "measured", Err: []float64{1}}})
	second := c.series([]Series{{Label: "other"}, {Label: "model"}, {Label: "measured", Err: []float64{1}}})
	if diff := cmp.Diff(first, second[1:]); diff != "" {
		t.Errorf("a label looks different in the second panel (-first +second):\n%s", diff)
	}
	if second[0].Color == first[0].Color || second[0].Line == first[0].Line {
		t.Errorf("another label looks the same: %+v and %+v", second[0], first[0])
	}
	if b := c.bands([]Band{{Label: "a"}, {Label: "b"}, {Label: "a"}}); b[0].Color != b[2].Color ||
		b[0].Color == b[1].Color {
		t.Errorf("bands a, b, a got colours %v, %v, %v", b[0].Color, b[1].Color, b[2].Color)
	}
}

func TestLegendNeverCoversData(t *testing.T) {
	c := sample()
	for i := range 12 {
		c.Series = append(c.Series, Series{Label: fmt.Sprintf("a curve with a long name, number %d", i),
			X: []float64{1530, 1570}, Y: []float64{30, 45}})
	}
	s := &sized{w: 400, h: 300}
	if err := c.Draw(s); err != nil {
		t.Fatal(err)
	}
	// The frame is the last rectangle stroked; every entry of the legend lies above it and inside the canvas.
	top := vg.Length(0)
	for _, a := range s.Actions {
		if st, ok := a.(*recorder.Stroke); ok && len(st.Path) == 5 && st.Path[4].Type == vg.CloseComp {
			top = max(st.Path[0].Pos.Y, st.Path[2].Pos.Y)
		}
	}
	seen := 0
	for _, a := range s.Actions {
		if f, ok := a.(*recorder.FillString); ok && strings.Contains(f.String, "number") {
			seen++
			if f.Point.Y < top || f.Point.Y > s.h || f.Point.X < 0 || f.Point.X+textStyle(tickSize,
				false).Width(f.String) > s.w {
				t.Errorf("legend entry %q is at %v, the data reach up to %.1f", f.String, f.Point, top)
			}
		}
	}
	if seen != 12 || top < 50 {
		t.Errorf("found %d entries over a frame at %.1f, want 12 over a usable panel", seen, top)
	}
}

func TestErrors(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	one := []float64{1, 2}
	tests := []struct {
		name  string
		chart Chart
		want  string
	}{
		{"empty", Chart{}, "figure: nothing to draw: no chart has a series or a band"},
		{"only gaps", Chart{Series: []Series{{X: one, Y: []float64{nan, nan}}}},
			"figure: nothing to draw: no series or band has a point that is a number"},
		{"lengths", Chart{Series: []Series{{Label: "a", X: one, Y: one[:1]}}},
			`figure: series 1 "a" has 2 values of x and 1 of y, expected as many`},
		{"bars", Chart{Series: []Series{{Label: "a", X: one, Y: one, Err: one[:1]}}},
			`figure: series 1 "a" has 1 error bars for 2 points, expected as many`},
		{"negative bar", Chart{Series: []Series{{Label: "a", X: one, Y: one, Err: []float64{1, -1}}}},
			`figure: series 1 "a", point 2: error bar -1, expected a half length of zero or more`},
		{"infinite", Chart{Series: []Series{{Label: "a", X: one, Y: []float64{1, inf}}}},
			`figure: series 1 "a", point 2: y is +Inf, expected a number, or NaN for a gap`},
		{"zero on log", Chart{X: Axis{Log: true}, Series: []Series{{Label: "a", X: []float64{0, 1}, Y: one}}},
			`figure: series 1 "a", point 1: x is 0, expected more than zero on a logarithmic axis`},
		{"band", Chart{Bands: []Band{{Label: "b", X: one, Low: one, High: one[:1]}}},
			`figure: band 1 "b" has 2 values of x, 2 low and 1 high, expected as many`},
		{"limit", Chart{Series: []Series{{X: one, Y: one}}, Limits: []Limit{{Label: "l", At: nan}}},
			`figure: limit 1 "l" is at NaN, expected a finite number, above zero on a logarithmic axis`},
		{"axis", Chart{X: Axis{Min: 3, Max: 1}, Series: []Series{{X: one, Y: one}}},
			`figure: axis x runs from 3 to 1, expected rising numbers, above zero on a logarithmic axis`},
		{"log axis", Chart{Y: Axis{Min: -1, Max: 1, Log: true}, Series: []Series{{X: one, Y: one}}},
			`figure: axis y runs from -1 to 1, expected rising numbers, above zero on a logarithmic axis`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := tt.chart.Draw(&sized{w: 300, h: 200})
			if err == nil || err.Error() != tt.want {
				t.Errorf("got error %v, want %s", err, tt.want)
			}
		})
	}
	if err := (Panels{Charts: []Chart{sample(), {Series: []Series{{X: one}}}}}).Draw(&sized{w: 300,
		h: 200}); err == nil || !strings.Contains(err.Error(), "panel 2: ") {
		t.Errorf("a bad second panel gave error %v, want one that names it", err)
	}
	if err := sample().Draw(&sized{w: 30, h: 20}); err == nil || !strings.Contains(err.Error(), "too small") {
		t.Errorf("a tiny canvas gave error %v, want one that says so", err)
	}
	if err := sample().Draw(nil); err == nil || !strings.Contains(err.Error(), "panicked") {
		t.Errorf("a canvas of nil gave error %v, want the panic as an error", err)
	}
}

// TestShapesOfData draws what arises in practice at the edges and only asks that it can be drawn and that
// no coordinate is lost.
func TestShapesOfData(t *testing.T) {
	nan := math.NaN()
	many := make([]float64, 2000)
	for i := range many {
		many[i] = float64(i)
	}
	tests := []struct {
		name  string
		chart Chart
	}{
		{"one point", Chart{Series: []Series{{X: []float64{1550}, Y: []float64{30}}}}},
		{"constant", Chart{Series: []Series{{X: []float64{1, 2}, Y: []float64{0, 0}}}}},
		{"one point on log axes", Chart{X: Axis{Log: true}, Y: Axis{Log: true},
			Series: []Series{{X: []float64{1e-6}, Y: []float64{1e9}, Marker: Plus}}}},
		{"error bar through zero on a log axis", Chart{Y: Axis{Log: true},
			Series: []Series{{X: []float64{1, 2}, Y: []float64{1, 10}, Err: []float64{2, 1}}}}},
		{"many decades", Chart{Y: Axis{Log: true}, Series: []Series{{X: []float64{1, 2}, Y: []float64{1e-12, 1e12}}}}},
		{"tiny numbers", Chart{Series: []Series{{X: []float64{1e-9, 2e-9}, Y: []float64{1e-15, 3e-15}}}}},
		{"huge numbers", Chart{Series: []Series{{X: []float64{1e12, 2e12}, Y: []float64{-1e300, 1e300}}}}},
		{"far from zero", Chart{Series: []Series{{X: []float64{1549.9999, 1550.0001}, Y: []float64{30.00001,
			30.00002}}}}},
		{"data outside the stated range", Chart{X: Axis{Min: 10, Max: 20}, Y: Axis{Min: 10, Max: 20},
			Series: []Series{{X: many, Y: many, Err: many, Marker: Circle, Line: Solid}},
			Bands:  []Band{{X: many, Low: many, High: many}}, Limits: []Limit{{Label: "out", At: 99},
				{Label: "out", At: 99, Vertical: true}}}},
		{"unsorted with gaps", Chart{Series: []Series{{X: []float64{3, 1, nan, 2}, Y: []float64{1, nan, 3, 4},
			Line: Solid}}}},
		{"long labels", Chart{X: Axis{Label: strings.Repeat("x", 200)},
			Series: []Series{{Label: strings.Repeat("label ", 50), X: []float64{1, 2}, Y: []float64{1, 2}}},
			Limits: []Limit{{Label: strings.Repeat("limit ", 50), At: 1.5}}}},
		{"characters", Chart{X: Axis{Label: "中\U0001F600\xff"}, Series: []Series{{Label: "\xe2", X: []float64{1, 2},
			Y: []float64{1, 2}}}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, c := range calls(t, tt.chart, 300, 200) {
				if strings.Contains(c, "NaN") || strings.Contains(c, "Inf") {
					t.Errorf("a call has lost its place: %s", c)
				}
			}
		})
	}
}

func TestSVGIsRepeatable(t *testing.T) {
	svg := func() string {
		c := vgsvg.New(400, 220)
		if err := sample().Draw(c); err != nil {
			t.Error(err)
		}
		var b bytes.Buffer
		if _, err := c.WriteTo(&b); err != nil {
			t.Error(err)
		}
		return b.String()
	}
	want := svg()
	var wg sync.WaitGroup
	for range 4 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			if svg() != want {
				t.Error("drawing side by side gave another file")
			}
		}()
	}
	wg.Wait()
	if !strings.Contains(want, "Liberation Sans") || strings.Contains(want, "Serif") {
		t.Error("the labels are not all in Liberation Sans")
	}
}
