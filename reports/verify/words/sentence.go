package words

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/verify/diagnose"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/text"
)

// value prints a fitted value with its uncertainty: "44.410 ± 0.030 deg", "30.10 dB (29.90 to 30.30 dB)",
// "at least 47.20 dB".
func value(d diagnose.Departure) string {
	unit, n := d.Unit.Symbol(), d.Decimals()
	switch {
	case d.AtLeast:
		return fmt.Sprintf("at least %s %s", text.Number(d.Low, n), unit)
	case d.Sigma == 0:
		return fmt.Sprintf("%s %s (%s to %s %s)", text.Number(d.Value, n), unit, text.Number(d.Low, n), text.Number(d.High, n), unit)
	}
	return fmt.Sprintf("%s ± %s %s", text.Number(d.Value, n), text.Number(d.U, n), unit)
}

// clause says what a departure is and how it stands to its tolerance.
func clause(d diagnose.Departure, name string) string {
	if d.Indeterminate {
		return fmt.Sprintf("the readings do not depend on %s", name)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s is %s", name, value(d))
	unit := d.Unit.Symbol()
	if !d.AtLeast {
		fmt.Fprintf(&b, ", %s", distance(d, d.Decimals()))
	}
	switch {
	case d.Tolerance == 0:
	case d.Within == document.Pass && !d.AtLeast && math.Abs(d.Departure) > d.Tolerance:
		fmt.Fprintf(&b, " and better than its tolerance of ±%s %s asks", text.Number(d.Tolerance, d.ToleranceDecimals()), unit)
	default:
		how := map[document.Outcome]string{document.Pass: " and within", document.Fail: " and outside", document.Undecided: "; it cannot be said whether that is within"}[d.Within]
		fmt.Fprintf(&b, "%s its tolerance of ±%s %s", how, text.Number(d.Tolerance, d.ToleranceDecimals()), unit)
	}
	return b.String()
}

func distance(d diagnose.Departure, n int) string {
	nominal := d.Nominal.String()
	size := fmt.Sprintf("%s %s", text.Number(math.Abs(d.Departure), n), d.Unit.Symbol())
	if !d.Significant {
		return "not distinguishable from " + nominal
	}
	below := d.Departure < 0
	if strings.HasSuffix(d.Path, ".angle") {
		if below == (d.Nominal.Value > 0) {
			return size + " short of " + nominal
		}
		return size + " beyond " + nominal
	}
	if below {
		return size + " below " + nominal
	}
	return size + " above " + nominal
}

// against words two parts that would have to be off in opposite senses as one error between them.
var against = map[string]string{
	".axis": "an error of the angle between the axes of %s and %s",
	".roll": "a turn of %s against %s",
}

// others words what would look the same.
func others(alike []diagnose.Alike) string {
	var what []string
	left := slices.Clone(alike)
	for i := 0; i < len(left); i++ {
		one, suffix := model.Split(left[i].Path)
		form, ok := against[suffix]
		if !ok {
			continue
		}
		k := slices.IndexFunc(left[i+1:], func(a diagnose.Alike) bool {
			_, other := model.Split(a.Path)
			return other == suffix && (a.Departure.Value < 0) != (left[i].Departure.Value < 0)
		})
		if k < 0 {
			continue
		}
		k += i + 1
		two, _ := model.Split(left[k].Path)
		what = append(what, fmt.Sprintf(form, one, two))
		left = slices.Delete(slices.Delete(left, k, k+1), i, i+1)
		i--
	}
	for _, a := range left {
		if a.Path == diagnose.FixturePath {
			what = append(what, fmt.Sprintf("a fixture floor of %s, which was not measured,", a.Departure.Text(1)))
			continue
		}
		sign := "+"
		if a.Departure.Value < 0 {
			sign = ""
		}
		what = append(what, fmt.Sprintf("an error of %s%s of %s", sign, quantity.Attach(a.Departure.Value, a.Departure.Unit).Text(text.Decimals(math.Abs(a.Departure.Value)/10)), a.Path))
	}
	return strings.Join(what, " or ")
}

// told is the clause with what the data cannot tell from it.
func told(d diagnose.Departure) string {
	s := clause(d, d.Path)
	alone := d.Combination != "" || len(d.Alike) > 0
	if alone {
		s = fmt.Sprintf("if %s alone is off, %s", d.Path, clause(d, "it"))
	}
	if d.Combination != "" {
		fixed := "the sum"
		if strings.Contains(d.Combination, " - ") {
			fixed = "this combination"
		}
		s = fmt.Sprintf("of %s the data fix only %s, %s, and cannot say which of them is off: %s", d.Combination, fixed, sumOf(d), s)
	}
	if len(d.Alike) > 0 {
		s += "; " + others(d.Alike) + " would look the same, and this data cannot tell which"
	}
	return s
}

// sumOf states the departure of a combination.
func sumOf(d diagnose.Departure) string {
	n := d.Decimals()
	sign := "+"
	if d.Departure < 0 {
		sign = ""
	}
	return fmt.Sprintf("%s%s ± %s %s together", sign, text.Number(d.Departure, n), text.Number(d.U, n), d.Unit.Symbol())
}

// DiagnosisSentence is the diagnosis in plain words; specified says that the readings agree with the specified model.
func DiagnosisSentence(g *diagnose.Diagnosis, specified bool) string {
	switch {
	case len(g.Explanations) == 0:
		return "nothing can be diagnosed: no isolation was measured"
	case len(g.Gross) > 0:
		return blundersSentence(g.Gross)
	}
	byPath := func(path string) diagnose.Departure {
		return g.Departures[slices.IndexFunc(g.Departures, func(d diagnose.Departure) bool { return d.Path == path })]
	}
	var parts []string
	for _, path := range g.Causes {
		d := byPath(path)
		parts = append(parts, told(d))
	}
	var rest []string
	undecided := false
	for _, d := range g.Departures {
		if !slices.Contains(g.Causes, d.Path) {
			if d.Within == document.Pass { // what else could have made so little does not matter
				rest = append(rest, clause(d, d.Path))
			} else {
				rest = append(rest, told(d))
			}
			undecided = undecided || d.Within == document.Undecided
		}
	}
	switch {
	case len(parts) > 0 && len(rest) > 0:
		parts = append(parts, "for the rest, "+strings.Join(rest, "; "))
	case len(parts) == 0 && undecided:
		parts = append(parts, "no parameter is shown to be outside its tolerance: "+strings.Join(rest, "; "))
	case len(parts) == 0 && specified && len(rest) == 0:
		parts = append(parts, "the readings agree with the design as specified, and no parameter needs to differ")
	case len(parts) == 0:
		parts = append(parts, "no named parameter is outside its tolerance: "+strings.Join(rest, "; "))
	}
	if g.Agreement == document.Fail {
		p := "p < 0.001"
		if v := g.Explanations[g.Best].PValue; v >= 0.001 {
			p = fmt.Sprintf("p = %.3f", v)
		}
		parts = append([]string{fmt.Sprintf("none of the explanations tried accounts for the readings within the budget (%s): what follows is the best of them, with uncertainties widened by a factor of %.2f", p, g.Scaled)}, parts...)
	}
	if g.Correction != nil {
		parts = append(parts, offer(g.Correction))
	}
	return strings.Join(parts, "; ")
}

// offer words the correction: "turning wedge2 by +0.597 ± 0.020 deg would bring ...".
func offer(c *diagnose.Correction) string {
	n := c.Decimals()
	unit := c.Turn.Unit.Symbol()
	sign := "+"
	if c.Turn.Value < 0 {
		sign = ""
	}
	var gains []string
	digits := text.FigureDecimals("dB")
	for _, g := range c.Gains {
		gains = append(gains, fmt.Sprintf("from %s to %s dB (%s)", text.Number(g.Before, digits), text.Number(g.After, digits), g.Condition))
	}
	return fmt.Sprintf("turning %s by %s%s ± %s %s, to where the limits leave most room, would take the least isolation of the model as diagnosed %s, at a cost of %s dB of insertion loss",
		c.Part, sign, text.Number(c.Turn.Value, n), text.Number(c.U, n), unit, strings.Join(gains, " and "), text.Number(c.Cost(), 3))
}

// blundersSentence names what the readings look like.
func blundersSentence(names []string) string {
	s := "these are not the readings of the unit as drawn with its parts slightly off: they are what would be read if " + strings.Join(names, ", or if ")
	if len(names) > 1 {
		s += fmt.Sprintf("; this data cannot tell which of the %d", len(names))
	}
	return s + "; set that right and measure again before anything else is concluded"
}
