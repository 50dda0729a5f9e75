package tolerance

import (
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// The quantities that may be asked of a unit: over all states of polarization, so that an isolation is the least over
// them (IEC 61202-1) and an insertion loss the greatest.
const (
	Isolation     = "isolation"      // dB, backward
	InsertionLoss = "insertion_loss" // dB, forward
	PDL           = "pdl"            // dB, forward
	DGD           = "dgd"            // seconds, forward
	ReturnLoss    = "return_loss"    // dB, the smaller of both ports, reflections added in power (IEC 61300-3-6)
)

// The same for another polarization than the worst one.
const (
	IsolationMean     = "isolation_mean"      // dB, backward, mean over polarization
	InsertionLossMean = "insertion_loss_mean" // dB, forward, mean over polarization
	InsertionLossMin  = "insertion_loss_min"  // dB, forward, of the polarization that loses least
)

// The same for the axes of polarization-maintaining fibres, which the stack's collimators must have.
const (
	ExtinctionRatio   = "extinction_ratio"    // dB, forward, at the end of the receiving fibre
	InsertionLossSlow = "insertion_loss_slow" // dB, forward, of light launched along the slow axis
	InsertionLossFast = "insertion_loss_fast" // dB, forward, of light launched along the fast axis
)

// Quantities lists those of a response that a study computes where no limits say which, and which are cheap together;
// ReturnLoss takes every face anew, for either port.
var Quantities = []string{Isolation, InsertionLoss, PDL, DGD}

// known are all quantities.
var known = append(slices.Clone(Quantities), ReturnLoss, IsolationMean, InsertionLossMean, InsertionLossMin,
	ExtinctionRatio, InsertionLossSlow, InsertionLossFast)

// Figure is what is asked of every unit: the worst of a quantity over some wavelengths and temperatures, that is the
// least isolation, return loss or extinction ratio and the greatest of everything else.
type Figure struct {
	Quantity     string                 // one of the constants above
	Wavelengths  []quantity.Length      // in vacuum, m; at least one
	Temperatures []quantity.Temperature // K; at least one
}

// check reports what is wrong with a figure.
func (f Figure) check() error {
	for _, q := range known {
		if f.Quantity == q {
			switch {
			case len(f.Wavelengths)*len(f.Temperatures) == 0:
				return fmt.Errorf("%s: at least one wavelength and one temperature are needed", q)
			case !(slices.Min(f.Temperatures) > 0):
				return fmt.Errorf("%s: temperatures must be above 0 kelvin, not %g kelvin", q,
					float64(slices.Min(f.Temperatures)))
			}
			return nil
		}
	}
	return fmt.Errorf("figure %q: expected one of %v", f.Quantity, known)
}

// Least reports whether the worst of the figure is its least value, as of isolation, return loss and extinction ratio.
func (f Figure) Least() bool {
	return f.backward() || f.Quantity == ReturnLoss || f.Quantity == ExtinctionRatio
}

// byAxes reports whether the figure is of the axes of the fibres.
func (f Figure) byAxes() bool {
	return f.Quantity == ExtinctionRatio || f.Quantity == InsertionLossSlow || f.Quantity == InsertionLossFast
}

// backward reports whether the figure is of light that is sent backward.
func (f Figure) backward() bool { return f.Quantity == Isolation || f.Quantity == IsolationMean }

// entries is how many numbers a point of the figure is evaluated as.
func (f Figure) entries() int {
	switch f.Quantity {
	case DGD, InsertionLossSlow, InsertionLossFast:
		return 1
	case ReturnLoss, ExtinctionRatio:
		return 2
	}
	return 4
}

func (f Figure) size() int { return f.entries() * len(f.Wavelengths) * len(f.Temperatures) }

// evaluate returns the numbers of every point of a stack. They are smooth where the figure itself is not: of a power
// the entries of the Gram matrix, whose eigenvalues may cross, of a delay its square, which has no corner at
// zero, of the return loss the share of the power that comes back to each port, and of an extinction ratio the power
// along either axis.
func (f Figure) evaluate(ctx context.Context, s *stack.Stack) ([]float64, error) {
	d := stack.Forward
	switch {
	case f.backward():
		d = stack.Backward
	case f.Quantity == ReturnLoss:
		return f.returns(ctx, s)
	case f.byAxes() && !s.HasAxes():
		return nil, fmt.Errorf("%s: the fibres of the collimators have no axes", f.Quantity)
	}
	r, err := s.Over(ctx, d, f.Wavelengths, f.Temperatures)
	if err != nil {
		return nil, err
	}
	values := make([]float64, 0, f.size())
	for _, row := range r.Points {
		for _, p := range row {
			values = f.numbers(values, &p)
		}
	}
	return values, nil
}

// numbers appends those of one point.
func (f Figure) numbers(values []float64, p *stack.Point) []float64 {
	switch f.Quantity {
	case DGD:
		return append(values, p.DGD()*p.DGD())
	case ExtinctionRatio:
		return append(values, p.Axes[p.Along][p.Along], p.Axes[1-p.Along][p.Along])
	case InsertionLossSlow:
		return append(values, p.Axes[0][0]+p.Axes[1][0])
	case InsertionLossFast:
		return append(values, p.Axes[0][1]+p.Axes[1][1])
	}
	return append(values, p.H.XX, p.H.YY, real(p.H.XY), imag(p.H.XY))
}

// returns is evaluate of the return loss.
func (f Figure) returns(ctx context.Context, s *stack.Stack) ([]float64, error) {
	values := make([]float64, 0, f.size())
	for _, t := range f.Temperatures {
		for _, l := range f.Wavelengths {
			for _, port := range [2]stack.Direction{stack.Forward, stack.Backward} {
				if err := ctx.Err(); err != nil {
					return nil, err
				}
				r, err := s.ReturnLoss(port, l, t, false)
				if err != nil {
					return nil, err
				}
				values = append(values, quantity.Ratio(-r.Loss))
			}
		}
	}
	return values, nil
}

// Resolution is what no instrument resolves (a choice): 0.0005 dB, or 1e-16 s of a DGD.
func (f Figure) Resolution() float64 {
	if f.Quantity == DGD {
		return 1e-16
	}
	return 5e-4
}

// allowed returns by how much a unit's figure v may differ between a program and the stack itself, in dB or for a DGD
// in seconds: 0.02 dB, and beyond an isolation of 60 dB what the same leakage amplitude makes there; 0.1 fs (choices).
// A study in which a unit differs by more is evaluated by the stack.
func (f Figure) allowed(v float64) float64 {
	switch f.Quantity {
	case DGD:
		return 1e-16
	case Isolation, IsolationMean:
		return 0.02 * max(1, math.Pow(10, (v-60)/20))
	}
	return 0.02
}

// least is the transmission of no light at all, 120 dB: no figure is infinite.
const least = 1e-12

// worst returns the figure of the numbers of all its points: dB, a DGD in seconds.
func (f Figure) worst(values []float64) float64 {
	worst := math.Inf(-1)
	for i := 0; i < len(values); i += f.entries() {
		v := 0.0
		switch f.Quantity {
		case DGD:
			v = math.Sqrt(max(values[i], 0))
		case ReturnLoss:
			v = max(values[i], values[i+1], least)
		case ExtinctionRatio:
			v = max(values[i+1], least) / max(values[i], least)
		case InsertionLossSlow, InsertionLossFast:
			v = 1 / max(values[i], least)
		default:
			t1, t2 := polar.Gram{XX: values[i], YY: values[i+1], XY: complex(values[i+2], values[i+3])}.Extremes()
			t1, t2 = max(t1, least), max(t2, least)
			switch f.Quantity {
			case Isolation:
				v = t1
			case IsolationMean:
				v = (t1 + t2) / 2
			case InsertionLoss:
				v = 1 / t2
			case InsertionLossMean:
				v = 2 / (t1 + t2)
			case InsertionLossMin:
				v = 1 / t1
			default:
				v = t1 / t2
			}
		}
		worst = max(worst, v)
	}
	switch {
	case f.Quantity == DGD:
		return worst
	case f.Least():
		return -quantity.Decibels(worst)
	}
	return quantity.Decibels(worst)
}

// Worst returns the figures of one stack, in their order: dB, a DGD in seconds. Double reflections add in power, unless
// the stack has none. An error is the context's, that of a figure which asks for nothing, or that of a wavelength or
// temperature outside what a material is known for.
func Worst(ctx context.Context, s *stack.Stack, figures []Figure) ([]float64, error) {
	s = averaged(s)
	ctx = stack.Quiet(ctx)
	all := make([]float64, len(figures))
	for k, f := range figures {
		if err := f.check(); err != nil {
			return nil, err
		}
		values, err := f.evaluate(ctx, s)
		if err != nil {
			return nil, err
		}
		all[k] = f.worst(values)
	}
	return all, nil
}
