package uncertainty

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// Input is a quantity that a result depends on, with the shape of what is known about it. Its standard uncertainty and
// degrees of freedom are those that linear propagation takes.
type Input struct {
	Estimate
	Distribution Distribution // "" is normal
}

// Simulated is a result's distribution as Simulate found it.
type Simulated struct {
	Value, Standard float64 // mean and standard deviation; NaN when some trial gave an infinity
	Probability     float64 // of both intervals
	Low, High       float64 // the probabilistically symmetric coverage interval
	Trials          int
	// Stable is false when the trials allowed did not bring the interval within its numerical tolerance.
	Stable bool

	trials *ordered
}

// Between returns the share of the trials from low to high, ends included: 0 for a Simulated of no trials.
func (s *Simulated) Between(low, high float64) float64 {
	if s.trials == nil {
		return 0
	}
	in := 0
	for _, y := range s.trials.values {
		if low <= y && y <= high {
			in++
		}
	}
	return float64(in) / float64(len(s.trials.values))
}

// Simulation says how Simulate is done; the zero value is what reports use.
type Simulation struct {
	Probability float64 // coverage; 0 means Confidence
	Digits      int     // significant digits of the standard uncertainty that are to be meaningful; 0 means 1
	Seed        uint64  // the same seed gives the same trials
	Most        int     // trials; 0 means a million
}

const (
	block   = 10000   // trials between two looks at the stability (JCGM 101:2008, 7.9.4 b)
	mostRun = 1000000 // trials unless said otherwise
	blocks  = 3       // room made at first
	finer   = 5       // how much finer than what is validated the trials must be (JCGM 101:2008, 8.2)
)

// Simulate propagates the distributions of the inputs through f by the adaptive Monte Carlo procedure of JCGM 101:2008,
// 7.9, until the standard deviations of the mean, the standard deviation and both ends of the interval, expanded, are
// within a fifth of the numerical tolerance that Digits asks for, as a validation wants it (8.2). They are expanded by
// Student's t for as many blocks as there are, and by two, as in the standard, when these are many. Distributions are
// those of table 1 there: a normal quantity with finite degrees of freedom becomes a scaled and shifted t (6.4.9);
// those of the others are not sampled. f must keep nothing of its argument; it may return an infinity, which the
// interval stands and the mean does not. A NaN of f is an error.
//
// In each block an input takes the middles of as many strata of equal probability as there are trials, and the blocks
// are lattices at random places (strata.go). They are independent of each other, so that their spread still says how
// well their mean is known; it is several times less than that of plain draws, and so many fewer trials do. An input of
// few degrees of freedom is drawn plainly. There may be 250 inputs.
func Simulate(f func(x []float64) float64, inputs []Input, how Simulation) (*Simulated, error) {
	p := how.Probability
	if p == 0 {
		p = Confidence
	}
	if !(p > 0 && p < 1) {
		return nil, fmt.Errorf("coverage probability %g: expected one between 0 and 1", p)
	}
	most := how.Most
	if most == 0 {
		most = mostRun
	}
	next, err := sampler(inputs, how)
	if err != nil {
		return nil, err
	}
	all := make([]float64, 0, min(most, blocks*block))
	scratch := make([]float64, block)
	var looks [4][]float64 // mean, standard deviation, low and high of each block
	x := make([]float64, len(inputs))
	for {
		start := len(all)
		columns := next()
		for k := range block {
			for i, c := range columns {
				x[i] = c[k]
			}
			y := f(x)
			if math.IsNaN(y) {
				return nil, fmt.Errorf("the result is not a number for inputs %v", x)
			}
			all = append(all, y)
		}
		copy(scratch, all[start:])
		value, standard := moments(scratch)
		low, high := newOrdered(scratch, p).symmetric()
		for i, v := range [4]float64{value, standard, low, high} {
			looks[i] = append(looks[i], v)
		}
		stable := len(looks[0]) > 1 && settled(looks, p, max(how.Digits, 1))
		if stable || len(all)+block > most {
			s := Simulated{Trials: len(all), Probability: p, Stable: stable}
			s.Value, s.Standard = moments(all)
			s.trials = newOrdered(all, p)
			s.Low, s.High = s.trials.symmetric()
			return &s, nil
		}
	}
}

