package curve

import "math"

// resolved is the correlation of the excess of neighbouring readings above which the excess is structure that the
// readings resolve, and no noise: at 0.5 a period holds five readings or more.
const resolved = 0.5

// learn reports whether the readings show structure finer than the smooth process that neighbouring readings share,
// such as ripple that nobody stated; it then becomes part of the texture. Its variance is what the residuals have
// beyond the stated noise, its period follows from their correlation at the distance of neighbours.
func (c *Curve) learn() bool {
	likely := 0.0
	for _, k := range c.mixture {
		if k.excess > 0 {
			likely += k.weight
		}
	}
	if likely <= 1-noExcess { // the readings do not speak for it: the residuals of noise alone correlate by chance
		return false
	}
	e := c.residuals()
	var own, beside, step float64
	for i := 1; i < len(e); i++ {
		a, b := c.readings[i-1], c.readings[i]
		own += (e[i-1]*e[i-1]+e[i]*e[i])/2 - (a.Noise*a.Noise+b.Noise*b.Noise)/2
		beside += e[i-1] * e[i]
		step += b.At - a.At
	}
	n := float64(len(e) - 1)
	own, step = own/n, step/n
	rho := beside / n / own
	if !(own > 0) || rho < resolved {
		return false
	}
	rho = min(rho, 0.99)
	period := 2 * math.Pi * step / math.Sqrt(-2*math.Log(rho))
	stated := c.texture
	if stated.Standard != nil {
		period = min(period, stated.Period)
	}
	c.texture = Texture{Period: period, Standard: func(x float64) float64 {
		return max(math.Sqrt(own), stated.standard(x))
	}}
	return true
}

// residuals of the readings about the smooth part of the curve, averaged over the mixture.
func (c *Curve) residuals() []float64 {
	e := make([]float64, len(c.readings))
	row := make([]float64, c.basis.size())
	for i, r := range c.readings {
		c.basis.at(r.At, row)
		e[i] = r.Value - dot(row, c.pooled.mean)
	}
	return e
}
