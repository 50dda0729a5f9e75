package limits

import (
	"fmt"
	"slices"
	"strings"
)

// Quantity is what a limit may be set on, by the name that the cells give it.
type Quantity string

// A limit on isolation applies to the least isolation over polarization, one on insertion loss to the greatest over
// polarization, one on return loss to the smaller of both ports. The means and the minimum over polarization are
// figures of their own.
const (
	Isolation         Quantity = "isolation"
	IsolationMean     Quantity = "isolation_mean"
	InsertionLoss     Quantity = "insertion_loss"
	InsertionLossMean Quantity = "insertion_loss_mean"
	InsertionLossMin  Quantity = "insertion_loss_min" // along the passing axis of a polarization-dependent part
	PDL               Quantity = "pdl"
	DGD               Quantity = "dgd"
	ReturnLoss        Quantity = "return_loss"
)

// The axes of polarization-maintaining fibres: a design has these figures where its collimators have axes, and readings
// of them are compared with such a design only.
const (
	ExtinctionRatio   Quantity = "extinction_ratio"
	InsertionLossSlow Quantity = "insertion_loss_slow"
	InsertionLossFast Quantity = "insertion_loss_fast"
)

// properties are what a report says of a quantity, said once.
type properties struct {
	label   string // in running text
	extreme string // what of it is compared with a limit
	unit    string // of limits, figures and uncertainties
	// a requirement is that the figure does not fall below a value; otherwise that it does not exceed it
	atLeast bool
	example float64 // a limit, in the unit
	doc     string  // what a limit bounds
	source  string  // of the method by which it is measured
}

// Quantities lists those that there are readings of, in the order in which reports print them.
var Quantities = []Quantity{Isolation, InsertionLoss, PDL, DGD, ReturnLoss, InsertionLossSlow, InsertionLossFast,
	ExtinctionRatio}

// Figures lists everything that a limit may be set on, in the same order. Another row makes another one: the word
// limits(), designs, the record, reports, lots and the tolerance studies read this table.
var Figures = []Quantity{Isolation, IsolationMean, InsertionLoss, InsertionLossMean, InsertionLossMin,
	InsertionLossSlow, InsertionLossFast, ExtinctionRatio, PDL, DGD, ReturnLoss}

var table = map[Quantity]properties{
	Isolation: {"isolation", "minimum isolation", "dB", true, 30,
		"isolation, minimum over polarization", "IEC 61202-1"},
	IsolationMean: {"mean isolation", "minimum mean isolation", "dB", true, 30,
		"isolation, mean over polarization", "IEC 61300-3-4"},
	InsertionLoss: {"insertion loss", "maximum insertion loss", "dB", false, 0.6,
		"insertion loss, maximum over polarization", "IEC 61300-3-4"},
	InsertionLossMean: {"mean insertion loss", "maximum mean insertion loss", "dB", false, 0.5,
		"insertion loss, mean over polarization", "IEC 61300-3-4"},
	InsertionLossMin: {"insertion loss along the passing axis", "maximum insertion loss along the passing axis", "dB",
		false, 0.5, "insertion loss, minimum over polarization: along the passing axis of a polarization-dependent " +
			"part",
		"IEC 61300-3-4"},
	InsertionLossSlow: {"insertion loss along the slow axis", "maximum insertion loss along the slow axis", "dB",
		false, 0.6, "insertion loss of light launched along the slow axis of the fibre", "IEC 61300-3-4"},
	InsertionLossFast: {"insertion loss along the fast axis", "maximum insertion loss along the fast axis", "dB",
		false, 0.6, "insertion loss of light launched along the fast axis of the fibre", "IEC 61300-3-4"},
	ExtinctionRatio: {"extinction ratio", "minimum extinction ratio", "dB", true, 20,
		"extinction ratio at the end of the receiving fibre, of light launched along an axis of the other",
		"IEC 61300-3-40"},
	PDL: {"PDL", "maximum PDL", "dB", false, 0.1,
		"forward polarization-dependent loss (PDL)", "IEC 61300-3-2"},
	DGD: {"DGD", "maximum DGD", "ps", false, 0.1,
		"forward differential group delay (DGD)", "IEC 61300-3-32"},
	ReturnLoss: {"return loss", "minimum return loss", "dB", true, 55,
		"return loss of either port", "IEC 61300-3-6"},
}

func names() []string {
	all := make([]string, len(Figures))
	for i, q := range Figures {
		all[i] = string(q)
	}
	return all
}

// Known reports whether there is such a quantity.
func (q Quantity) Known() bool { return slices.Contains(Figures, q) }

// Reading is the quantity whose readings decide a limit on this one: itself, or the isolation or insertion loss that
// this one is another statistic of over polarization.
func (q Quantity) Reading() Quantity {
	switch q {
	case IsolationMean:
		return Isolation
	case InsertionLossMean, InsertionLossMin:
		return InsertionLoss
	}
	return q
}

// ByAxes reports whether the quantity is of light along the axes of polarization-maintaining fibres.
func (q Quantity) ByAxes() bool {
	return q == ExtinctionRatio || q == InsertionLossSlow || q == InsertionLossFast
}

// String words the quantity in running text: "insertion loss".
func (q Quantity) String() string {
	if p, ok := table[q]; ok {
		return p.label
	}
	return strings.ReplaceAll(string(q), "_", " ")
}

// Extreme is what is compared with a limit: "maximum insertion loss".
func (q Quantity) Extreme() string { return table[q].extreme }

// Unit is that of limits on the quantity and of its figures: "dB", "ps".
func (q Quantity) Unit() string { return table[q].unit }

// AtLeast reports whether a requirement is a lower bound, as of isolation, or an upper one, as of insertion loss.
func (q Quantity) AtLeast() bool { return table[q].atLeast }

// Side words that: "at least" or "at most".
func (q Quantity) Side() string { return side(q.AtLeast()) }

// Example is a limit as a cell writes it: "at_least(30*dB)".
func (q Quantity) Example() string {
	return fmt.Sprintf("%s(%g*%s)", strings.ReplaceAll(q.Side(), " ", "_"), table[q].example, q.Unit())
}

// Doc says what a limit bounds, Source by which standard it is measured.
func (q Quantity) Doc() string    { return table[q].doc }
func (q Quantity) Source() string { return table[q].source }

func side(atLeast bool) string {
	if atLeast {
		return "at least"
	}
	return "at most"
}
