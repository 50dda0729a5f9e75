package words

import (
	"fmt"
	"math"
	"strings"

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

// Agreement rests on the declared figures as specified. With several of them one |E_n| above 1 is to be
// expected now and then, so the whole decides: figures with |E_n| above 1 fail the model when the joint
// chi-squared fails it too, or when one of them is beyond what chance makes of the greatest.
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
		v.Sentence = "the diagnosis puts " + strings.Join(outside, " and ") + " outside the tolerance, though " + v.Sentence
	case g.Agreement != document.Pass && v.Outcome == document.Pass:
		v.Outcome = document.Undecided
		v.Sentence = "no explanation that was tried fits the readings within their uncertainty, though " + v.Sentence
	}
	return v
}

// afterFit says whether the fitted model agrees where the specified one does not: by the readings of isolation, to which
// it was fitted, and by every key figure.
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
		return "; the readings of isolation agree with the model as diagnosed, but it does not explain the " + strings.Join(off, ", ")
	}
	return "; the readings agree with the model as diagnosed"
}

func agreement(figures []decide.Figure, joint decide.Joint) Verdict {
	off, first := 0, "" // figures beyond their uncertainties, and the one farthest out in words
	count, isolation, worst := 0, false, 0.0
	for _, f := range figures {
		if !f.Determined {
			continue
		}
		count++
		isolation = isolation || f.Name != "insertion loss"
		en := math.Abs(f.Specified.En)
		if en > 1 {
			off++
			if en > worst {
				n := text.FigureDecimals(f.Unit)
				first = fmt.Sprintf("%s (%s) is %s %s where the model as specified has %s %s (|E_n| = %.2f)",
					f.Name, f.Condition, text.Number(f.Measured, n), f.Unit, text.Number(f.Specified.Value, n), f.Unit, en)
			}
		}
		worst = max(worst, en)
	}
	misfit := joint.Count > 0 && joint.PValue < chance()
	switch {
	case count == 0:
		return Verdict{document.Undecided, "the data fix none of the declared figures"}
	case off > 0 && (misfit || worst > critical(count)):
		switch {
		case off > 1:
			first += fmt.Sprintf(", and %d more of %d declared figures differ by more than the expanded uncertainties", off-1, count)
		case count > 1:
			first += fmt.Sprintf("; the other %d declared figures agree", count-1)
		}
		return Verdict{document.Fail, first}
	case misfit:
		return Verdict{document.Undecided, fmt.Sprintf("each of %d declared figures agrees with the model as specified by itself, but all of them together do not (p = %.2g)", count, joint.PValue)}
	case !isolation:
		return Verdict{document.Undecided, "the data fix no figure of the isolation"}
	case off > 0:
		return Verdict{document.Pass, fmt.Sprintf("%d declared figures agree with the model as specified, taken together (p = %.2g); what stands out most is within chance among as many: %s", count, joint.PValue, first)}
	}
	return Verdict{document.Pass, fmt.Sprintf("all %d declared figures agree with the model as specified; the greatest |E_n| is %.2f", count, worst)}
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
	switch v.Outcome {
	case document.Pass:
		v.Sentence = fmt.Sprintf("every limit is met; the closest is %s", closest)
	case document.Fail:
		v.Sentence = "not met: " + strings.Join(said[document.Fail], "; ")
		if u := said[document.Undecided]; len(u) > 0 {
			v.Sentence += "; undecided: " + strings.Join(u, "; ")
		}
	default:
		v.Sentence = "undecided: " + strings.Join(said[document.Undecided], "; ")
	}
	return v
}

// what words one decision: "isolation of at least 30 dB (1535 nm to 1565 nm, 23 °C): 33.21 ± 0.15 dB".
func what(d decide.Decision) string {
	sense := "at most"
	if d.Limit.AtLeast {
		sense = "at least"
	}
	s := fmt.Sprintf("%s of %s %g dB (%s)", text.Spoken(d.Limit.Quantity), sense, d.Limit.Value, text.Condition(d.Limit))
	switch {
	case !d.Decided:
		s += ": no reading"
	case d.AtLeast:
		s += fmt.Sprintf(": at least %s dB", text.Number(d.Measured, text.FigureDecimals("dB")))
	case d.Lopsided():
		n := text.FigureDecimals("dB")
		to := "to " + text.Number(d.High, n) + " dB"
		if d.High >= readings.Most {
			to = "dB or more"
		}
		s += fmt.Sprintf(": %s dB, from %s %s", text.Number(d.Measured, n), text.Number(d.Low, n), to)
	default:
		n := text.FigureDecimals("dB")
		s += fmt.Sprintf(": %s ± %s dB", text.Number(d.Measured, n), text.Number(d.Expanded, n))
	}
	if d.Reserve != "" {
		s += ", " + d.Reserve
	}
	return s
}

// Quality folds the checks into one verdict.
func Quality(checks []quality.Check) Verdict {
	var outcomes []document.Outcome
	said := map[document.Outcome][]string{}
	for _, c := range checks {
		outcomes = append(outcomes, c.Outcome)
		said[c.Outcome] = append(said[c.Outcome], c.Name+": "+c.Sentence)
	}
	v := Verdict{Outcome: limits.Worst(outcomes...)}
	switch v.Outcome {
	case document.Pass:
		v.Sentence = fmt.Sprintf("all %d checks pass", len(said[document.Pass]))
		if open := said[0]; len(open) > 0 {
			v.Sentence += "; not examined: " + strings.Join(open, "; ")
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
