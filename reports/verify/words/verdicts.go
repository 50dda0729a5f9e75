package words

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/decide"
	"wedgework/reports/verify/diagnose"
	"wedgework/reports/verify/quality"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// chance is the probability that a true model is called wrong: that of lying outside an expanded
// uncertainty.
func chance() float64 { return 1 - uncertainty.Confidence }

// critical is the greatest |E_n| among n figures that chance lets pass: the bound of Sidak (Journal of the
// American Statistical Association 62, 626, 1967) for all of them together. One figure: 1.
func critical(n int) float64 {
	each := math.Pow(uncertainty.Confidence, 1/float64(max(n, 1)))
	return uncertainty.CoverageFactor(each, 0) / readings.Coverage
}

// Agreement rests on the key figures by the specified model. With several of them one |E_n| above 1 is to be
// expected now and then, so the whole decides: figures with |E_n| above 1 fail the model when the joint
// chi-squared test fails it too, or when one of them is beyond what chance makes of the largest.
func Agreement(figures []decide.Figure, joint decide.Joint, g *diagnose.Diagnosis) Verdict {
	v := agreement(figures, joint)
	if !g.Fitted {
		return v
	}
	var outside []string
	for _, d := range g.Departures {
		if d.Within == document.Fail {
			outside = append(outside, d.Path)
		}
	}
	switch {
	case v.Outcome == document.Fail:
		v.Sentence += afterFit(figures, g)
	case len(outside) > 0:
		v.Outcome = document.Fail
		v.Sentence = "the diagnosis finds " + strings.Join(outside, " and ") + " outside the tolerance, although " +
			v.Sentence
	case rejected(g) && v.Outcome == document.Pass:
		v.Outcome = document.Undecided
		v.Sentence = "no explanation tried fits the readings within the uncertainty budget, though " + v.Sentence
	}
	return v
}

// rejects is the probability of the readings, if the fitted model is true, below which they reject it whatever the key
// figures say.
const rejects = 0.001

func rejected(g *diagnose.Diagnosis) bool {
	return g.Agreement != document.Pass && g.Best < len(g.Explanations) && g.Explanations[g.Best].PValue < rejects
}

// afterFit says whether the fitted model agrees where the specified one does not: by the readings of isolation, to
// which it was fitted, and by every key figure.
func afterFit(figures []decide.Figure, g *diagnose.Diagnosis) string {
	if g.Agreement != document.Pass {
		return ""
	}
	count := 0
	for _, f := range figures {
		if f.Determined {
			count++
		}
	}
	var off []string
	for _, f := range figures {
		if en := math.Abs(f.Diagnosed.En); f.Determined && en > critical(count) {
			off = append(off, fmt.Sprintf("%s (%s, |E_n| = %.2f)", f.Name, f.Condition, en))
		}
	}
	if len(off) > 0 {
		return "; the isolation readings agree with the fitted model, but it does not explain the " + strings.Join(off,
			", ")
	}
	return "; the readings agree with the fitted model"
}

func agreement(figures []decide.Figure, joint decide.Joint) Verdict {
	off, first := 0, "" // figures beyond their uncertainties, and the one farthest out in words
	count, isolation, worst := 0, false, 0.0
	for _, f := range figures {
		if !f.Determined {
			continue
		}
		count++
		isolation = isolation || f.Quantity == limits.Isolation
		en := math.Abs(f.Specified.En)
		if en > 1 {
			off++
			if en > worst {
				n := text.FigureDecimals(f.Unit)
				first = fmt.Sprintf("%s (%s) is %s %s; the specified model predicts %s %s (|E_n| = %.2f)",
					f.Name, f.Condition, text.Number(f.Measured, n), f.Unit, text.Number(f.Specified.Value, n), f.Unit,
					en)
			}
		}
		worst = max(worst, en)
	}
	misfit := joint.Count > 0 && joint.PValue < chance()
	p := text.Probability(joint.PValue)
	switch {
	case count == 0:
		return Verdict{document.Undecided, "the readings determine none of the key figures"}
	case off > 0 && (misfit || worst > critical(count)):
		switch {
		case off > 1:
			first += fmt.Sprintf("; in all, %d of %d key figures differ from the specified model by more than the "+
				"expanded uncertainty of the difference", off, count)
		case count == 2:
			first += "; the other key figure agrees"
		case count > 2:
			first += fmt.Sprintf("; the other %d key figures agree", count-1)
		}
		return Verdict{document.Fail, first}
	case misfit:
		return Verdict{document.Undecided, fmt.Sprintf("each of the %d key figures agrees with the specified model, "+
			"but jointly they do not (chi-squared test, %s)", count, p)}
	case !isolation:
		return Verdict{document.Undecided, "the readings determine no key figure of isolation"}
	case off > 0:
		return Verdict{document.Pass, fmt.Sprintf("the %d key figures agree jointly with the specified model "+
			"(chi-squared test, %s); the largest deviation is within chance for so many figures; %s", count, p, first)}
	case count == 1:
		return Verdict{document.Pass, fmt.Sprintf("the only key figure agrees with the specified model (|E_n| = %.2f)",
			worst)}
	}
	return Verdict{document.Pass,
		fmt.Sprintf("all %d key figures agree with the specified model (largest |E_n| %.2f)", count, worst)}
}

