package compose

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/record"
	"wedgework/reports/verify"
)

// collapseFigure lays all sweeps on one curve.
func collapseFigure(r *verify.Result) document.Figure {
	c := figure.Chart{
		X: figure.Axis{Label: "deviation of the rotation from the null", Unit: "°"},
		Y: figure.Axis{Label: "isolation", Unit: "dB"},
	}
	for i, run := range r.Runs {
		var x, y []float64
		for _, p := range r.Collapse.Points {
			if p.Run == i {
				x, y = append(x, p.Off), append(y, p.Isolation)
			}
		}
		c.Series = append(c.Series, figure.Series{Label: celsius(run.Temperature), X: x, Y: y,
			Color: figure.ColorAt(i), Marker: figure.MarkerAt(i), Line: figure.NoLine})
	}
	var x, y []float64
	for _, p := range r.Collapse.Curve {
		x, y = append(x, p.Off), append(y, p.Isolation)
	}
	c.Series = append(c.Series, figure.Series{Label: "fitted model", X: x, Y: y, Color: figure.Black,
		Line: figure.Solid})
	f := c.Figure("All sweeps on one curve: isolation against the deviation of the rotation from the null, where " +
		"leakage is least, at that wavelength and temperature. Common errors, as estimated by the fit, are removed. " +
		"If the readings at one temperature leave the curve, a rotation coefficient of the film differs from the " +
		"model’s.")
	f.Height = 78 * vg.Millimeter
	return f
}

// valleyFigure shows where over wavelength and temperature the unit isolates.
func valleyFigure(r *verify.Result) document.Figure {
	v := r.Valley
	c := figure.Chart{
		X: figure.Axis{Label: "temperature", Unit: "°C"},
		Y: figure.Axis{Label: "wavelength", Unit: "nm"},
	}
	t := make([]float64, len(v.Temperatures))
	for i := range t {
		t[i] = v.Temperatures[i].Celsius()
	}
	gaps := func(ls []quantity.Length) []float64 {
		out := make([]float64, len(ls))
		for i, l := range ls {
			if out[i] = nanometres(l); l == 0 {
				out[i] = math.NaN()
			}
		}
		return out
	}
	colors := []figure.Color{figure.SkyBlue, figure.Green, figure.Orange, figure.Yellow}
	const most = 4 // colours that can be told apart, in grey too
	within, which := v.Within, "each isolation limit"
	if n := len(within); n > most { // a band lies within those of lower limits, which come first
		within, which = within[n-most:], fmt.Sprintf("the %d highest of %d isolation limits", most, n)
	}
	for i, w := range within {
		c.Bands = append(c.Bands, figure.Band{Label: "at least " + record.Condition(w.Level).Text() +
			" dB, fitted model", X: t, Low: gaps(w.Low), High: gaps(w.High), Color: colors[i%len(colors)]})
	}
	c.Series = append(c.Series,
		figure.Series{Label: "peak, specified model", X: t, Y: gaps(v.Specified), Color: figure.Blue,
			Line: figure.Solid},
		figure.Series{Label: "peak, fitted model", X: t, Y: gaps(v.Diagnosed), Color: figure.Vermillion,
			Line: figure.Dashed})
	var x, y, u []float64
	for _, p := range v.Peaks {
		x, y, u = append(x, p.Temperature.Celsius()), append(y, nanometres(p.Wavelength)), append(u, nanometres(p.U))
	}
	if len(x) > 0 {
		c.Series = append(c.Series, figure.Series{Label: "measured peak", X: x, Y: y, Err: u, Color: figure.Black,
			Marker: figure.Plus, Line: figure.NoLine})
	}
	f := c.Figure("Bands: wavelengths at which the fitted model meets " + which + ", against temperature. " +
		"Lines: wavelength of peak isolation, specified and fitted. Symbols: measured peaks with their expanded " +
		"uncertainties.")
	f.Height = 78 * vg.Millimeter
	return f
}

// ledgerTable says what the leak is made of at the readings that matter.
func ledgerTable(u unit) document.Table {
	t := document.Table{
		Caption: "Contributions to the leakage in the fitted model",
		Columns: columns("Contribution"),
		Note: "Backward transmitted power over launched power, in parts per million; in brackets, the isolation if " +
			"this were the only contribution. Contributions add in power. The difference between sum and reading is " +
			"noise and measurement error.",
	}
	for _, l := range u.Leaks {
		t.Columns = append(t.Columns, columns(">"+l.At+": "+l.Name)...)
	}
	row := func(name string, power func(l record.Leak) record.LeakPower) {
		cells := []string{name}
		for _, l := range u.Leaks {
			cells = append(cells, leakText(power(l)))
		}
		t.Rows = append(t.Rows, cells)
	}
	for k, p := range u.Leaks[0].Parts {
		row(p.Name, func(l record.Leak) record.LeakPower { return l.Parts[k].LeakPower })
	}
	row("sum", func(l record.Leak) record.LeakPower { return l.Sum })
	row("reading", func(l record.Leak) record.LeakPower { return l.Reading })
	return t
}

// leakText prints a leak in millionths and in dB.
func leakText(p record.LeakPower) string {
	if p.Millionths == "" {
		return "none"
	}
	return fmt.Sprintf("%s (%s dB)", p.Millionths.Text(), p.Isolation.Text())
}
