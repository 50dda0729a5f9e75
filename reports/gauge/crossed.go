package gauge

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

// Reading is one value of a study.
type Reading struct {
	Part       string   // the unit that was measured
	Conditions []string // the level of each condition of the design: operator, fixture
	Connection string   // which connection of the unit under these conditions; ignored unless the design has them
	Value      float64
}

// Design says what was varied.
type Design struct {
	// Crossed with the parts and with each other: "operator", "fixture"; each has two levels or more.
	Conditions  []string
	Reconnected bool // the unit was reconnected: readings of one connection belong together
	// Pool is the significance above which an interaction is taken for repeatability: its sum of squares and degrees of
	// freedom are added to the residual. Interactions of more factors are looked at first, and one is kept while one of
	// more factors that contains it is kept. 1: none is pooled.
	Pool float64
}

// Source is a line of the analysis of variance.
type Source struct {
	Name    string
	factors uint // bit 0 is the part, bit i condition i-1; 0: within the cells
	Squares float64
	DOF     float64
	Mean    float64 // mean square

	// F is the mean square over the one expected if the source had no effect, PValue the chance of one as large then.
	// Where that expectation combines several mean squares, its degrees of freedom are Satterthwaite's. NaN for what
	// has nothing to be tested against.
	F, PValue float64
	Pooled    bool // counted with the residual
}

// Component is a variance and its share.
type Component struct {
	Name     string
	Variance float64 // not negative
	// Raw is the estimate before a negative one is set to zero: a variance that is too small to be seen.
	Raw float64
	DOF float64 // effective degrees of freedom (Satterthwaite); 0 for a variance of zero

	combination []float64 // of the mean squares of Sources
	factors     uint
}

// Deviation is the standard deviation.
func (c Component) Deviation() float64 { return math.Sqrt(c.Variance) }

// Interval is the two-sided interval of the standard deviation with a confidence, by the chi-squared distribution of
// the effective degrees of freedom. The upper end is infinite where there are none.
func (c Component) Interval(confidence float64) (low, high float64) {
	if !(c.DOF > 0) {
		return 0, math.Inf(1)
	}
	d := distuv.ChiSquared{K: c.DOF}
	return math.Sqrt(c.Variance * c.DOF / d.Quantile((1+confidence)/2)),
		math.Sqrt(c.Variance * c.DOF / d.Quantile((1-confidence)/2))
}

// Study is what a crossed study shows.
type Study struct {
	Design
	Parts       []string
	Levels      [][]string // of each condition
	Connections int        // of each part under each combination of conditions
	Repeats     int        // of each connection
	Mean        float64

	Sources []Source // in the order in which a table has them; the last is the repeated reading
	// Components are the parts, the conditions and interactions that are not pooled, the reconnection, the
	// repeatability.
	Components []Component

	Repeatability   Component // readings repeated with nothing touched
	Reconnection    Component // zero without
	Reproducibility Component // conditions, and all interactions
	Total           Component // of the bench: these three
	Between         Component // the parts
}

// Variance is of all: bench and parts.
func (s *Study) Variance() float64 { return s.Total.Variance + s.Between.Variance }

// Contribution is the share of a component in all variance.
func (s *Study) Contribution(c Component) float64 { return c.Variance / s.Variance() }

// StudyVariation is the standard deviation of a component over that of all readings ("% study variation").
func (s *Study) StudyVariation(c Component) float64 { return math.Sqrt(s.Contribution(c)) }

// Categories is how many groups of parts the bench can distinguish: sqrt(2) times the standard deviation between parts
// over that of the bench. Practice cuts it to a whole number and asks for five.
func (s *Study) Categories() float64 {
	return math.Sqrt2 * s.Between.Deviation() / s.Total.Deviation()
}

// New analyses the readings. They must be balanced: every part under every combination of conditions has the same
// number of connections with the same number of readings. At least two parts, two levels of each condition and, in
// each cell, two readings are needed.
//
// The mean squares of crossed random factors are expected to be E(MS_S) = E0 + sum over T containing S of k_T V_T, with
// k_T the number of readings at each combination of levels of T, V_T the variance of T, and E0 the mean square within
// cells (H. Scheffé, The Analysis of Variance, Wiley 1959, chapter 7). They are solved from the interaction of all
// factors down.
func New(readings []Reading, d Design) (*Study, error) {
	t, err := tabulate(readings, d)
	if err != nil {
		return nil, err
	}
	s := &Study{Design: d, Parts: t.levels[0], Levels: t.levels[1:], Connections: t.connections, Repeats: t.repeats,
		Mean: t.mean}
	s.squares(t)
	s.solve(t)
	s.group()
	return s, nil
}

// name joins the names of the factors of a set.
func (s *Study) name(set uint) string {
	var names []string
	for i, n := range append([]string{"part"}, s.Conditions...) {
		if set&(1<<i) != 0 {
			names = append(names, n)
		}
	}
	return strings.Join(names, " × ")
}

// squares works out the sums of squares: those of the crossed factors from the means over all else by inclusion and
// exclusion, about the grand mean.
func (s *Study) squares(t *table) {
	all := uint(1)<<len(t.levels) - 1
	raw := make([]float64, all+1)
	for set := uint(1); set <= all; set++ {
		raw[set] = t.between(set)
	}
	var sets []uint
	for set := uint(1); set <= all; set++ {
		sets = append(sets, set)
	}
	slices.SortStableFunc(sets, func(a, b uint) int { return bits.OnesCount(a) - bits.OnesCount(b) })
	for _, set := range sets {
		src := Source{Name: s.name(set), factors: set, DOF: 1}
		for sub := set; sub > 0; sub = (sub - 1) & set {
			if (bits.OnesCount(set)-bits.OnesCount(sub))%2 == 0 {
				src.Squares += raw[sub]
			} else {
				src.Squares -= raw[sub]
			}
		}
		for i, l := range t.levels {
			if set&(1<<i) != 0 {
				src.DOF *= float64(len(l) - 1)
			}
		}
		src.Squares = max(src.Squares, 0)
		s.Sources = append(s.Sources, src)
	}
	connections, repeats := t.within()
	cells := float64(len(t.cells))
	if t.connections > 1 {
		s.Sources = append(s.Sources, Source{Name: "reconnection", Squares: connections,
			DOF: cells * float64(t.connections-1)})
	}
	if t.repeats > 1 {
		s.Sources = append(s.Sources, Source{Name: "repeatability", Squares: repeats,
			DOF: cells * float64(t.connections*(t.repeats-1))})
	}
	for i := range s.Sources {
		src := &s.Sources[i]
		src.Mean, src.F, src.PValue = src.Squares/src.DOF, math.NaN(), math.NaN()
	}
}

// unbalanced words a study that is not balanced.
func unbalanced(where string, got, want int, what string) error {
	return fmt.Errorf("%s has %d %s, others %d: the study must be balanced, with as many in every combination", where,
		got, what, want)
}
