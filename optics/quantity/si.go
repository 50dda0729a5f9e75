package quantity

import "math"

// The types that signatures use. Each is a float64 in the SI unit named beside it.
type (
	Length      float64 // metre; wavelengths are vacuum wavelengths
	Angle       float64 // radian; azimuths run from +x towards +y
	Temperature float64 // kelvin, thermodynamic; differences of temperatures are plain float64 in kelvin
)

// Factors to write SI values with: 1550 * quantity.Nanometre is 1.55e-6 m.
const (
	Nanometre  Length = 1e-9
	Micrometre Length = 1e-6
	Millimetre Length = 1e-3
	Degree     Angle  = math.Pi / 180
)

// LightSpeed is the speed of light in vacuum, in metres per second (exact, SI).
const LightSpeed = 299792458

// zeroCelsius is 0 degC in kelvin (exact, SI).
const zeroCelsius = 273.15

// Celsius returns the thermodynamic temperature of t degrees Celsius.
func Celsius(t float64) Temperature { return Temperature(t + zeroCelsius) }

// Celsius returns the temperature in degrees Celsius.
func (t Temperature) Celsius() float64 { return float64(t) - zeroCelsius }

// Decibels returns 10 log10 of a power ratio: -Inf of 0, NaN of a negative one. A loss is the negative of that of a
// transmission.
func Decibels(ratio float64) float64 { return 10 * math.Log10(ratio) }

// Ratio returns the power ratio of a level in dB, 10^(dB/10), the inverse of Decibels.
func Ratio(dB float64) float64 { return math.Pow(10, dB/10) }
