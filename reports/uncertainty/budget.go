package uncertainty

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// Distribution is the shape of what is known about a contribution.
type Distribution string

// The distributions of JCGM 100:2008, 4.3 and annex F, and of JCGM 101:2008, table 1. Arcsine is the U-shaped one, of a
// ripple of unknown phase. Student is that of a mean of few observations: it needs degrees of freedom.
const (
	Normal      Distribution = "normal"
	Rectangular Distribution = "rectangular"
	Triangular  Distribution = "triangular"
	Arcsine     Distribution = "arcsine"
	Student     Distribution = "Student"
)

// Divisor turns the stated figure into a standard uncertainty: 1 for a normal distribution and Student's, which are
// stated by their standard uncertainty; sqrt 3, sqrt 6 and sqrt 2 for half-widths of the others.
func (d Distribution) Divisor() (float64, error) {
	switch d {
	case Normal, Student, "":
		return 1, nil
	case Rectangular:
		return math.Sqrt(3), nil
	case Triangular:
		return math.Sqrt(6), nil
	case Arcsine:
		return math.Sqrt2, nil
	}
	return 0, fmt.Errorf("distribution %q: expected normal, rectangular, triangular, arcsine or Student", d)
}

// Shared says which readings one and the same error enters.
type Shared string

// One error per reading; one per run, which is a sweep at one temperature; one for the whole file.
const (
	ByPoint Shared = "point"
	ByRun   Shared = "run"
	ByAll   Shared = "all"
)

// ByReference is one error per reading of a reference trace: of all readings that it was divided into. A file states
// it, and no contribution of a budget.
const ByReference Shared = "reference"

// sharing is the usual sharing of the contributions the vocabulary names: what is set up once per file
// is shared by all, what is set per sweep by the run. A contribution with another name is taken as
// shared by all, which averages nothing away.
var sharing = map[string]Shared{
	"repeatability":       ByPoint,
	"resolution":          ByPoint,
	"power_meter":         ByAll,
	"reference":           ByAll,
	"wavelength":          ByRun,
	"temperature":         ByRun,
	"source_polarization": ByRun,
}

// Contribution is one line of an uncertainty budget. The dimension of Value says how it acts: a level in
// dB on the reading itself, a delay on that of a DGD, a length through the slope of the curve over wavelength, a
// temperature difference through its slope over temperature.
type Contribution struct {
	Name string
	// the quantity whose readings it belongs to, as limits name it; "": all that it can act on
	Figure       string
	Value        quantity.Quantity // standard deviation if normal, half-width otherwise; dB, nm or kelvin
	Distribution Distribution      // "" is normal
	Divisor      float64           // 0 is the distribution's own
	DOF          float64           // degrees of freedom; 0 or infinity: known well
	Shared       Shared            // "" is the usual one for the name
}

// Floor is the fixture's own reading with no light coming through the part, a loss in dB on the scale of
// the isolation. It adds to the leak in power and is subtracted there.
type Floor struct {
	Level quantity.Quantity // dB
	// Uncertainty is the standard uncertainty of Level in dB. When 0 nothing was stated, and the floor's
	// power is taken to lie anywhere between none and twice Level's.
	Uncertainty quantity.Quantity
	DOF         float64
}

// Budget is what is known about the measurement.
type Budget struct {
	Contributions []Contribution
	Floor         *Floor // nil: none was measured, and none is subtracted
}

// Standard returns the standard uncertainty in SI units (dB for levels).
func (c Contribution) Standard() (float64, error) {
	d, err := c.divisor()
	if err != nil {
		return 0, err
	}
	return c.Value.SI() / d, nil
}

func (c Contribution) divisor() (float64, error) {
	if c.Divisor != 0 {
		if !(c.Divisor > 0) {
			return 0, fmt.Errorf("%s: divisor %g must be positive", c.Name, c.Divisor)
		}
		return c.Divisor, nil
	}
	d, err := c.Distribution.Divisor()
	if err != nil {
		return 0, fmt.Errorf("%s: %w", c.Name, err)
	}
	return d, nil
}

// SharedBy returns Shared, or the usual one for the name.
func (c Contribution) SharedBy() Shared {
	if c.Shared != "" {
		return c.Shared
	}
	if s, ok := sharing[c.Name]; ok {
		return s
	}
	return ByAll
}

// Check reports the first contribution that cannot be used, and why.
func (b Budget) Check() error {
	seen := map[[2]string]bool{}
	for _, c := range b.Contributions {
		switch {
		case c.Name == "":
			return fmt.Errorf("a contribution of %s has no name", c.Value)
		case seen[[2]string{c.Name, c.Figure}] || c.Figure != "" && seen[[2]string{c.Name}]:
			return fmt.Errorf("contribution %q is given twice", c.Name)
		case c.Value.Absolute():
			return fmt.Errorf("contribution %q is %s, a point on a scale: a difference was expected, as in 0.5*kelvin",
				c.Name, c.Value)
		case !(c.Value.Value >= 0) || math.IsInf(c.Value.Value, 0):
			return fmt.Errorf("contribution %q is %s: it must be finite and not negative", c.Name, c.Value)
		case c.DOF < 0 || c.DOF > 0 && c.DOF < 1 || math.IsNaN(c.DOF):
			return fmt.Errorf("contribution %q has %g degrees of freedom: 1 or more were expected", c.Name, c.DOF)
		case c.Distribution == Student && !(Input{Estimate: Estimate{DOF: c.DOF}}).poor():
			return fmt.Errorf("contribution %q has Student's distribution: its degrees of freedom were expected, one "+
				"less than the number of readings", c.Name)
		}
		seen[[2]string{c.Name, c.Figure}] = true
		switch d := c.Value.Dimension(); {
		case d == quantity.OfLevel, d == quantity.OfTime:
		case c.Figure != "":
			return fmt.Errorf("contribution %q to %s is %s, a %s: a level in dB or a delay was expected", c.Name,
				c.Figure, c.Value, d)
		case d == quantity.OfLength, d == quantity.OfTemperature:
		default:
			return fmt.Errorf("contribution %q is %s, a %s: a level in dB, a delay, a length or a temperature "+
				"difference was expected", c.Name, c.Value, d)
		}
		switch c.SharedBy() {
		case ByPoint, ByRun, ByAll:
		default:
			return fmt.Errorf("contribution %q is shared by %q: expected point, run or all", c.Name, c.Shared)
		}
		if _, err := c.divisor(); err != nil {
			return err
		}
	}
	return b.Floor.check()
}

func (f *Floor) check() error {
	if f == nil {
		return nil
	}
	if f.Level.Dimension() != quantity.OfLevel || f.Level.Absolute() || !(f.Level.Value > 0) {
		return fmt.Errorf("the floor is %s: a loss in dB greater than zero was expected, as in 62*dB", f.Level)
	}
	if f.Uncertainty != (quantity.Quantity{}) && (f.Uncertainty.Dimension() != quantity.OfLevel ||
		!(f.Uncertainty.Value >= 0)) {
		return fmt.Errorf("the floor's uncertainty is %s: a level in dB, not negative, was expected", f.Uncertainty)
	}
	return nil
}
