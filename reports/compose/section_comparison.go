package compose

import (
	"fmt"

	"gonum.org/v1/plot/vg"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// comparison shows the readings over the model, what is left between them, and the declared figures that the
// verdict on agreement rests on.
func comparison(s Source) []document.Section {
	return each(s, "Measured against model", func(u unit) []document.Block {
		r := u.found
		var b []document.Block
		if len(r.Points) > 0 {
			b = append(b, isolationFigure(r), residualFigure(r))
		}
		if len(r.Losses) > 0 {
			b = append(b, lossFigure(r))
		}
		if len(r.Figures) > 0 {
			b = append(b, figureTable(u))
		}
		return b
	})
}

func isolationFigure(r *verify.Result) document.Figure {
	p := figure.Panels{ShareX: true, ShareY: true}
	for i, run := range r.Runs {
		c := figure.Chart{
			Title: celsius(run.Temperature),
			X:     figure.Axis{Label: "wavelength", Unit: "nm"},
			Y:     figure.Axis{Label: "isolation", Unit: "dB"},
		}
		for _, curve := range r.Curves {
			if curve.Run == i && curve.Quantity == limits.Isolation {
				draw(&c, curve, r.Diagnosis.Fitted)
			}
		}
		var x, y, u []float64
		for _, q := range r.Points {
			if q.Run == i && !q.Censored {
				x, y, u = append(x, nanometres(q.Wavelength)), append(y, q.Isolation), append(u, (q.High-q.Low)/2)
			}
		}
		c.Series = append(c.Series, figure.Series{Label: "measured, with expanded uncertainty", X: x, Y: y, Err: u,
			Color: figure.Black, Marker: figure.Plus, Line: figure.NoLine})
		bound(&c, r, run, limits.Isolation)
		p.Charts = append(p.Charts, c)
	}
	f := p.Figure("Isolation over wavelength, one panel a temperature: readings net of the fixture's floor, the model as specified with its expanded uncertainty, and the model as diagnosed.")
	f.Height = tall(len(p.Charts))
	return f
}

// tall is the height of stacked panels that fill most of a page when there are three.
func tall(panels int) vg.Length { return vg.Length(20+58*min(panels, 4)) * vg.Millimeter }

func draw(c *figure.Chart, curve verify.Curve, fitted bool) {
	x := make([]float64, len(curve.Wavelengths))
	for i, l := range curve.Wavelengths {
		x[i] = nanometres(l)
	}
	c.Bands = append(c.Bands, figure.Band{Label: "model as specified, expanded uncertainty", X: x,
		Low: curve.Specified.Low, High: curve.Specified.High, Color: figure.SkyBlue})
	c.Series = append(c.Series, figure.Series{Label: "model as specified", X: x, Y: curve.Specified.Value,
		Color: figure.Blue, Line: figure.Solid})
	if fitted && curve.Diagnosed.Value != nil {
		c.Series = append(c.Series, figure.Series{Label: "model as diagnosed", X: x, Y: curve.Diagnosed.Value,
			Color: figure.Vermillion, Line: figure.Dashed})
	}
}

// bound draws the limits that apply at the temperature of a run over their bands. The tighter of two
// limits on one band is the one to look at, but both are drawn.
func bound(c *figure.Chart, r *verify.Result, run verify.Sweep, q string) {
	for _, d := range r.Decisions {
		l := d.Limit
		if l.Quantity != q || !l.Covers(l.Low, run.Temperature, 1) {
			continue
		}
		side := figure.Above
		if l.AtLeast {
			side = figure.Below
		}
		c.Limits = append(c.Limits, figure.Limit{
			Label: fmt.Sprintf("limit %s dB", compact(l.Value)), At: l.Value,
			From: nanometres(l.Low), To: nanometres(l.High), Forbid: side,
		})
	}
}

// nanometres is a wavelength in nanometres: the unit of every wavelength axis.
func nanometres(l quantity.Length) float64 { return float64(l / quantity.Nanometre) }

func residualFigure(r *verify.Result) document.Figure {
	specified := figure.Chart{
		Title: "as specified",
		X:     figure.Axis{Label: "wavelength", Unit: "nm"}, Y: figure.Axis{Label: "E_n"},
	}
	diagnosed := specified
	diagnosed.Title = "as diagnosed"
	for i, run := range r.Runs {
		var x, a, b []float64
		for _, q := range r.Points {
			if q.Run == i {
				x, a, b = append(x, nanometres(q.Wavelength)), append(a, q.Specified.En), append(b, q.Diagnosed.En)
			}
		}
		series := figure.Series{Label: celsius(run.Temperature), X: x, Y: a,
			Color: figure.ColorAt(i), Marker: figure.MarkerAt(i), Line: figure.NoLine}
		specified.Series = append(specified.Series, series)
		series.Y = b
		diagnosed.Series = append(diagnosed.Series, series)
	}
	for _, c := range []*figure.Chart{&specified, &diagnosed} {
		c.Limits = []figure.Limit{{At: 1, Forbid: figure.Above}, {At: -1, Forbid: figure.Below}}
	}
	p := figure.Panels{Charts: []figure.Chart{specified}, ShareX: true}
	caption := "Normalized error E_n of every backward reading: measured less model, in leak amplitude, over the root sum of squares of both expanded uncertainties (ISO 13528). Readings and model agree where it lies within ±1, between the two lines."
	if r.Diagnosis.Fitted {
		p.Charts = append(p.Charts, diagnosed)
	}
	f := p.Figure(caption)
	f.Height = vg.Length(15+45*len(p.Charts)) * vg.Millimeter
	return f
}

func lossFigure(r *verify.Result) document.Figure {
	c := figure.Chart{X: figure.Axis{Label: "wavelength", Unit: "nm"}, Y: figure.Axis{Label: "insertion loss", Unit: "dB"}}
	for i, run := range r.Runs {
		var x, y, u []float64
		for _, q := range r.Losses {
			if q.Run == i {
				x, y, u = append(x, nanometres(q.Wavelength)), append(y, q.Read), append(u, q.U)
			}
		}
		c.Series = append(c.Series, figure.Series{Label: "measured, " + celsius(run.Temperature), X: x, Y: y, Err: sparse(u, 3*i),
			Color: figure.ColorAt(i), Marker: figure.MarkerAt(i), Line: figure.NoLine})
	}
	for _, curve := range r.Curves {
		if curve.Quantity != limits.InsertionLoss {
			continue
		}
		x := make([]float64, len(curve.Wavelengths))
		for i, l := range curve.Wavelengths {
			x[i] = nanometres(l)
		}
		c.Series = append(c.Series, figure.Series{Label: "model, " + celsius(curve.Temperature), X: x, Y: curve.Specified.Value,
			Color: figure.ColorAt(curve.Run), Line: figure.LineAt(curve.Run)})
	}
	for i, run := range r.Runs {
		if i == 0 {
			bound(&c, r, run, limits.InsertionLoss)
		}
	}
	f := c.Figure("Insertion loss over wavelength, with the expanded uncertainty of every tenth reading.")
	f.Height = 85 * vg.Millimeter
	return f
}

// sparse keeps every tenth error bar: where all are alike, more only hide the points.
func sparse(u []float64, from int) []float64 {
	kept := make([]float64, len(u))
	for i := from; i < len(u); i += 10 {
		kept[i] = u[i]
	}
	return kept
}

func figureTable(u unit) document.Table {
	j := u.found.Joint
	t := document.Table{
		Caption: "Declared figures, measured against modelled",
		Columns: columns("Figure", "Where", "Unit", ">Measured", ">95 % interval", ">As specified", ">E_n", ">As diagnosed", ">E_n"),
		Note: fmt.Sprintf("E_n is the difference over the expanded uncertainties of both sides. Taken together with their covariance, the %d figures give chi-squared %s against the model as specified (p = %s).",
			j.Count, num(record.Decimal(j.ChiSquared, 1)), least(record.Decimal(j.PValue, 3))),
	}
	for _, f := range u.Figures {
		if f.Why != "" {
			t.Rows = append(t.Rows, []string{f.Name, brief(f.At), f.Unit, "not determined", "", "", "", "", ""})
			t.Note += fmt.Sprintf(" %s, %s: %s", capital(f.Name), f.At, set(f.Why))
			continue
		}
		row := []string{f.Name, brief(f.At), f.Unit, num(f.Measured.Value), num(f.Measured.Low) + " to " + num(f.Measured.High),
			num(f.Specified.Value), num(f.Specified.NormalizedError), "", ""}
		if f.Diagnosed != nil {
			row[7], row[8] = num(f.Diagnosed.Value), num(f.Diagnosed.NormalizedError)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
