// Package doe is optimal design of experiments: which readings, of those that could be taken, determine parameters or
// one combination of them best.
//
// A reading enters by its row, its derivatives by the parameters over its own standard uncertainty; information adds,
// reading by reading, as the product of the row with itself. An error that several readings share, such as that of a
// chamber's temperature during a sweep, is one more parameter, which is known beforehand with the standard uncertainty
// 1 in its own unit: that is the same as a covariance of the readings, and leaves information additive. What repeated
// readings at one place share is Candidate.Common.
//
// The criterion is D, the determinant of the information about the leading parameters, or c, the variance of one
// combination of them (V. V. Fedorov, Theory of Optimal Experiments, Academic Press 1972; A. C. Atkinson, A. N. Donev,
// R. D. Tobias, Optimum Experimental Designs, with SAS, Oxford 2007). Approximate shares the readings out in any
// proportion, and proves its optimum by the equivalence theorem (J. Kiefer and J. Wolfowitz, Canadian Journal of
// Mathematics 12, 363, 1960); Choose picks whole readings by exchange.
package doe

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"wedgework/reports/fit"
)

// Candidate is a reading that can be taken, any number of times.
type Candidate struct {
	// Row holds the derivatives of the reading by each parameter, shared errors among them, over its own standard
	// uncertainty.
	Row []float64
	// Common is the standard uncertainty that all repeats at this place share and other places do not, over that
	// which each has of its own: it does not average out.
	Common float64
	// Sweep is the number of the sweep that the reading belongs to; see Limits.
	Sweep int
}

// information is what n readings at the candidate are worth in rows: n over the variance of their mean.
func (c *Candidate) information(n float64) float64 {
	if n == 0 {
		return 0
	}
	return n / (1 + n*c.Common*c.Common)
}

// Problem is the question that readings are to answer, about one state of what is measured.
type Problem struct {
	Candidates []Candidate
	// Known is the information before the first reading, a row and a column for each parameter: 1 on the diagonal of
	// a shared error, and the sum over readings already taken. Nil: none.
	Known *mat.SymDense
	// Parameters is how many of the leading parameters the determinant is about; the others are errors, allowed for
	// and not sought.
	Parameters int
	// Combination, when not nil, is the combination whose variance is sought instead, by parameter; the rest are zero.
	Combination []float64
}

// ErrUndetermined is returned, wrapped, where all candidates together leave what is sought undetermined.
var ErrUndetermined = errors.New("the readings that can be taken do not determine what is sought")

// size is how many parameters there are, shared errors among them.
func (p *Problem) size() int {
	if p.Known != nil {
		return p.Known.SymmetricDim()
	}
	return len(p.Candidates[0].Row)
}

// check reports what of the problem cannot be used.
func (p *Problem) check() error {
	if len(p.Candidates) == 0 {
		return errors.New("there is no candidate to choose from")
	}
	n := p.size()
	for i := range p.Candidates {
		c := &p.Candidates[i]
		if len(c.Row) != n {
			return fmt.Errorf("candidate %d has %d derivatives, expected %d", i, len(c.Row), n)
		}
		for _, v := range append([]float64{c.Common}, c.Row...) {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("candidate %d: a derivative is not finite", i)
			}
		}
	}
	switch {
	case p.Combination != nil && len(p.Combination) > n:
		return fmt.Errorf("a combination of %d of %d parameters", len(p.Combination), n)
	case p.Combination == nil && (p.Parameters < 1 || p.Parameters > n):
		return fmt.Errorf("%d of %d parameters are sought", p.Parameters, n)
	}
	return nil
}

// state is the information of a design and what follows from it.
type state struct {
	*Problem
	m       *mat.SymDense
	inverse *mat.SymDense // of m
	errors  *mat.SymDense // inverse of the errors' part of m; nil without
	solved  []float64     // inverse of m times the combination; nil for D
	// value is the criterion, to be minimized: the logarithm of the variance, or less that of the determinant.
	value float64
}

