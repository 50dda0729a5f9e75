package verify

import (
	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// pull names one shared error of wavelength or temperature: its contribution, and its run, or -1 for all.
type pull struct {
	name string
	run  int
}

// pulls holds estimates of shared errors, in their standard uncertainties. Near a null the leak is curved
// over one standard uncertainty of the temperature, and a straight slope through the stated temperature
// would lend the fit a misfit that is none. So the slopes are taken where the fit says that the readings
// were made: the model is evaluated there, and what the linear term counts twice is taken off again. The
// errors stay uncertain by their full amount; only the point of linearization moves.
type pulls map[pull]float64

// pullMost bounds an estimate: a larger one is no error of the instrument but a model that does not fit.
const pullMost = 3

// moves reports whether a term is a shared error of an abscissa, and the step of its run.
func (t term) moves() bool {
	d := t.value.Dimension()
	return !t.model && t.shared != uncertainty.ByPoint && (d == quantity.OfLength || d == quantity.OfTemperature)
}

func (t term) pull(run int) pull {
	if t.shared == uncertainty.ByAll {
		return pull{t.name, -1}
	}
	return pull{t.name, run}
}

// moved returns the observations where the pulls put them.
func (d *data) moved(obs []observation, b uncertainty.Budget, z pulls) []observation {
	if len(z) == 0 {
		return obs
	}
	out := append([]observation(nil), obs...)
	by := make([]float64, len(d.runs))
	for _, c := range b.Contributions {
		dimension := c.Value.Dimension()
		if dimension != quantity.OfLength && dimension != quantity.OfTemperature {
			continue
		}
		standard, err := c.Standard()
		if err != nil || c.SharedBy() == uncertainty.ByPoint {
			continue // Check has seen the error
		}
		t := term{name: c.Name, shared: c.SharedBy(), value: c.Value}
		for run := range by {
			by[run] = z[t.pull(run)] * standard
		}
		for i := range out {
			if dimension == quantity.OfLength {
				out[i].l += quantity.Length(by[out[i].run])
			} else {
				out[i].t += quantity.Temperature(by[out[i].run])
			}
		}
	}
	return out
}
