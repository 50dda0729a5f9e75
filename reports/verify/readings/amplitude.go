package readings

import (
	"math"

	"wedgework/optics/quantity"
)

// PerDecibel is the relative change of a power per decibel, ln(10)/10.
const PerDecibel = math.Ln10 / 10

// Most stands for the isolation of no leakage at all, in dB: plain data holds no infinity.
const Most = 120

// Decibels returns the isolation of a leakage amplitude in dB, at most 120.
func Decibels(y float64) float64 {
	if y <= 1e-6 {
		return Most
	}
	return -20 * math.Log10(y)
}

// Amplitude returns the amplitude of a value of an isolation or an insertion loss, and what a unit of the value changes
// it by.
func (o Observation) Amplitude(value float64) (y, slope float64) {
	if o.Backward() {
		y = Root(value)
		return y, 1 / (2 * max(y, 1e-9))
	}
	y = math.Pow(10, -value/20)
	return y, -y * math.Ln10 / 20
}

func Root(v float64) float64 { return math.Sqrt(max(v, 0)) }

// Censoring is the multiple of its standard uncertainty below which net power only says "at least".
const Censoring = 2

// Threshold returns below which net power an "at least" reading was seen to lie, given its standard uncertainty, and
// false for a reading that is a number: the bound that the file states, and twice the uncertainty where that is more,
// for below it no reading is taken for a number.
func (o Observation) Threshold(u float64) (power float64, censored bool) {
	power = Censoring * u
	if o.Bound {
		return max(power, o.Value), true
	}
	return power, o.Backward() && o.Value < power
}

// OneSided is the normal quantile of an "at least" at 95 %.
const OneSided = 1.6448536269514722

// PerUnit is the SI size of a difference of one unit.
func PerUnit(u quantity.Unit) float64 {
	return quantity.Attach(1, u).SI() - quantity.Attach(0, u).SI()
}
