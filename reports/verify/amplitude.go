package verify

import "math"

// perDecibel is the relative change of a power per decibel, ln(10)/10.
const perDecibel = math.Ln10 / 10

// Most stands for the isolation of no leak at all, in dB: plain data holds no infinity.
const Most = 120

// decibels returns the isolation of a leak amplitude in dB, at most 120.
func decibels(y float64) float64 {
	if y <= 1e-6 {
		return Most
	}
	return -20 * math.Log10(y)
}

// amplitude returns the amplitude of a value of the observation, and what a unit of the value changes it by.
func (o observation) amplitude(value float64) (y, slope float64) {
	if o.backward() {
		y = sqrt(value)
		return y, 1 / (2 * max(y, 1e-9))
	}
	y = math.Pow(10, -value/20)
	return y, -y * math.Ln10 / 20
}

// perLevel returns what one decibel of error does to the observation's value, at a leak power.
func (o observation) perLevel(level float64) float64 {
	if o.backward() {
		return -level * perDecibel
	}
	return 1
}

func sqrt(v float64) float64 { return math.Sqrt(max(v, 0)) }

// censoring is the multiple of its standard uncertainty below which net power only says "at least".
const censoring = 2

// threshold returns below which net power an "at least" reading was seen to lie, given its standard uncertainty, and
// false for a reading that is a number: the bound that the file states, and twice the uncertainty where that is more,
// for below it no reading is taken for a number.
func (o observation) threshold(u float64) (power float64, censored bool) {
	power = censoring * u
	if o.bound {
		return max(power, o.value), true
	}
	return power, o.backward() && o.value < power
}

// oneSided is the normal quantile of an "at least" at 95 %.
const oneSided = 1.6448536269514722
