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

// meanings say what the parameters of an element are, by the end of their path.
var meanings = map[string]string{
	".angle":       "rotator angle",
	".extinction":  "extinction ratio",
	".axis":        "optic-axis azimuth",
	".roll":        "azimuth of the element",
	".apex":        "apex angle",
	".thickness":   "thickness",
	".reflectance": "reflectance of the faces",
	".index":       "refractive index",
	".loss":        "excess loss",
	".saturation":  "saturation of the film",
	".per_kelvin":  "temperature coefficient of the rotation",
	".per_metre":   "wavelength coefficient of the rotation",
}

// named names a parameter: "the rotator angle (rotator1.angle)".
func named(path string) string {
	_, suffix := model.Split(path)
	if what, ok := meanings[suffix]; ok {
		return fmt.Sprintf("the %s (%s)", what, path)
	}
	return "the parameter " + path
}

// value prints a fitted value with its uncertainty: "44.410° ± 0.030°", "30.10 dB (interval 29.90 to 30.30 dB)",
// "at least 47.20 dB".
func value(d diagnose.Departure) string {
	n := d.Decimals()
	switch {
	case d.AtLeast:
		return "at least " + text.With(text.Number(d.Low, n), d.Unit)
	case d.Sigma == 0:
		return text.With(text.Number(d.Value, n), d.Unit) + " (interval " + text.Range(d.Low, d.High, n, d.Unit) + ")"
	}
	return text.PlusMinus(d.Value, d.U, n, d.Unit)
}

// clause says what a departure is, and how the parameter compares with its tolerance.
func clause(d diagnose.Departure, name string) string {
	if d.Indeterminate {
		return "the readings do not depend on " + name
	}
	s := name + " is " + value(d)
	if !d.AtLeast {
		s += ", " + distance(d)
	}
	tolerance := "the tolerance of ±" + text.With(text.Number(d.Tolerance, d.ToleranceDecimals()), d.Unit)
	switch {
	case d.Tolerance == 0:
		return s
	case d.Within == document.Pass && !d.AtLeast && math.Abs(d.Departure) > d.Tolerance:
		return s + " and better than " + tolerance + " requires"
	case d.Within == document.Pass:
		return s + " and within " + tolerance
	case d.Within == document.Fail:
		return s + " and outside " + tolerance
	}
	return s + "; whether that is within " + tolerance + " cannot be decided"
}

// distance compares a fitted value with the specified one.
func distance(d diagnose.Departure) string {
	specified := "the specified " + text.Typed(d.Nominal)
	if !d.Significant {
		return "not distinguishable from " + specified
	}
	how := " above "
	switch below := d.Departure < 0; {
	case strings.HasSuffix(d.Path, ".angle") && below == (d.Nominal.Value > 0):
		how = " short of "
	case strings.HasSuffix(d.Path, ".angle"):
		how = " beyond "
	case below:
		how = " below "
	}
	return text.With(text.Number(math.Abs(d.Departure), d.Decimals()), d.Unit) + how + specified
}

// between words two elements that would have to be in error in opposite senses as one error between them.
var between = map[string]string{
	".axis": "an error in the angle between the optic axes of %s and %s",
	".roll": "a turn of %s relative to %s",
}

// others words what would give the same readings.
func others(alike []diagnose.Alike) string {
	var what []string
	left := slices.Clone(alike)
	for i := 0; i < len(left); i++ {
		one, suffix := model.Split(left[i].Path)
		form, ok := between[suffix]
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
		switch a.Path {
		case diagnose.FixturePath:
			what = append(what, fmt.Sprintf("a true fixture floor of %s", a.Departure.Text(1)))
			continue
		case model.WavelengthScale, model.TemperatureScale:
			off := text.Signed(-a.Departure.Value, text.Decimals(math.Abs(a.Departure.Value)/10))
			what = append(what, fmt.Sprintf("a %s that reads off by %s", a.Path, text.With(off, a.Departure.Unit)))
			continue
		}
		by := text.Signed(a.Departure.Value, text.Decimals(math.Abs(a.Departure.Value)/10))
		what = append(what, fmt.Sprintf("an error of %s in %s", text.With(by, a.Departure.Unit), a.Path))
	}
	if n := len(what); n > 2 {
		return strings.Join(what[:n-1], ", ") + ", or " + what[n-1]
	}
	return strings.Join(what, " or ")
}

