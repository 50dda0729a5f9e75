package verify

import (
	"fmt"
	"math"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// chance is the probability that a true model is called wrong: that of lying outside an expanded
// uncertainty.
func chance() float64 { return 1 - uncertainty.Confidence }

// critical is the greatest |E_n| among n figures that chance lets pass: the bound of Sidak (Journal of the
// American Statistical Association 62, 626, 1967) for all of them together. One figure: 1.
func critical(n int) float64 {
	each := math.Pow(uncertainty.Confidence, 1/float64(max(n, 1)))
	return uncertainty.CoverageFactor(each, 0) / coverage
}

// agreement rests on the declared figures as specified. With several of them one |E_n| above 1 is to be
// expected now and then, so the whole decides: figures with |E_n| above 1 fail the model when the joint
// chi-squared fails it too, or when one of them is beyond what chance makes of the greatest.
func agreement(figures []Figure, joint Joint) Verdict {
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
				n := FigureDecimals(f.Unit)
				first = fmt.Sprintf("%s (%s) is %s %s where the model as specified has %s %s (|E_n| = %.2f)",
					f.Name, f.Condition, number(f.Measured, n), f.Unit, number(f.Specified.Value, n), f.Unit, en)
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

func conformity(decisions []Decision) Verdict {
	if len(decisions) == 0 {
		return Verdict{document.Undecided, "no limit was given"}
	}
	var outcomes []document.Outcome
	said := map[document.Outcome][]string{}
	closest := ""
	margin := math.Inf(1)
	for _, d := range decisions {
		outcomes = append(outcomes, d.Outcome)
		what := d.what()
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
func (d Decision) what() string {
	sense := "at most"
	if d.Limit.AtLeast {
		sense = "at least"
	}
	s := fmt.Sprintf("%s of %s %g dB (%s)", spoken(d.Limit.Quantity), sense, d.Limit.Value, condition(d.Limit))
	switch {
	case !d.Decided:
		s += ": no reading"
	case d.AtLeast:
		s += fmt.Sprintf(": at least %s dB", number(d.Measured, FigureDecimals("dB")))
	case d.Lopsided():
		n := FigureDecimals("dB")
		to := "to " + number(d.High, n) + " dB"
		if d.High >= Most {
			to = "dB or more"
		}
		s += fmt.Sprintf(": %s dB, from %s %s", number(d.Measured, n), number(d.Low, n), to)
	default:
		n := FigureDecimals("dB")
		s += fmt.Sprintf(": %s ± %s dB", number(d.Measured, n), number(d.Expanded, n))
	}
	if d.Reserve != "" {
		s += ", " + d.Reserve
	}
	return s
}

// Lopsided reports whether the interval that decides is not the figure plus and minus its expanded uncertainty, to the digits
// that are printed.
func (d Decision) Lopsided() bool {
	half := math.Pow(10, -float64(FigureDecimals("dB"))) / 2
	return !d.AtLeast && (math.Abs(d.High-d.Measured-d.Expanded) > half || math.Abs(d.Measured-d.Low-d.Expanded) > half)
}

func quality(checks []Check) Verdict {
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

// notes say how the numbers were come by.
func (x *examiner) notes(r *Result) []string {
	notes := []string{
		"Expanded uncertainties have a coverage probability of 95.45 % (k = 2 where every contribution is well known).",
		"Readings are compared as leak amplitude 10^(-A/20); E_n is the difference over the root sum of squares of both expanded uncertainties (ISO 13528).",
		fmt.Sprintf("The model's uncertainty as specified is that of %d trials over the declared tolerances (Latin hypercube, the same each time): of each reading and figure the interval that leaves out 2.28 %% of the trials on either side, widened to hold the model itself; parameters are taken as independent. As diagnosed it is that of the fit's covariance.", trials),
		"The wavelength of the peak is that of a parabola in leak power through the readings within 25 nm of the least; the same parabola is laid through the model.",
		"Least and greatest figures are extremes of the readings, raw or smoothed as each limit says; the bias that noise gives them is stated, allowed for against the model, where they are raw, and not corrected against the limits.",
		"Wavelength and temperature uncertainties act through the slopes of the adopted model; an error shared by a run or by all readings enters the fit as one error.",
	}
	if r.Floor != nil {
		s := fmt.Sprintf("A fixture floor of %.1f dB is subtracted in power", r.Floor.Level)
		if !r.Floor.Stated {
			s += "; its uncertainty was not stated, and its power is taken to lie anywhere between none and twice that"
		}
		notes = append(notes, s+".")
	}
	if n := r.Censored - r.Bounds; n > 0 {
		notes = append(notes, fmt.Sprintf("%d readings lie within two standard uncertainties of the floor: they are \"at least\" readings at one-sided 95 %% and enter the fit as such.", n))
	}
	if r.Bounds > 0 {
		notes = append(notes, fmt.Sprintf("%d readings are given as \"at least\" in the file: they enter the fit by the chance of a reading beyond their bound, have no E_n of their own, and keep a limit that the bound itself keeps with its guard band; a bound below a limit decides nothing.", r.Bounds))
	}
	for _, t := range x.terms {
		if t.name == rippleName {
			notes = append(notes, "Ghost ripple of the model is averaged out; its standard deviation, over the phases of the double bounces, enters the fit as an uncertainty of each point.")
		}
	}
	if x.fitted() && len(x.spec.Tolerances) > 0 {
		notes = append(notes, "Parameters that have a tolerance and are not fitted stay uncertain by it in the fit; of one that looks like a fitted parameter only the difference, for the fitted one stands for both.")
	}
	if x.d.scrambled && len(r.Decisions) > 0 {
		notes = append(notes, "Limits hold for the worst polarization: means over polarization are taken there by the PDL read with them, or else by the model's difference, with a rectangular uncertainty of its own size.")
	}
	if len(x.spec.Tolerances) == 0 {
		notes = append(notes, "No tolerances are declared: the model as specified is taken as exact.")
	}
	return notes
}
