package readings

import (
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

// Sweep is a run: the readings at one temperature.
type Sweep struct {
	Temperature quantity.Temperature    // mean of the readings
	Low, High   quantity.Length         // first and last wavelength
	Count       map[limits.Quantity]int // readings of each quantity that are compared
}

// FloorUsed is the floor that was subtracted.
type FloorUsed struct {
	Level    float64 // dB
	Power    float64
	Standard float64 // of Power
	Stated   bool    // the uncertainty was stated
}
