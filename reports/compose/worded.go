package compose

import (
	"fmt"
	"math"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/lot"
	"wedgework/reports/record"
	"wedgework/reports/verify"
	"wedgework/reports/verify/decide"
)

// worded gives a figure its alternative text: what a reviewer takes from it, in the numbers of the record, and then
// what is plotted over what. What every curve does in every panel would bury the results.
func worded(f document.Figure, plotted string, results []string) document.Figure {
	f.Text = strings.Join(append(results, "Plotted: "+plotted+"."), " ")
	return f
}

// panelled is what is plotted, with a panel for each sweep.
func panelled(r *verify.Result, plotted string) string {
	var all []string
	for _, run := range r.Runs {
		all = append(all, celsius(run.Temperature))
	}
	return fmt.Sprintf("%s, %s: %s", plotted, document.Count(len(all), "panel"), strings.Join(all, ", "))
}

// limitResults says how the limits on a quantity come out, and at which reading each is closest.
func limitResults(u unit, q limits.Quantity) []string {
	var all []string
	for i, l := range u.Limits {
		if l.Quantity != string(q) {
			continue
		}
		text := fmt.Sprintf("%s %s (%s), limit %s %s %s: %s", extreme(l), withUncertainty(l), brief(l.Over),
			l.Rule, l.Limit.Text(), l.Unit, outcome(l.Outcome))
		if i < len(u.found.Decisions) {
			text += closestReading(u.found, u.found.Decisions[i].Limit, l)
		}
		all = append(all, text+".")
	}
	return all
}

// brief writes conditions as sentences do.
func brief(conditions string) string { return document.Brief(document.Signs(conditions)) }

// extreme names what is compared with a limit.
func extreme(l record.Limit) string {
	if l.Rule == "at least" {
		return "Minimum " + plainName(l.Quantity)
	}
	return "Maximum " + plainName(l.Quantity)
}

// withUncertainty is the figure compared with a limit, as it is written beside its unit.
func withUncertainty(l record.Limit) string {
	switch {
	case l.Measured == "":
		return "not known"
	case l.Bound:
		return fmt.Sprintf("at least %s %s", l.Measured.Text(), l.Unit)
	case l.Uncertainty == "" || l.Lopsided:
		return fmt.Sprintf("%s %s (%s %s)", l.Measured.Text(), l.Unit, record.Between(l.Low, l.High), l.Unit)
	}
	return fmt.Sprintf("(%s ± %s) %s", l.Measured.Text(), l.Uncertainty.Text(), l.Unit)
}

// closestReading says at which reading within the reach of a limit it is closest.
func closestReading(r *verify.Result, l limits.Limit, rec record.Limit) string {
	var where string
	least := math.Inf(1)
	see := func(value float64, nm float64, run int) {
		distance := value - l.Value
		if !l.AtLeast {
			distance = -distance
		}
		if distance < least {
			least = distance
			where = fmt.Sprintf("; closest reading %s %s at %s nm, %s", record.InUnit(value, rec.Unit).Text(), rec.Unit,
				record.Condition(nm).Text(), celsius(r.Runs[run].Temperature))
		}
	}
	switch l.Quantity {
	case limits.Isolation:
		for _, p := range r.Points {
			if !p.Censored && l.Covers(p.Wavelength, r.Runs[p.Run].Temperature, 1) {
				see(p.Isolation, nanometres(p.Wavelength), p.Run)
			}
		}
	case limits.InsertionLoss:
		for _, p := range r.Losses {
			if l.Covers(p.Wavelength, r.Runs[p.Run].Temperature, 1) {
				see(p.Read, nanometres(p.Wavelength), p.Run)
			}
		}
	}
	return where
}

