package words

import (
	"fmt"

	"wedgework/reports/verify/decide"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// Notes say how the numbers were come by.
func Notes(r *readings.Measurement, fitted, toleranced, limited bool) []string {
	notes := []string{
		"Expanded uncertainties have a coverage probability of 95.45 % (k = 2 where every contribution is well known).",
		"Readings are compared as leak amplitude 10^(-A/20); E_n is the difference over the root sum of squares of both expanded uncertainties (ISO 13528).",
		fmt.Sprintf("The model's uncertainty as specified is that of %d trials over the declared tolerances (Latin hypercube, the same each time): of each reading and figure the interval that leaves out 2.28 %% of the trials on either side, widened to hold the model itself; parameters are taken as independent. As diagnosed it is that of the fit's covariance.", predict.Trials),
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
	censored, bounds := 0, 0
	for i, yes := range r.Censored {
		if yes {
			censored++
			if r.Obs[i].Bound {
				bounds++
			}
		}
	}
	if n := censored - bounds; n > 0 {
		notes = append(notes, fmt.Sprintf("%d readings lie within two standard uncertainties of the floor: they are \"at least\" readings at one-sided 95 %% and enter the fit as such.", n))
	}
	if bounds > 0 {
		notes = append(notes, fmt.Sprintf("%d readings are given as \"at least\" in the file: they enter the fit by the chance of a reading beyond their bound, have no E_n of their own, and keep a limit that the bound itself keeps with its guard band; a bound below a limit decides nothing.", bounds))
	}
	for _, t := range r.Terms {
		if t.Name == predict.RippleName {
			notes = append(notes, "Ghost ripple of the model is averaged out; its standard deviation, over the phases of the double bounces, enters the fit as an uncertainty of each point.")
		}
	}
	if fitted && toleranced {
		notes = append(notes, "Parameters that have a tolerance and are not fitted stay uncertain by it in the fit; of one that looks like a fitted parameter only the difference, for the fitted one stands for both.")
	}
	if r.Scrambled && limited {
		notes = append(notes, "Limits hold for the worst polarization: means over polarization are taken there by the PDL read with them, or else by the model's difference, with a rectangular uncertainty of its own size.")
	}
	if !toleranced {
		notes = append(notes, "No tolerances are declared: the model as specified is taken as exact.")
	}
	return notes
}

// Warning says that a budget's linear propagation does not hold; "" when it does.
func Warning(b *decide.FigureBudget) string {
	m := b.MonteCarlo
	if m.Trials == 0 || m.Agrees {
		return ""
	}
	n := text.FigureDecimals(b.Unit)
	s := fmt.Sprintf("%s: linear propagation of uncertainty gives %s to %s %s, the Monte Carlo method %s to %s %s; they differ by more than the numerical tolerance of %.2g %s, and the decision rests on the Monte Carlo method (JCGM 101)",
		b.Figure, text.Number(m.LinearLow, n), text.Number(m.LinearHigh, n), b.Unit, text.Number(m.Low, n), text.Number(m.High, n), b.Unit, m.Tolerance, b.Unit)
	if !m.Stable {
		s += fmt.Sprintf("; %d trials did not settle it to that", m.Trials)
	}
	return s
}