// told is the clause with what the readings cannot distinguish from it.
func told(d diagnose.Departure) string {
	s := clause(d, named(d.Path))
	if d.Combination != "" || len(d.Alike) > 0 {
		s = fmt.Sprintf("if only %s is in error, %s", named(d.Path), clause(d, "it"))
	}
	if d.Combination != "" {
		fixed := "sum"
		if strings.Contains(d.Combination, " - ") {
			fixed = "combination"
		}
		n := d.Decimals()
		unit := d.Unit
		s = fmt.Sprintf("the readings determine only the %s %s, which differs by %s from its specified value, and "+
			"not the parameters in it; %s", fixed, d.Combination, text.PlusMinus(d.Departure, d.U, n, unit), s)
	}
	if d.FloorOpen {
		s += "; the readings cannot distinguish more extinction from a fixture floor higher than stated, and the " +
			"interval allows for a floor up to 15 dB higher"
	}
	if len(d.Alike) > 0 {
		s += "; " + others(d.Alike) + " would give practically the same readings, and these data cannot distinguish " +
			"them"
	}
	return s
}

// DiagnosisSentence is the diagnosis in plain words; specified says that the readings agree with the specified model.
func DiagnosisSentence(g *diagnose.Diagnosis, specified bool) string {
	switch {
	case len(g.Explanations) == 0:
		return "no diagnosis is possible: no isolation was measured"
	case len(g.Gross) > 0:
		return grossSentence(g.Gross)
	}
	var parts, rest []string
	undecided := false
	for _, path := range g.Causes {
		k := slices.IndexFunc(g.Departures, func(d diagnose.Departure) bool { return d.Path == path })
		parts = append(parts, told(g.Departures[k]))
	}
	also := ""
	if len(parts) > 0 {
		also = ", also fitted,"
	}
	for _, d := range g.Departures {
		if slices.Contains(g.Causes, d.Path) {
			continue
		}
		if d.Within == document.Pass { // what else could have made so little does not matter
			rest = append(rest, clause(d, named(d.Path)+also))
		} else {
			rest = append(rest, told(d))
		}
		undecided = undecided || d.Within == document.Undecided
	}
	switch {
	case len(parts) > 0:
	case undecided:
		parts = append(parts, "no parameter is shown to be outside its tolerance")
	case specified && len(rest) == 0:
		parts = append(parts, "the readings agree with the specified model, and no parameter needs to differ from it")
	default:
		parts = append(parts, "no fitted parameter is outside its tolerance")
	}
	parts = append(parts, rest...)
	if g.Agreement == document.Fail {
		parts = append([]string{fmt.Sprintf("no explanation tried fits the readings within the uncertainty budget "+
			"(%s); the best of them follows, its uncertainties multiplied by %.2f",
			text.Probability(g.Explanations[g.Best].PValue), g.Scaled)}, parts...)
	}
	if g.Correction != nil {
		parts = append(parts, offer(g.Correction))
	}
	return strings.Join(parts, "; ")
}

// offer words a correction: "remedy: turning wedge2 by +0.597° ± 0.020°, which ...".
func offer(c *diagnose.Correction) string {
	var gains []string
	verb := "raise"
	for _, g := range c.Gains {
		if g.After < g.Before {
			verb = "change"
		}
		dB := quantity.MustNamed("dB")
		gains = append(gains, fmt.Sprintf("from %s (%s)",
			text.Range(g.Before, g.After, text.FigureDecimals("dB"), dB), g.Condition))
	}
	const most = 3 // bands that a sentence still holds; the record has all
	changed := strings.Join(gains, " and ")
	if len(gains) > most {
		low, high := math.Inf(1), math.Inf(-1)
		for _, g := range c.Gains[most:] {
			low, high = min(low, g.After-g.Before), max(high, g.After-g.Before)
		}
		changed = fmt.Sprintf("%s, over %s by %+.2f dB to %+.2f dB,", strings.Join(gains[:most], ", "),
			document.Count(len(gains)-most, "further band"), low, high)
	}
	n := c.Decimals()
	turn := text.PlusMinus(c.Turn.Value, c.U, n, c.Turn.Unit)
	if c.Turn.Value > 0 {
		turn = "+" + turn
	}
	return fmt.Sprintf("remedy: turning %s by %s, which maximizes the smallest isolation margin, would %s the "+
		"minimum isolation of the fitted model %s and add %s dB of insertion loss",
		c.Part, turn, verb, changed, text.Number(c.Cost(), 3))
}

// grossSentence names the gross errors that the readings match.
func grossSentence(names []string) string {
	s := "small errors in the specified design cannot explain these readings; they match a gross error: " +
		strings.Join(names, ", or ")
	if len(names) > 1 {
		s += fmt.Sprintf("; these data cannot distinguish the %d", len(names))
	}
	return s + "; correct it and measure again before drawing other conclusions"
}
