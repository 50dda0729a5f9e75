package readings

import (
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
)

// Polarization says how the source's polarization was treated while measuring.
type Polarization = measured.Polarization

// Scrambled readings are means over polarization, MinMax readings extremes; FixedUnknown readings are
// neither, and Unstated ones could be anything.
const (
	Scrambled    = measured.Scrambled
	MinMax       = measured.MinMax
	FixedUnknown = measured.FixedUnknown
	Unstated     = measured.Unstated
)

// Figure is one quantity as it was read, in its unit: losses in dB, positive, a DGD in ps.
type Figure struct {
	Quantity limits.Quantity
	Value    float64 // NaN: not measured
	U        float64 // standard uncertainty that it shares with no other reading; NaN: the file states none
	AtLeast  bool    // the file gives it as a bound, as in >62: the instrument saw less light than that

	// Errors that it shares with readings of other rows: of the reference that they were divided by. They are not part
	// of U.
	Common []measured.Term

	// Bias is what noise is expected to have added to the square of a PDL or a DGD; NaN where that is not known, for
	// the instrument may have taken it off.
	Bias float64

	// Step holds the wavelengths that a DGD was measured between; zero where that is not known.
	Step [2]quantity.Length
}

// NewFigure is a figure of which nothing but the value is known.
func NewFigure(q limits.Quantity, value float64) Figure {
	return Figure{Quantity: q, Value: value, U: math.NaN(), Bias: math.NaN()}
}

// Unbiased is the figure less what noise is known to have added to it.
func (f *Figure) Unbiased() float64 {
	if math.IsNaN(f.Bias) {
		return math.Abs(f.Value)
	}
	return Root(f.Value*f.Value - f.Bias)
}

// Reading is one row of a measurement: what was read at one wavelength and temperature.
type Reading struct {
	Line        int // in the file
	Repeat      int // number of the repeated sweep; 0 without
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Figures     []Figure // at most one of each quantity

	UWavelength  quantity.Length      // standard uncertainties of where the reading stands; 0: not stated
	UTemperature quantity.Temperature // a difference
}

// Of returns the figure of a quantity; nil where the row has none.
func (r *Reading) Of(q limits.Quantity) *Figure {
	for i := range r.Figures {
		if r.Figures[i].Quantity == q && !math.IsNaN(r.Figures[i].Value) {
			return &r.Figures[i]
		}
	}
	return nil
}

// Readings is the measurement of one unit; FromTable makes one of a *measured.Table.
type Readings struct {
	File         string
	SHA256       string
	Unit, Lot    string
	Condition    string // before, during or after a test of a qualification; "" where nothing states it
	Polarization Polarization
	MeanLoss     bool        // losses are means over polarization whatever the isolations are
	Meta         [][2]string // key and value, as in the file

	// Digit is one in the last digit of the readings as the file writes them, in their unit, by quantity; nil where
	// that is not known.
	Digit map[limits.Quantity]float64
	Rows  []Reading

	Unused []string // what of the file holds readings that are compared with nothing, in a few words each
}

// Abscissa is the uncertainty that the file states of where a reading stands.
func (r Reading) Abscissa(d quantity.Dimension) float64 {
	if d == quantity.OfLength {
		return float64(r.UWavelength)
	}
	return float64(r.UTemperature)
}
