package words

import (
	"fmt"
	"slices"
	"strings"

	"wedgework/reports/limits"
	"wedgework/reports/verify/decide"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// Notes say how the numbers were obtained.
func Notes(r *readings.Measurement, fitted, toleranced, limited bool) []string {
	notes := []string{
		"Expanded uncertainties have a coverage probability of 95.45 % (k = 2 where the effective degrees of freedom " +
			"are infinite).",
		"Readings are compared as leakage amplitude 10^(-A/20), with A the isolation in dB. E_n is the difference " +
			"divided by the root sum of squares of both expanded uncertainties (ISO 13528).",
	}
	notes = append(notes, modelUncertainty(fitted, toleranced)...)
	notes = append(notes,
		"The peak wavelength is the vertex of a parabola fitted to leakage power within 25 nm of its minimum, to "+
			"readings and model alike.",
		"Minimum and maximum figures over a band are extremes of a curve through the readings. The uncertainty of "+
			"the curve, between and beyond them, is part of U. A figure that is stated as raw is the extreme of the "+
			"readings themselves; its noise bias is allowed for in the comparison with the model, not with the "+
			"limits.",
		"Wavelength and temperature errors act through the slopes of the fitted model. An error common to a sweep, "+
			"or to all readings, enters the fit as one error.")
	notes = append(notes, beyond(r, fitted)...)
	for _, t := range r.Terms {
		if t.Name == predict.RippleName {
			notes = append(notes, "Ripple from double reflections is averaged out of the model. Its standard "+
				"deviation over the phases enters the fit as an uncertainty of each reading.")
		}
	}
	if fitted && toleranced {
		notes = append(notes, "Parameters that have a tolerance but are not fitted remain uncertain by their "+
			"tolerance in the fit. If the readings cannot distinguish such a parameter from a fitted one, only the "+
			"difference between the two counts, because the fitted parameter represents both.")
	}
	notes = append(notes, further(r)...)
	if r.Scrambled && limited {
		notes = append(notes, "Limits apply to the worst polarization. A mean over polarization is converted by the "+
			"PDL read with it, or else by the difference in the model, with a rectangular uncertainty of the same "+
			"size.")
	}
	return notes
}

// modelUncertainty says where the uncertainties of the models come from.
func modelUncertainty(fitted, toleranced bool) []string {
	var notes []string
	if toleranced {
		notes = append(notes, fmt.Sprintf("The uncertainty of the specified model was obtained from %d units sampled "+
			"within the declared tolerances (Latin hypercube, the same sample each time). It is, for each reading "+
			"and figure, the probabilistically symmetric 95.45 %% interval of the sample, widened where needed to "+
			"include the model itself. Parameters are taken as independent.", predict.Trials))
	} else {
		notes = append(notes, "No tolerances are declared: the specified model is taken as exact.")
	}
	if fitted {
		notes = append(notes, "The uncertainty of the fitted model follows from the covariance of the fit.")
	}
	return notes
}

// beyond says how the floor is taken off, and how readings near it and lower bounds are compared.
func beyond(r *readings.Measurement, fitted bool) []string {
	var notes []string
	if r.Floor != nil {
		s := fmt.Sprintf("A fixture floor of %.1f dB is subtracted in power", r.Floor.Level)
		if !r.Floor.Stated {
			s += "; its uncertainty was not stated, and its power is assumed to lie anywhere between zero and twice " +
				"that value"
		}
		notes = append(notes, s+".")
		if fitted {
			notes = append(notes, "A floor higher than stated and less extinction give the same readings. The "+
				"interval of a fitted extinction ratio allows for a floor up to 15 dB higher.")
		}
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
		notes = append(notes, fmt.Sprintf("%s within two standard uncertainties of the floor: treated as lower "+
			"bounds at one-sided 95 %%, also in the fit.", counted(n, "reading lies", "readings lie")))
	}
	if bounds > 0 {
		notes = append(notes, fmt.Sprintf("%s as a lower bound in the file. A bound enters the fit by the "+
			"probability of a reading beyond it and has no E_n. It meets a limit if the bound itself meets it with "+
			"its guard band; a bound below a limit decides "+
			"nothing.", counted(bounds, "reading is given", "readings are given")))
	}
	return notes
}

// further says how PDL, DGD and return loss are compared, where they were read.
func further(r *readings.Measurement) []string {
	var notes, lengths []string
	open, back := false, false
	for _, q := range limits.Quantities {
		if i := slices.IndexFunc(r.Obs, func(o readings.Observation) bool { return o.Quantity == q }); i < 0 {
			continue
		}
		back = back || q == limits.ReturnLoss
		if readings.ScaleOf(q) == readings.Square {
			lengths = append(lengths, q.String())
			open = open || slices.ContainsFunc(r.Obs, func(o readings.Observation) bool {
				return o.Quantity == q && o.Open > 0
			})
		}
	}
	if len(lengths) > 0 {
		s := fmt.Sprintf("Noise makes readings of %s too large; near zero they may be noise alone. Readings are "+
			"compared as squares, from which the mean share of noise is subtracted; intervals end at "+
			"zero.", strings.Join(lengths, " and "))
		if open {
			s += " The file does not state whether the instrument subtracted that share: half of it is subtracted, " +
				"and the half is an uncertainty (rectangular). The noise is taken as stated, but not larger than the " +
				"scatter of the readings allows."
		}
		notes = append(notes, s)
	}
	if back {
		notes = append(notes, "Return loss readings are taken to be for the port with the smaller return loss. The "+
			"model adds reflections in power; their interference is an uncertainty of the comparison.")
	}
	return notes
}

// counted is a number with what it counts.
func counted(n int, one, several string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, several)
}

// Warning says that a budget's linear propagation does not hold; "" when it does.
func Warning(b *decide.FigureBudget) string {
	m := b.MonteCarlo
	if m.Trials == 0 || m.Agrees {
		return ""
	}
	n := text.FigureDecimals(b.Unit)
	s := fmt.Sprintf("%s: linear propagation of uncertainty gives %s to %s %s and the Monte Carlo method %s to %s "+
		"%s; they differ by more than the numerical tolerance of %.2g %s, so the decision is based on the Monte "+
		"Carlo method (JCGM 101)",
		b.Figure, text.Number(m.LinearLow, n), text.Number(m.LinearHigh, n), b.Unit, text.Number(m.Low, n),
		text.Number(m.High, n), b.Unit, m.Tolerance, b.Unit)
	if !m.Stable {
		s += fmt.Sprintf("; after %d trials the result was not yet stable to that tolerance", m.Trials)
	}
	return s
}
