package curve

import "math"

const (
	// mostWaves bounds the sine waves of the smooth process; a third of the readings suffice when there are fewer.
	mostWaves = 24
	// margin by which the interval of the sine basis exceeds that of the readings: the process vanishes at its ends
	// (Solin and Särkkä 2020, section 4.2).
	margin = 1.6
)

// basis is the functions in which a curve is expanded: Legendre polynomials, then sine waves.
type basis struct {
	centre, half float64 // of the readings' interval
	degree       int
	waves        int
}

func newBasis(rs []Reading, degree int) basis {
	lo, hi := rs[0].At, rs[len(rs)-1].At
	return basis{centre: (lo + hi) / 2, half: (hi - lo) / 2, degree: degree, waves: min(max(len(rs)/3, 4), mostWaves)}
}

// size is the number of functions.
func (b basis) size() int { return b.degree + 1 + b.waves }

// at sets into to the values of all functions at x.
func (b basis) at(x float64, into []float64) {
	t := (x - b.centre) / b.half
	p0, p1 := 1.0, t
	for k := 0; k <= b.degree; k++ {
		into[k] = p0
		// Bonnet's recurrence: (k+2) P(k+2) = (2k+3) t P(k+1) - (k+1) P(k).
		p0, p1 = p1, (float64(2*k+3)*t*p1-float64(k+1)*p0)/float64(k+2)
	}
	// Sines of multiples of one angle by the same kind of recurrence.
	angle := math.Pi * (t + margin) / (2 * margin)
	s0, s1, twice := 0.0, math.Sin(angle), 2*math.Cos(angle)
	for k := range b.waves {
		into[b.degree+1+k] = s1 / math.Sqrt(margin)
		s0, s1 = s1, twice*s1-s0
	}
}

// prior returns the prior variances of the sine waves for a process of unit variance and the given length, in
// half-widths of the readings' interval: the spectral density of the squared exponential at each wave's frequency.
func (b basis) prior(length float64) []float64 {
	v := make([]float64, b.waves)
	for k := range v {
		w := math.Pi * float64(k+1) / (2 * margin)
		v[k] = math.Sqrt(2*math.Pi) * length * math.Exp(-w*w*length*length/2)
	}
	return v
}
