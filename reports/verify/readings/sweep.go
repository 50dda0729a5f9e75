package readings

import "wedgework/optics/quantity"

// Sweep is a run: the readings at one temperature.
type Sweep struct {
	Temperature quantity.Temperature // mean of the readings
	Low, High   quantity.Length      // first and last wavelength
	Isolations  int                  // readings of each kind
	Losses      int
}

// FloorUsed is the floor that was subtracted.
type FloorUsed struct {
	Level    float64 // dB
	Power    float64
	Standard float64 // of Power
	Stated   bool    // the uncertainty was stated
}