// settled applies 7.9.4 g) and h) of JCGM 101:2008. Where the result is infinite now and then there is no standard
// deviation to go by, and the number of trials is that of 7.2.1, ten thousand times 1/(1-p).
func settled(looks [4][]float64, p float64, digits int) bool {
	u := mean(looks[1])
	if !finiteNumber(u) {
		return float64(block*len(looks[1])) >= 1e4/(1-p)
	}
	tolerance := NumericalTolerance(u, digits) / finer
	h := float64(len(looks[0]))
	k := CoverageFactor(Confidence, h-1)
	for _, v := range looks {
		m := mean(v)
		sum := 0.0
		for _, y := range v {
			sum += (y - m) * (y - m)
		}
		if k*math.Sqrt(sum/(h*(h-1))) > tolerance {
			return false
		}
	}
	return true
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, y := range v {
		sum += y
	}
	return sum / float64(len(v))
}

func finiteNumber(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// moments returns the mean and the standard deviation of values: JCGM 101:2008, 7.6; NaN both when the mean is
// infinite.
func moments(values []float64) (value, standard float64) {
	value = mean(values)
	if !finiteNumber(value) {
		return math.NaN(), math.NaN()
	}
	sum := 0.0
	for _, y := range values {
		sum += (y - value) * (y - value)
	}
	return value, math.Sqrt(sum / float64(len(values)-1))
}

// sampler returns what draws a block of every input, in slices that the next call fills anew.
func sampler(inputs []Input, how Simulation) (next func() [][]float64, err error) {
	if len(inputs) > mostInputs {
		return nil, fmt.Errorf("%d inputs: expected at most %d", len(inputs), mostInputs)
	}
	rng := rand.New(rand.NewPCG(how.Seed, 0x101)) // the stream's number is a choice
	fills := make([]func(column []float64), len(inputs))
	columns := make([][]float64, len(inputs))
	for i, in := range inputs {
		if fills[i], err = in.fill(i, rng); err != nil {
			return nil, fmt.Errorf("input %d: %w", i+1, err)
		}
		columns[i] = make([]float64, block)
	}
	return func() [][]float64 {
		for i, fill := range fills {
			fill(columns[i])
		}
		return columns
	}, nil
}

// poor reports whether the standard uncertainty itself is known from few observations.
func (in Input) poor() bool { return in.DOF > 0 && !math.IsInf(in.DOF, 1) }

// fill returns what draws a block of one input, the i-th: JCGM 101:2008, table 1.
func (in Input) fill(i int, rng *rand.Rand) (func(column []float64), error) {
	v, u := in.Value, in.Standard
	if !finiteNumber(v) || !finiteNumber(u) || u < 0 {
		return nil, fmt.Errorf("%g with the standard uncertainty %g", v, u)
	}
	half, err := in.Distribution.Divisor()
	if err != nil {
		return nil, err
	}
	half *= u
	switch in.Distribution {
	case Rectangular:
		return func(column []float64) { strata(column, rectangular(), i, v, half, rng) }, nil
	case Triangular:
		return func(column []float64) { strata(column, triangular(), i, v, half, rng) }, nil
	case Arcsine:
		return func(column []float64) { strata(column, arcsine(), i, v, half, rng) }, nil
	}
	if in.poor() && u > 0 {
		t := distuv.StudentsT{Mu: v, Sigma: u, Nu: in.DOF, Src: rng}
		return func(column []float64) {
			for k := range column {
				column[k] = t.Rand()
			}
		}, nil
	}
	return func(column []float64) { strata(column, normal(), i, v, u, rng) }, nil
}
