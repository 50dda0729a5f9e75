package doe

import (
	"context"
	"math"

	"wedgework/reports/fit"
)

// Design shares readings out among candidates.
type Design struct {
	Weights []float64 // by candidate, of all readings; they add up to 1
	// Value is the criterion at the optimum: the logarithm of the determinant of the information about the leading
	// parameters, or the variance of the combination.
	Value float64
	// Gains is the variance function of the equivalence theorem at every candidate: the derivative of the logarithm
	// of the criterion by the share of readings there.
	Gains []float64
	// Mean is that function's mean over the design: without anything known beforehand the number of parameters for D,
	// and 1 for c. At the optimum no candidate exceeds it, and those of the design equal it.
	Mean float64
}

// Excess is by how much the greatest value of the variance function exceeds its mean, relative to it: 0 at the
// optimum. The efficiency of the design is at least 1/(1 + Excess) for D (Atkinson, Donev, Tobias, section 11.1).
func (d *Design) Excess() float64 {
	most := 0.0
	for _, g := range d.Gains {
		most = max(most, g)
	}
	return most/d.Mean - 1
}

const (
	// enough is the excess under which a design is optimal.
	enough = 1e-7
	// mostSteps bounds the steps; some tens are usual.
	mostSteps = 3000
)

// Approximate returns the design of n readings that minimizes the criterion when they may be shared out in any
// proportion. A step moves weight from the worst candidate of the design to the best of all, then between neighbours
// in it, and then shares all weight out anew by the variance function (Y. Yu, Statistics and Computing 21, 475, 2011).
// What repeats have in common is not allowed for. n matters only against what is known before; 1 or more.
func Approximate(ctx context.Context, p Problem, n float64) (*Design, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	w := make([]float64, len(p.Candidates))
	for i := range w {
		w[i] = 1 / float64(len(w))
	}
	for step := 0; ; step++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		s, err := p.at(times(w, n))
		if err != nil {
			return nil, err
		}
		d := p.judged(s, w, n)
		best, worst, last := 0, -1, -1
		for i, g := range d.Gains {
			if g > d.Gains[best] {
				best = i
			}
			if w[i] > 0 && (worst < 0 || g < d.Gains[worst]) {
				worst = i
			}
		}
		if d.Gains[best]-d.Gains[worst] <= enough*d.Mean || step == mostSteps {
			return d, nil
		}
		if s, err = p.shift(s, w, worst, best, n); err != nil {
			return nil, err
		}
		for i := range w {
			if w[i] == 0 {
				continue
			}
			if last >= 0 {
				if s, err = p.shift(s, w, last, i, n); err != nil {
					return nil, err
				}
			}
			if w[i] > 0 {
				last = i
			}
		}
		p.reshare(s, w)
	}
}

// reshare multiplies weights by the variance function, or its root for c (D. M. Titterington, Applied Statistics 25,
// 329, 1976; J. Fellman, Commentationes Physico-Mathematicae 44, 1, 1974): neither step can be worse.
func (p *Problem) reshare(s *state, w []float64) {
	sum := 0.0
	for i := range w {
		if w[i] == 0 {
			continue
		}
		g := s.gain(p.Candidates[i].Row)
		if p.Combination != nil {
			g = math.Sqrt(g)
		}
		w[i] *= g
		sum += w[i]
	}
	for i := range w {
		if w[i] /= sum; w[i] < 1e-14 {
			w[i] = 0
		}
	}
}

func times(w []float64, n float64) []float64 {
	all := make([]float64, len(w))
	for i, v := range w {
		all[i] = v * n
	}
	return all
}

func (p *Problem) judged(s *state, w []float64, n float64) *Design {
	d := &Design{Weights: append([]float64(nil), w...), Gains: make([]float64, len(w)), Value: -s.value}
	if p.Combination != nil {
		d.Value = math.Exp(s.value)
	}
	for i := range w {
		d.Gains[i] = n * s.gain(p.Candidates[i].Row)
		d.Mean += w[i] * d.Gains[i]
	}
	return d
}

// shift moves weight between two candidates of which one is in the design, as much either way as is best, and returns
// the state after it.
func (p *Problem) shift(s *state, w []float64, from, to int, n float64) (*state, error) {
	share := s.between(p.Candidates[from].Row, p.Candidates[to].Row) / n
	share = min(max(share, -w[to]), w[from])
	if share == 0 {
		return s, nil
	}
	w[to] += share
	w[from] -= share
	moved, err := p.at(times(w, n))
	if err != nil || moved.value > s.value { // a design without this candidate, or no gain but for rounding
		w[to] -= share
		w[from] += share
		return s, nil
	}
	return moved, nil
}

// between is the amount of information that is best moved from row a to row b, which may be more than there is. With
// Woodbury's identity the criterion is a ratio of two parabolas of the amount, and its derivative vanishes at the roots
// of a third one, of which the nearer is sought.
func (s *state) between(a, b []float64) float64 {
	aa, ab, bb := product(s.inverse, a, a), product(s.inverse, a, b), product(s.inverse, b, b)
	slope, bend := bb-aa, aa*bb-ab*ab // of the determinant: 1 + slope x - bend x^2
	var square, half, constant float64
	switch {
	case s.solved != nil:
		av, bv := fit.Dot(a, s.solved), fit.Dot(b, s.solved)
		half = bb*av*av - 2*ab*av*bv + aa*bv*bv
		constant = av*av - bv*bv
		square = half*slope + constant*bend
	case s.errors != nil:
		a, b = a[s.Parameters:], b[s.Parameters:]
		ea, eo, eb := product(s.errors, a, a), product(s.errors, a, b), product(s.errors, b, b)
		eslope, ebend := eb-ea, ea*eb-eo*eo
		square, half, constant = eslope*bend-slope*ebend, bend-ebend, eslope-slope
	default:
		half, constant = bend, -slope
	}
	if constant == 0 {
		return 0
	}
	d := half*half - square*constant
	if below := half + math.Sqrt(max(d, 0)); d >= 0 && below > 0 {
		return -constant / below
	}
	return math.Copysign(math.Inf(1), -constant)
}
