package readings

import (
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
)

// Polarization says how the source's polarization was treated while measuring.
type Polarization string

// Scrambled readings are means over polarization, MinMax readings extremes; FixedUnknown readings are
// neither, and Unstated ones could be anything.
const (
	Scrambled    Polarization = "scrambled"
	MinMax       Polarization = "min-max"
	FixedUnknown Polarization = "fixed-unknown"
	Unstated     Polarization = ""
)

// Reading is one row of a measurement, losses in dB, positive. NaN means not measured; a standard
// uncertainty (dB) of NaN means that the file has none for this reading.
type Reading struct {
	Line          int // in the file
	Repeat        int // number of the repeated sweep; 0 without
	Wavelength    quantity.Length
	Temperature   quantity.Temperature
	Isolation     float64
	AtLeast       bool // the file gives the isolation as a bound, as in >62: the instrument saw less light than that
	InsertionLoss float64
	PDL           float64
	UIsolation    float64
	ULoss         float64
	UPDL          float64

	// Errors that the isolation and the loss share with those of other rows, in dB: of the reference that they were
	// divided by. They are not part of UIsolation and ULoss.
	CommonIsolation, CommonLoss []measured.Term

	UWavelength  quantity.Length      // standard uncertainties of where the reading stands; 0: not stated
	UTemperature quantity.Temperature // a difference
}

// Readings is the measurement of one unit; FromTable makes one of a *measured.Table.
type Readings struct {
	File         string
	SHA256       string
	Unit, Lot    string
	Polarization Polarization
	MeanLoss     bool        // losses are means over polarization whatever the isolations are
	Meta         [][2]string // key and value, as in the file

	// Digit is one in the last digit of the readings as the file writes them, dB, by quantity; nil where that is not
	// known.
	Digit map[limits.Quantity]float64
	Rows  []Reading
}

// Abscissa is the uncertainty that the file states of where a reading stands.
func (r Reading) Abscissa(d quantity.Dimension) float64 {
	if d == quantity.OfLength {
		return float64(r.UWavelength)
	}
	return float64(r.UTemperature)
}
