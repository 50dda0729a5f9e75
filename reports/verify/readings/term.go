package readings

import (
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/measured"
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

	// Of an error shared by reference: by observation, which errors move it and by how much each. U is their size
	// together.
	Common [][]measured.Term
}

// Covariance is that of the observations with the given indices, each divided by its scale.
func (d *Set) Covariance(terms []Term, indices []int, scale []float64) *uncertainty.Covariance {
	c := uncertainty.NewCovariance(len(indices))
	for _, t := range terms {
		if t.Shared == uncertainty.ByReference {
			addCommon(c, t, indices, scale)
			continue
		}
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

// addCommon adds the errors of reference readings, each of which moves a few observations.
func addCommon(c *uncertainty.Covariance, t Term, indices []int, scale []float64) {
	type group struct {
		at []int
		u  []float64
	}
	groups := map[int]*group{}
	var order []int
	for k, i := range indices {
		for _, m := range t.Common[i] {
			g := groups[m.Error]
			if g == nil {
				g = &group{}
				groups[m.Error] = g
				order = append(order, m.Error)
			}
			g.at, g.u = append(g.at, k), append(g.u, m.Move/scale[k])
		}
	}
	for _, e := range order {
		c.AddLocal(groups[e].at, groups[e].u)
	}
}

// ReferenceTerm is the noise of the references that the file's losses were computed with, one error for all readings of
// each of their points; false where the file has none. level is as in predict.Terms.
func (d *Set) ReferenceTerm(level []float64) (Term, bool) {
	t := Term{Name: ReferenceName, Distribution: uncertainty.Normal, Divisor: 1, Shared: uncertainty.ByReference,
		Value: quantity.Of(0, "dB"), U: make([]float64, len(d.Obs)), Common: make([][]measured.Term, len(d.Obs))}
	some := false
	for i := range d.Obs {
		o := &d.Obs[i]
		per := o.PerLevel(level[i])
		for _, m := range o.Common {
			t.Common[i] = append(t.Common[i], measured.Term{Error: m.Error, Move: m.Move * per})
			some = true
		}
		t.U[i] = o.Reference() * per
	}
	return t, some
}

// ReferenceName is what budgets call the noise of reference traces.
const ReferenceName = "reference trace, stated in the file"

// Reference is the standard uncertainty in dB that an observation has from the reference it was divided by.
func (o *Observation) Reference() float64 {
	sum := 0.0
	for _, m := range o.Common {
		sum += m.Move * m.Move
	}
	return math.Sqrt(sum)
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
