package fit

import (
	"math"
)

// Golden closes in on the minimum of f between a and b by the golden section, until what is left of the interval is at
// most enough. f must have one minimum there. (J. Kiefer, Proceedings of the American Mathematical Society 4, 502,
// 1953.)
func Golden(f func(float64) (float64, error), a, b, enough float64) (float64, error) {
	ratio := (math.Sqrt(5) - 1) / 2
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, err := f(c)
	if err != nil {
		return 0, err
	}
	fd, err := f(d)
	for err == nil && b-a > enough {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc, err = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd, err = f(d)
		}
	}
	return (a + b) / 2, err
}
