package readings

import (
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// LevelNoise is the standard uncertainty of a reading's level in dB: what the file states and what the budget adds.
func (o *Observation) LevelNoise(b uncertainty.Budget) float64 {
	var sum float64
	stated := !math.IsNaN(o.Stated)
	if stated {
		sum = o.Stated * o.Stated
	}
	sum += o.Reference() * o.Reference()
	for _, c := range b.Contributions {
		switch d := c.Value.Dimension(); {
		case d == quantity.OfLength, d == quantity.OfTemperature, stated && c.SharedBy() == uncertainty.ByPoint:
			continue
		}
		if u, err := c.Standard(); err == nil { // terms has refused what has none
			sum += u * u
		}
	}
	return math.Sqrt(sum)
}

// PointNoise is the standard uncertainty of a reading in dB that it shares with no other.
func (o *Observation) PointNoise(b uncertainty.Budget) float64 {
	if !math.IsNaN(o.Stated) {
		return o.Stated
	}
	sum := 0.0
	for _, c := range b.Contributions {
		if u, err := c.Standard(); err == nil && c.Value.Dimension() == quantity.OfLevel &&
			c.SharedBy() == uncertainty.ByPoint {
			sum += u * u
		}
	}
	return math.Sqrt(sum)
}