// Conformity folds the decisions into one verdict.
func Conformity(decisions []decide.Decision) Verdict {
	if len(decisions) == 0 {
		return Verdict{document.Undecided, "no limit was given"}
	}
	var outcomes []document.Outcome
	said := map[document.Outcome][]string{}
	closest := ""
	margin := math.Inf(1)
	for _, d := range decisions {
		outcomes = append(outcomes, d.Outcome)
		what := what(d)
		said[d.Outcome] = append(said[d.Outcome], what)
		if m := d.Margin - d.GuardBand; d.Decided && m < margin {
			margin, closest = m, what
		}
	}
	v := Verdict{Outcome: limits.Worst(outcomes...)}
	var parts []string
	if v.Outcome == document.Pass {
		v.Sentence = "every limit is met; the smallest margin beyond the guard band: " + closest
		return v
	}
	for _, what := range said[document.Fail] {
		parts = append(parts, "limit not met: "+what)
	}
	for _, what := range said[document.Undecided] {
		parts = append(parts, "undecided: "+what)
	}
	v.Sentence = strings.Join(parts, "; ")
	return v
}

// what words one decision: "isolation at least 30.00 dB (1535 nm to 1565 nm, 23 °C), measured (33.21 ± 0.15) dB".
func what(d decide.Decision) string {
	sense := "at most"
	if d.Limit.AtLeast {
		sense = "at least"
	}
	name := d.Limit.Quantity.Unit()
	unit, n := quantity.MustNamed(name), text.FigureDecimals(name)
	s := fmt.Sprintf("%s %s %s %s (%s)", text.Spoken(d.Limit.Quantity), sense, text.Number(d.Limit.Value, n), name,
		d.Condition())
	measured := text.Number(d.Measured, n) + " " + name
	switch {
	case !d.Decided:
		s += ", not measured"
	case d.AtLeast:
		s += ", measured at least " + measured
	case d.Lopsided() && d.High >= readings.Most && name == "dB":
		s += fmt.Sprintf(", measured %s (interval from %s %s upwards)", measured, text.Number(d.Low, n), name)
	case d.Lopsided():
		s += fmt.Sprintf(", measured %s (interval %s)", measured, text.Range(d.Low, d.High, n, unit))
	default:
		s += ", measured " + text.PlusMinus(d.Measured, d.Expanded, n, unit)
	}
	if d.Reserve != "" {
		s += "; " + d.Reserve
	}
	return s
}

// Quality folds the checks into one verdict.
func Quality(checks []quality.Check) Verdict {
	var outcomes []document.Outcome
	said := map[document.Outcome][]string{}
	for _, c := range checks {
		outcomes = append(outcomes, c.Outcome)
		if c.Outcome == 0 {
			said[0] = append(said[0], fmt.Sprintf("%s (%s)", c.Name, c.Sentence))
			continue
		}
		said[c.Outcome] = append(said[c.Outcome], c.Name+": "+c.Sentence)
	}
	v := Verdict{Outcome: limits.Worst(outcomes...)}
	switch v.Outcome {
	case document.Pass:
		v.Sentence = fmt.Sprintf("all %d checks made pass", len(said[document.Pass]))
		if open := said[0]; len(open) > 0 {
			v.Sentence += "; not checked: " + strings.Join(open, ", ")
		}
	default:
		v.Sentence = strings.Join(append(said[document.Fail], said[document.Undecided]...), "; ")
	}
	return v
}

// Verdict is one of the three judgements.
type Verdict struct {
	Outcome  document.Outcome
	Sentence string // why, with its figures
}
