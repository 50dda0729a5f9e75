package readings

import (
	"wedgework/optics/quantity"
	"wedgework/reports/curve"
	"wedgework/reports/limits"
)

// SweepScatter is how the readings of one quantity in one sweep scatter about the smooth curve through them.
type SweepScatter struct {
	Quantity    limits.Quantity
	Temperature quantity.Temperature
	curve.Scatter
}
