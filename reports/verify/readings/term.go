package readings

import (
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// Term is one contribution to the uncertainty of every observation.
type Term struct {
	Name         string
	Value        quantity.Quantity
	Distribution uncertainty.Distribution
	Divisor      float64
	Standard     float64 // SI, dB for levels
	DOF          float64 // 0: infinite
	Shared       uncertainty.Shared
	Model        bool      // belongs to the model and not to the reading
	U            []float64 // what it moves each observation by, with sign
}

// Covariance is that of the observations with the given indices, each divided by its scale.
func (d *Set) Covariance(terms []Term, indices []int, scale []float64) *uncertainty.Covariance {
	c := uncertainty.NewCovariance(len(indices))
	for _, t := range terms {
		shared := map[int][]float64{} // by run; run -1 for all
		var order []int
		for k, i := range indices {
			u := t.U[i] / scale[k]
			run := -1
			switch t.Shared {
			case uncertainty.ByPoint:
				c.AddPoint(k, u)
				continue
			case uncertainty.ByRun:
				run = d.Obs[i].Run
			}
			if shared[run] == nil {
				shared[run] = make([]float64, len(indices))
				order = append(order, run)
			}
			shared[run][k] = u
		}
		for _, run := range order {
			c.AddShared(shared[run])
		}
	}
	return c
}

// Without returns the terms for which drop is false.
func Without(terms []Term, drop func(Term) bool) []Term {
	return slices.DeleteFunc(slices.Clone(terms), drop)
}

// OfModel reports whether a term belongs to the model and not to the readings.
func OfModel(t Term) bool { return t.Model }

// Finite turns the infinite degrees of freedom of a budget into the 0 of plain data.
func Finite(dof float64) float64 {
	if math.IsInf(dof, 1) {
		return 0
	}
	return dof
}

func Ones(n int) []float64 { return slices.Repeat([]float64{1}, n) }

// UpTo lists the indices below n.
func UpTo(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}
