package verify

import "wedgework/optics/quantity"

// estimate returns the shared errors that the residuals of model r (measured minus model, amplitude, linearized at
// the present pulls) ask for: u^T V^-1 r, the mean of each given the readings, in the order of factors.
func (f *fitter) estimate(r []float64) []float64 {
	white := append([]float64(nil), r...)
	f.white.Apply(white)
	z := make([]float64, len(f.factors))
	for k, g := range f.factors {
		v := append([]float64(nil), g.u...)
		f.white.Apply(v)
		z[k] = product(v, white)
	}
	return z
}

// listPulls states the pulls in the order of the budget and the runs.
func (x *Findings) listPulls() []Pull {
	var list []Pull
	for _, t := range x.terms {
		if !t.moves() {
			continue
		}
		unit := quantity.MustNamed("nm")
		if t.value.Dimension() == quantity.OfTemperature {
			unit = quantity.MustNamed("kelvin")
		}
		for run := -1; run < len(x.d.runs); run++ {
			if z, ok := x.pulls[pull{t.name, run}]; ok {
				list = append(list, Pull{Name: t.name, Run: run, Value: quantity.FromSI(z*t.standard, unit), Z: z})
			}
		}
	}
	return list
}
