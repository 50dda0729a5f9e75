package vocab

import (
	"math"
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/figure"
)

// plotOf runs cell source and returns the panels of the last figure that it shows.
func plotOf(t *testing.T, source string) (figure.Panels, document.Figure) {
	t.Helper()
	h := newFakeHost(t)
	run1(t, h, source)
	if len(h.outputs) == 0 {
		t.Fatalf("%s: nothing is shown", source)
	}
	o := h.outputs[len(h.outputs)-1]
	f := o.Blocks[0].(document.Figure)
	if svg, _ := o.Data["image/svg+xml"].(string); !strings.Contains(svg, "<svg") {
		t.Errorf("%s: the figure is not there as SVG", source)
	}
	return f.Drawing.(figure.Panels), f
}

const (
	plotSweep = "x = sweep(1530*nm, 1565*nm, 1*nm)\ny = (30*dB + 0.1*dB*((x - 1550*nm)/nm)).named(\"isolation\")\n"
	plotGrid  = "t = sweep(-5*degC, 70*degC, 5*kelvin)\ng = crystal(\"YVO4\").no(sweep(1530*nm, 1565*nm, 1*nm), t)\n"
	plotUnits = exampleStack + "u = s.trials(500, {\"rotator1.angle\": normal(0.3*deg)}, wavelength=1550*nm, " +
		"limits=limits(isolation=at_least(30*dB), over=sweep(1545*nm, 1555*nm, 5*nm)))\n"
)

// TestLegendOfOneCurve: a curve that somebody named has a legend even alone, one that the axis names has none.
func TestLegendOfOneCurve(t *testing.T) {
	for source, want := range map[string]string{
		`plot(y)`: "", `plot({"design A": y})`: "design A", `plot(y, labels=["design B"])`: "design B",
		`plot(y.named("design C"))`: "design C",
	} {
		p, _ := plotOf(t, plotSweep+source)
		if got := p.Charts[0].Series[0].Label; got != want {
			t.Errorf("%s: the legend says %q, want %q", source, got, want)
		}
	}
}

// TestManyRowsByColour: each of more than twelve rows has its own tone, in order, and the bar names the axis.
func TestManyRowsByColour(t *testing.T) {
	p, f := plotOf(t, plotSweep+plotGrid+"plot(g)")
	c := p.Charts[0]
	if len(c.Series) != 16 || !c.Bar || c.Tones != (figure.Axis{Label: "temperature", Unit: "°C", Min: -5, Max: 70}) {
		t.Fatalf("%d curves with a bar of %+v, want 16 over -5 °C to 70 °C", len(c.Series), c.Tones)
	}
	for i, s := range c.Series {
		if want := figure.LineTone(float64(i) / 15); s.Color != want || s.Line != figure.Solid {
			t.Errorf("curve %d has colour %d, want %d", i+1, s.Color, want)
		}
	}
	if !strings.Contains(f.Text, "Colours: temperature (°C) from \u22125 °C to 70 °C.") || len(f.Text) > 600 {
		t.Errorf("described as %q", f.Text)
	}
}

// TestGridAsMap: the numbers of the grid, the limit as a border at its value, the levels asked for.
func TestGridAsMap(t *testing.T) {
	p, f := plotOf(t, exampleStack+`x = sweep(1540*nm, 1560*nm, 5*nm)
r = s.backward(x, sweep(0*degC, 40*degC, 10*kelvin))
plot(r, limits(isolation=at_least(30*dB), over=x), kind="map", levels=[32*dB])
`)
	c := p.Charts[0]
	if len(c.Grid.X) != 5 || len(c.Grid.Y) != 5 || c.Y.Unit != "°C" || c.Tones.Label != "isolation" || !c.Grid.Map ||
		len(c.Grid.Levels) != 1 || c.Grid.Levels[0] != 32 || len(c.Grid.Borders) != 1 || c.Grid.Borders[0].At != 30 ||
		c.Grid.Borders[0].Forbid != figure.Below {
		t.Errorf("the map has %+v", c.Grid)
	}
	if !strings.Contains(f.Text, "Contour lines: 32 dB. Limit: at least 30 dB, at 30 dB.") {
		t.Errorf("described as %q", f.Text)
	}
	p, _ = plotOf(t, plotGrid+`plot(g, kind="contour", levels=5)`)
	if n := len(p.Charts[0].Grid.Levels); n < 3 || n > 8 || p.Charts[0].Grid.Map {
		t.Errorf("%d levels, want about five and no colours", n)
	}
}