// at is the state of the design with amounts of information by candidate.
func (p *Problem) at(amounts []float64) (*state, error) {
	n := p.size()
	m := mat.NewSymDense(n, nil)
	if p.Known != nil {
		m.CopySym(p.Known)
	}
	for i, a := range amounts {
		if a > 0 {
			m.SymRankOne(m, a, mat.NewVecDense(n, p.Candidates[i].Row))
		}
	}
	return p.of(m)
}

// of is the state of an information matrix. Parameters may be of very different sizes: it is scaled to 1 on its
// diagonal before it is inverted.
func (p *Problem) of(m *mat.SymDense) (*state, error) {
	s := &state{Problem: p, m: m}
	inverse, det, err := inverted(m, 0)
	if err != nil {
		return nil, err
	}
	s.inverse = inverse
	n := p.size()
	if p.Combination != nil {
		c := make([]float64, n)
		copy(c, p.Combination)
		s.solved = make([]float64, n)
		variance := 0.0
		for i := range n {
			for j := range n {
				s.solved[i] += inverse.At(i, j) * c[j]
			}
			variance += s.solved[i] * c[i]
		}
		s.value = math.Log(variance)
		return s, nil
	}
	s.value = -det
	if p.Parameters < n {
		part, detErrors, err := inverted(m, p.Parameters)
		if err != nil {
			return nil, err
		}
		s.errors, s.value = part, detErrors-det
	}
	return s, nil
}

// inverted returns the inverse of a matrix from row and column k on, and the logarithm of its determinant.
func inverted(m *mat.SymDense, k int) (*mat.SymDense, float64, error) {
	n := m.SymmetricDim() - k
	scale, scaled := make([]float64, n), mat.NewSymDense(n, nil)
	det := 0.0
	for i := range n {
		d := m.At(k+i, k+i)
		if !(d > 0) {
			return nil, 0, ErrUndetermined
		}
		scale[i] = math.Sqrt(d)
		det += math.Log(d)
	}
	for i := range n {
		for j := i; j < n; j++ {
			scaled.SetSym(i, j, m.At(k+i, k+j)/scale[i]/scale[j])
		}
	}
	var c mat.Cholesky
	if !c.Factorize(scaled) || c.Cond() > worstCondition {
		return nil, 0, ErrUndetermined
	}
	det += c.LogDet()
	inverse := mat.NewSymDense(n, nil)
	if err := c.InverseTo(inverse); err != nil {
		return nil, 0, fmt.Errorf("%w: %v", ErrUndetermined, err)
	}
	for i := range n {
		for j := i; j < n; j++ {
			inverse.SetSym(i, j, inverse.At(i, j)/scale[i]/scale[j])
		}
	}
	return inverse, det, nil
}

// worstCondition is the condition of a scaled matrix beyond which no digit of its inverse is left.
const worstCondition = 1e14

// gain is the derivative of the criterion, with its sign turned, by an amount of information at a row: the variance
// function of the equivalence theorem.
func (s *state) gain(row []float64) float64 {
	if s.solved != nil {
		dot := fit.Dot(row, s.solved)
		return dot * dot / math.Exp(s.value)
	}
	d := product(s.inverse, row, row)
	if s.errors != nil {
		d -= product(s.errors, row[s.Parameters:], row[s.Parameters:])
	}
	return d
}

// product is v' a w.
func product(a *mat.SymDense, v, w []float64) float64 {
	sum := 0.0
	for i, x := range v {
		if x == 0 {
			continue
		}
		for j, y := range w {
			sum += x * a.At(i, j) * y
		}
	}
	return sum
}

// Variance is that of the combination by what is known alone.
func (p *Problem) Variance() (float64, error) {
	if p.Combination == nil || p.Known == nil {
		return 0, errors.New("a variance needs a combination and something known")
	}
	s, err := p.of(p.Known)
	if err != nil {
		return 0, err
	}
	return math.Exp(s.value), nil
}
