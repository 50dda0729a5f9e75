package readings

import (
	"wedgework/optics/quantity"
	"wedgework/reports/curve"
)

// SweepScatter is how the readings of one quantity in one sweep scatter about the smooth curve through them.
type SweepScatter struct {
	Quantity    string // of limits
	Temperature quantity.Temperature
	curve.Scatter
}