// TestTrialsPlotted: a histogram holds all units; points pair the figures of one unit; trials get a panel a figure.
func TestTrialsPlotted(t *testing.T) {
	p, f := plotOf(t, plotUnits+"plot(u.figures[0])")
	sum := 0.0
	bars := p.Charts[0].Bands[0]
	for i := 0; i < len(bars.High); i += 2 {
		sum += bars.High[i]
	}
	if math.Abs(sum-100) > 1e-9 || len(p.Charts[0].Limits) != 1 || !p.Charts[0].Limits[0].Vertical {
		t.Errorf("the bars hold %g %% with limits %+v, want 100 %% and one across", sum, p.Charts[0].Limits)
	}
	if !strings.HasPrefix(f.Caption, "Distribution of isolation over 500 units") {
		t.Errorf("captioned %q", f.Caption)
	}
	p, _ = plotOf(t, plotUnits+"plot(u.figures[0], against=u.figures[1])")
	s := p.Charts[0].Series[0]
	if len(s.X) != 500 || s.Marker == figure.NoMarker || s.Line != figure.NoLine {
		t.Fatalf("%d points, want one a unit", len(s.X))
	}
	for i := range s.X { // the worst over a band that holds the wavelength is no better than there
		if s.Y[i] > s.X[i]+1e-9 {
			t.Fatalf("unit %d has %g dB over the band and %g dB within it: the figures are of different units", i+1,
				s.Y[i],
				s.X[i])
		}
	}
	p, _ = plotOf(t, plotUnits+"plot(u)")
	if len(p.Charts) < 2 {
		t.Errorf("%d panels of trials, want one a figure that is spread", len(p.Charts))
	}
}

// TestAxesOfAPlot: second axis, logarithms, notes, looks, size and panels arrive in the figure.
func TestAxesOfAPlot(t *testing.T) {
	p, f := plotOf(t, plotSweep+`plot({"a": y}, log="y", right={"b": x/um},
    notes={"peak": (1550*nm, 30*dB), "edge": 1560*nm},
    colour=["green", "black"], marker=["square", "none"], line=["dashed", "dotted"], size=(120*mm, 60*mm))`)
	c := p.Charts[0]
	a, b := c.Series[0], c.Series[1]
	if !c.Y.Log || c.Right.Log || !b.Right || a.Right || math.Abs(b.Y[0]-1.53) > 1e-12 || len(c.Notes) != 2 ||
		!math.IsNaN(c.Notes[1].Y) || c.Notes[1].X != 1560 {
		t.Errorf("the chart is %+v", c)
	}
	if a.Color != figure.Green || a.Marker != figure.Square || a.Line != figure.Dashed || b.Color != figure.Black ||
		b.Line != figure.Dotted {
		t.Errorf("the looks are %v %v %v and %v %v", a.Color, a.Marker, a.Line, b.Color, b.Line)
	}
	if w, h := f.Size(); math.Abs(float64(w/h)-2) > 1e-9 {
		t.Errorf("the size is %v by %v, want 120 mm by 60 mm", w, h)
	}
	p, f = plotOf(t, plotSweep+`plot(panel(y, title="first"), panel(y/2, title="second"), title="both")`)
	if len(p.Charts) != 2 || !p.ShareX || p.Charts[1].Title != "second" || f.Caption != "both" {
		t.Errorf("the panels are %+v, captioned %q", p, f.Caption)
	}
}
