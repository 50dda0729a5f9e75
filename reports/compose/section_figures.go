package compose

import (
	"math"

	"gonum.org/v1/plot/vg"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// isolationPanels has the backward readings and the model, one panel a temperature, all to one scale.
func isolationPanels(r *verify.Result) figure.Panels {
	p := figure.Panels{ShareX: true}
	for i, run := range r.Runs {
		c := panel(r, run, limits.Isolation)
		var read, bounds figure.Series
		for _, q := range r.Points {
			switch {
			case q.Run != i:
			case q.Censored:
				plot(&bounds, nanometres(q.Wavelength), q.Isolation, math.NaN(), q.Line)
			default:
				plot(&read, nanometres(q.Wavelength), q.Isolation, (q.High-q.Low)/2, q.Line)
			}
		}
		readings(&c, r, read, read.U)
		if len(bounds.X) > 0 {
			bounds.Label, bounds.Color, bounds.Marker = "lower bound", figure.Black, figure.Arrow
			bounds.Line, bounds.File = figure.NoLine, r.File
			c.Series = append(c.Series, bounds)
		}
		for _, curve := range r.Curves {
			if curve.Run == i && curve.Quantity == limits.Isolation {
				draw(&c, curve, r.Diagnosis.Fitted)
			}
		}
		p.Charts = append(p.Charts, c)
	}
	level(p.Charts, 5)
	return p
}

// isolationFigure is the picture a reviewer looks at first.
func isolationFigure(r *verify.Result) document.Figure {
	p := isolationPanels(r)
	caption := "Isolation against wavelength, one panel per temperature: readings (fixture floor subtracted) and " +
		"specified model, each with its expanded uncertainty. Limits are drawn where they apply." + arrows(r)
	if r.Diagnosis.Fitted {
		caption += " Dashed: fitted model."
	}
	f := p.Figure(caption)
	f.Height = vg.Length(20+66*min(len(p.Charts), 3)) * vg.Millimeter
	return f
}

// arrows explains the readings that are bounds.
func arrows(r *verify.Result) string {
	if r.Censored == 0 {
		return ""
	}
	return " Arrows: lower bounds, one-sided 95 %."
}

// lossFigure shows the forward readings in the same way. A diagnosed curve would only cover the specified one:
// errors of angle hardly move the loss. The panels stand side by side, for the loss varies by less than the limit
// leaves room, and needs the height.
func lossFigure(r *verify.Result) document.Figure {
	p := figure.Panels{Columns: 3, ShareX: true, ShareY: true}
	for i, run := range r.Runs {
		c := panel(r, run, limits.InsertionLoss)
		var read figure.Series
		for _, q := range r.Losses {
			if q.Run == i {
				plot(&read, nanometres(q.Wavelength), q.Read, q.U, q.Line)
			}
		}
		if len(read.X) == 0 {
			continue
		}
		readings(&c, r, read, sparse(read.U))
		for _, curve := range r.Curves {
			if curve.Run == i && curve.Quantity == limits.InsertionLoss {
				draw(&c, curve, false)
			}
		}
		p.Charts = append(p.Charts, c)
	}
	level(p.Charts, 0.1)
	p.Columns = min(p.Columns, len(p.Charts))
	f := p.Figure("Insertion loss against wavelength, one panel per temperature: readings, every tenth with its " +
		"expanded uncertainty, specified model with its expanded uncertainty, and the limit where it applies.")
	f.Height = vg.Length(95+45*((len(p.Charts)-1)/p.Columns)) * vg.Millimeter
	return f
}

// sparse keeps every tenth error bar: where all are alike, more only hide the points.
func sparse(u []float64) []float64 {
	kept := make([]float64, len(u))
	for i := 0; i < len(u); i += 10 {
		kept[i] = u[i]
	}
	return kept
}

// residualFigure shows how far every backward reading lies from the model, as it is and in units of what both are
// worth.
func residualFigure(r *verify.Result) document.Figure {
	left := figure.Chart{
		Title: "specified model",
		X:     figure.Axis{Label: "wavelength", Unit: "nm"}, Y: figure.Axis{Label: "1000 × residual"},
	}
	if r.Diagnosis.Fitted {
		left.Title = "fitted model"
	}
	specified := figure.Chart{
		Title: "specified model",
		X:     figure.Axis{Label: "wavelength", Unit: "nm"}, Y: figure.Axis{Label: "En"},
		Limits: []figure.Limit{{At: 1, Forbid: figure.Above}, {At: -1, Forbid: figure.Below}},
	}
	diagnosed := specified
	diagnosed.Title = "fitted model"
	for i, run := range r.Runs {
		var x, y, a, b []float64
		var lines []int
		for _, q := range r.Points {
			if q.Run == i && !q.Censored {
				x, y = append(x, nanometres(q.Wavelength)), append(y, 1000*q.Diagnosed.Residual)
				a, b = append(a, q.Specified.En), append(b, q.Diagnosed.En)
				lines = append(lines, q.Line)
			}
		}
		series := figure.Series{Label: celsius(run.Temperature), X: x, Y: a, Lines: lines, File: r.File,
			Color: figure.ColorAt(i), Marker: figure.MarkerAt(i), Line: figure.NoLine}
		specified.Series = append(specified.Series, series)
		series.Y = b
		diagnosed.Series = append(diagnosed.Series, series)
		series.Y = y
		left.Series = append(left.Series, series)
	}
	p := figure.Panels{Charts: []figure.Chart{left, specified}, ShareX: true}
	if r.Diagnosis.Fitted {
		p.Charts = append(p.Charts, diagnosed)
	}
	bounds := ""
	if r.Censored > 0 {
		bounds = ", lower bounds excepted"
	}
	f := p.Figure("Residuals of all backward readings" + bounds +
		" (measured minus model, in leakage amplitude), and their normalized errors En: the residual over the root " +
		"sum of squares of both expanded uncertainties (ISO 13528). Hatched lines: En = ±1. Inside these lines " +
		"reading and model agree. About one reading in twenty is expected outside by chance; readings with a common " +
		"error fall outside together.")
	f.Height = vg.Length(15+35*len(p.Charts)) * vg.Millimeter
	return f
}

// panel is a chart of one run with the limits that hold at its temperature.
func panel(r *verify.Result, run verify.Sweep, q limits.Quantity) figure.Chart {
	c := figure.Chart{
		Title: celsius(run.Temperature),
		X:     figure.Axis{Label: "wavelength", Unit: "nm"},
		Y:     figure.Axis{Label: q.String(), Unit: q.Unit()},
	}
	bound(&c, r, run, q)
	return c
}

// plot adds a reading to a series, with its expanded uncertainty and the line that it was read from.
func plot(s *figure.Series, x, y, u float64, line int) {
	s.X, s.Y, s.U, s.Lines = append(s.X, x), append(s.Y, y), append(s.U, u), append(s.Lines, line)
}

// readings puts a series of readings into a chart, with bars.
func readings(c *figure.Chart, r *verify.Result, read figure.Series, bars []float64) {
	read.Label, read.Err, read.File = "measured", bars, r.File
	read.Color, read.Marker, read.Line = figure.Black, figure.Plus, figure.NoLine
	c.Series = append(c.Series, read)
}

// draw puts the model over the readings, which would hide a dashed curve that runs through them.
func draw(c *figure.Chart, curve verify.Curve, fitted bool) {
	x := make([]float64, len(curve.Wavelengths))
	for i, l := range curve.Wavelengths {
		x[i] = nanometres(l)
	}
	c.Bands = append(c.Bands, figure.Band{Label: "uncertainty of the specified model", Of: "specified model", X: x,
		Low: curve.Specified.Low, High: curve.Specified.High, Color: figure.SkyBlue})
	c.Series = append(c.Series, figure.Series{Label: "specified model", X: x, Y: curve.Specified.Value,
		Color: figure.Blue, Line: figure.Solid})
	if fitted && curve.Diagnosed.Value != nil {
		c.Series = append(c.Series, figure.Series{Label: "fitted model", X: x, Y: curve.Diagnosed.Value,
			Color: figure.Vermillion, Line: figure.Dashed})
	}
}

// bound draws the limits that apply at the temperature of a run over their bands. The tighter of two
// limits on one band is the one to look at, but both are drawn.
func bound(c *figure.Chart, r *verify.Result, run verify.Sweep, q limits.Quantity) {
	for _, d := range r.Decisions {
		l := d.Limit
		if l.Quantity != q || !l.Covers(l.Low, run.Temperature, 1) {
			continue
		}
		c.Limits = append(c.Limits, figure.Limit{
			Label: "limit " + record.Condition(l.Value).Text() + " " + q.Unit(), At: l.Value,
			From: nanometres(l.Low), To: nanometres(l.High), Forbid: figure.Forbidden(l.AtLeast),
		})
	}
}

// level gives charts that stand above each other one range of y, in whole steps.
func level(charts []figure.Chart, step float64) {
	low, high := math.Inf(1), math.Inf(-1)
	see := func(values ...float64) {
		for _, v := range values {
			if !math.IsNaN(v) {
				low, high = math.Min(low, v), math.Max(high, v)
			}
		}
	}
	for _, c := range charts {
		for _, s := range c.Series {
			see(s.Y...)
			for i, u := range s.Err {
				see(s.Y[i]-u, s.Y[i]+u)
			}
		}
		for _, b := range c.Bands {
			see(b.Low...)
			see(b.High...)
		}
		for _, l := range c.Limits {
			see(l.At)
		}
	}
	if low > high { // nothing to draw
		return
	}
	const air = 0.4 // of a step: the hatching of a limit and its label need room
	for i := range charts {
		charts[i].Y.Min, charts[i].Y.Max = step*math.Floor(low/step-air), step*math.Ceil(high/step+air)
	}
}

// nanometres is a wavelength in nanometres: the unit of every wavelength axis.
func nanometres(l quantity.Length) float64 { return float64(l / quantity.Nanometre) }
