package readings

import (
	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// SharedError names one shared error of wavelength or temperature: its contribution, and its run, or -1 for all.
type SharedError struct {
	Name string
	Run  int
}

// Pulls holds estimates of shared errors, in their standard uncertainties. Near a null the leakage is curved
// over one standard uncertainty of the temperature, and a straight slope through the stated temperature
// would lend the fit a misfit that is none. So the slopes are taken where the fit says that the readings
// were made: the model is evaluated there, and what the linear term counts twice is taken off again. The
// errors stay uncertain by their full amount; only the point of linearization moves.
type Pulls map[SharedError]float64

// PullMost bounds an estimate: a larger one is no error of the instrument but a model that does not fit.
const PullMost = 3

// Moves reports whether a term is a shared error of an abscissa, and the step of its run.
func (t Term) Moves() bool {
	d := t.Value.Dimension()
	return !t.Model && t.Shared != uncertainty.ByPoint && (d == quantity.OfLength || d == quantity.OfTemperature)
}

func (t Term) SharedError(run int) SharedError {
	if t.Shared == uncertainty.ByAll {
		return SharedError{t.Name, -1}
	}
	return SharedError{t.Name, run}
}

// Moved returns the observations where the pulls put them.
func (d *Set) Moved(obs []Observation, b uncertainty.Budget, z Pulls) []Observation {
	if len(z) == 0 {
		return obs
	}
	out := append([]Observation(nil), obs...)
	by := make([]float64, len(d.Runs))
	for _, c := range b.Contributions {
		dimension := c.Value.Dimension()
		if dimension != quantity.OfLength && dimension != quantity.OfTemperature {
			continue
		}
		standard, err := c.Standard()
		if err != nil || c.SharedBy() == uncertainty.ByPoint {
			continue // Check has seen the error
		}
		t := Term{Name: c.Name, Shared: c.SharedBy(), Value: c.Value}
		for run := range by {
			by[run] = z[t.SharedError(run)] * standard
		}
		for i := range out {
			if dimension == quantity.OfLength {
				out[i].Wavelength += quantity.Length(by[out[i].Run])
			} else {
				out[i].Temperature += quantity.Temperature(by[out[i].Run])
			}
		}
	}
	return out
}