// figureResults says what was measured for the key figures of some names, and what the specified model has.
func figureResults(u unit, names ...string) []string {
	var all []string
	for _, name := range names {
		var parts []string
		for _, f := range u.Figures {
			if f.Name == name && f.Why == "" {
				parts = append(parts, fmt.Sprintf("%s %s at %s, specified model %s %s", f.Measured.Value.Text(), f.Unit,
					brief(f.At), f.Specified.Value.Text(), f.Unit))
			}
		}
		if len(parts) > 0 {
			all = append(all, document.Capital(name)+": "+strings.Join(parts, "; ")+".")
		}
	}
	return all
}

// isolationResults are what the figures of isolation against wavelength show.
func isolationResults(u unit) []string {
	return append(limitResults(u, limits.Isolation), figureResults(u, decide.PeakWavelength)...)
}

// lossResults are what the figure of insertion loss shows.
func lossResults(u unit) []string {
	return append(limitResults(u, limits.InsertionLoss), figureResults(u, decide.InsertionLoss)...)
}

// residualResults say how far readings and models are apart at most, and how many readings disagree.
func residualResults(r *verify.Result) []string {
	of := func(model string, error func(verify.Point) float64) string {
		var worst verify.Point
		n, beyond := 0, 0
		for _, p := range r.Points {
			if p.Censored {
				continue
			}
			n++
			if math.Abs(error(p)) > 1 {
				beyond++
			}
			if n == 1 || math.Abs(error(p)) > math.Abs(error(worst)) {
				worst = p
			}
		}
		return fmt.Sprintf("Against the %s model, %d of %s lie beyond |En| = 1; the largest is %s at %s nm, %s.", model,
			beyond, document.Count(n, "reading"), record.Decimal(error(worst), 2).Text(),
			record.Condition(nanometres(worst.Wavelength)).Text(), celsius(r.Runs[worst.Run].Temperature))
	}
	all := []string{of("specified", func(p verify.Point) float64 { return p.Specified.En })}
	if r.Diagnosis.Fitted {
		all = append(all, of("fitted", func(p verify.Point) float64 { return p.Diagnosed.En }))
	}
	return all
}

// collapseResults say from where to where isolation runs along the curve.
func collapseResults(r *verify.Result) []string {
	var all []string
	for i, run := range r.Runs {
		low, high := -1, -1
		for k, p := range r.Collapse.Points {
			if p.Run != i {
				continue
			}
			if low < 0 || p.Isolation < r.Collapse.Points[low].Isolation {
				low = k
			}
			if high < 0 || p.Isolation > r.Collapse.Points[high].Isolation {
				high = k
			}
		}
		if low < 0 {
			continue
		}
		at := func(k int) string {
			p := r.Collapse.Points[k]
			return fmt.Sprintf("%s dB at %s°", record.InUnit(p.Isolation, "dB").Text(), record.Decimal(p.Off, 2).Text())
		}
		all = append(all, fmt.Sprintf("At %s, minimum isolation %s from the null, maximum %s.",
			celsius(run.Temperature),
			at(low), at(high)))
	}
	return all
}

// chartResults says what a control chart shows: its lines, and whether a rule sees anything.
func chartResults(c lot.Characteristic) string {
	h := c.Chart
	n := func(v float64) string { return record.InUnit(v, c.Unit).Text() }
	name := c.Name
	if c.Condition != "" {
		name += " (" + brief(c.Condition) + ")"
	}
	unit := unitText(c.Unit)
	if unit != "" && !strings.HasPrefix(unit, "°") {
		unit = " " + unit
	}
	at := 0
	for i, v := range h.Values {
		if math.Abs(v-h.Centre) > math.Abs(h.Values[at]-h.Centre) {
			at = i
		}
	}
	if c.Kind == lot.OfParameter {
		name = "parameter " + name
	}
	text := fmt.Sprintf("%s: centre line %s%s, control limits %s to %s%s; unit %s is farthest from the centre, at %s%s; ",
		document.Capital(name), n(h.Centre), unit, n(h.Lower), n(h.Upper), unit, c.Units[at], n(h.Values[at]), unit)
	if len(h.Signals) == 0 {
		return text + "no rule is triggered."
	}
	return text + document.Count(len(h.Signals), "signal") + "."
}
