package verify

import (
	"math"
	"slices"
	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// term is one contribution to the uncertainty of every observation.
type term struct {
	name         string
	value        quantity.Quantity
	distribution uncertainty.Distribution
	divisor      float64
	standard     float64 // SI, dB for levels
	dof          float64 // 0: infinite
	shared       uncertainty.Shared
	model        bool      // belongs to the model and not to the reading
	u            []float64 // what it moves each observation by, with sign
}

// covariance is that of the observations with the given indices, each divided by its scale.
func (d *data) covariance(terms []term, indices []int, scale []float64) *uncertainty.Covariance {
	c := uncertainty.NewCovariance(len(indices))
	for _, t := range terms {
		shared := map[int][]float64{} // by run; run -1 for all
		var order []int
		for k, i := range indices {
			u := t.u[i] / scale[k]
			run := -1
			switch t.shared {
			case uncertainty.ByPoint:
				c.AddPoint(k, u)
				continue
			case uncertainty.ByRun:
				run = d.obs[i].run
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

// without returns the terms for which drop is false.
func without(terms []term, drop func(term) bool) []term {
	return slices.DeleteFunc(slices.Clone(terms), drop)
}

// ofModel reports whether a term belongs to the model and not to the readings.
func ofModel(t term) bool { return t.model }

// finite turns the infinite degrees of freedom of a budget into the 0 of plain data.
func finite(dof float64) float64 {
	if math.IsInf(dof, 1) {
		return 0
	}
	return dof
}

func ones(n int) []float64 { return slices.Repeat([]float64{1}, n) }

// upTo lists the indices below n.
func upTo(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}
