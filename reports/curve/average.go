package curve

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// component is the curve for one choice of the smooth process and of the excess texture, with its weight.
type component struct {
	weight float64
	excess float64 // variance of the texture beyond the stated one
	size   int     // functions used: the polynomial alone, or all
	mean   []float64
	chol   *mat.Cholesky // of the coefficients' precision
}

// Scatter compares how the readings scatter about the smooth part of the curve with their stated noise.
type Scatter struct {
	// ChiSquared is the sum of the squared residuals over the stated variances (noise and stated texture);
	// Freedom the readings less the coefficients that they determine. PValue is the probability of so large a
	// value if the stated noise is true (chi-squared distribution; the effective degrees of freedom make it an
	// approximation for few readings).
	ChiSquared, Freedom, PValue float64
	// Observed is the standard deviation of a reading about the smooth curve that the readings show, Stated the
	// root of the mean stated variance, in the unit of the values.
	Observed, Stated float64
}

// Scatter returns the comparison of the readings' scatter with their stated noise.
func (c *Curve) Scatter() Scatter { return c.scatter }

// The grid of standard deviations and lengths that is averaged over. Each is a factor of 2 or 3 from the next, within
// which the curve's interval changes little.
var (
	lengths    = []float64{0.15, 0.4, 1, 2} // of the smooth process, in half-widths of the readings' interval
	deviations = []float64{0.3, 1, 3, 10, 30, 100, 300}
	excesses   = []float64{0, 0.5, 1, 2, 4, 8, 16, 32} // standard deviations, in typical noise
)

// Prior odds of the hypotheses that an honest bench makes likely: no excess scatter, and no departure from the
// polynomial. They act only where the readings say nothing.
const (
	noExcess    = 0.7
	noDeparture = 0.5
	negligible  = 1e-3 // weight of a choice, relative to the greatest, that is dropped
	decided     = 7    // difference of log likelihoods beyond which a choice plays no part
)

// diffuse is the prior variance of polynomial coefficients, in squares of the spread of the readings.
const diffuse = 1e6

// average fits the curve for each choice on the grid and keeps those that the readings make likely.
func (c *Curve) average() {
	n, m := len(c.readings), c.basis.size()
	rows := mat.NewDense(n, m, nil)
	noise := make([]float64, n)
	for i, r := range c.readings {
		c.basis.at(r.At, rows.RawRowView(i))
		noise[i] = r.Noise
	}
	typical := median(noise)
	spread := c.spread(rows)
	all, logs := c.choices(rows, typical, spread)
	c.judge(rows, all, logs)
	c.keep(all, logs)
	c.pool()
}

// choices fits the curve for each choice on the grid, with the logarithm of its weight but for a constant.
func (c *Curve) choices(rows *mat.Dense, typical, spread float64) (all []component, logs []float64) {
	free := diffuse * (spread*spread + typical*typical)
	for _, e := range excesses {
		if e > 0 && e*typical > 4*spread {
			break
		}
		excess := math.Pow(e*typical, 2)
		s := c.sums(rows, excess)
		before := len(logs)
		consider := func(deviation, length, prior float64) {
			if k, log, ok := s.fit(c.basis, deviation, length, free); ok {
				k.excess = excess
				logs = append(logs, log+math.Log(prior))
				all = append(all, k)
			}
		}
		odds := noExcess
		if e > 0 {
			odds = (1 - noExcess) / float64(len(excesses)-1)
		}
		consider(0, 0, odds*noDeparture)
		for _, d := range deviations {
			if d*typical > 8*spread {
				break
			}
			for i, l := range lengths {
				if l*c.basis.half < c.shortest && i < len(lengths)-1 {
					continue
				}
				consider(d*typical, l, odds*(1-noDeparture)/float64(len(deviations)*len(lengths)))
			}
		}
		if before > 0 && slices.Max(logs[before:]) < slices.Max(logs)-decided {
			break // the likelihood has one maximum over the excess
		}
	}
	return all, logs
}

// keep normalizes the weights and keeps the choices that the readings make likely.
func (c *Curve) keep(all []component, logs []float64) {
	c.mixture = nil
	best := slices.Max(logs)
	sum := 0.0
	for i, k := range all {
		k.weight = math.Exp(logs[i] - best)
		if k.weight > negligible {
			c.mixture = append(c.mixture, k)
			sum += k.weight
		}
	}
	for i := range c.mixture {
		c.mixture[i].weight /= sum
	}
}

// pooled is the mixture's coefficients as one distribution: their mean and covariance, and the mean excess variance.
type pooled struct {
	mean       []float64
	covariance *mat.SymDense
	excess     float64
}

// pool takes the components together: the covariance is the mean of theirs and the scatter of their means (law of
// total covariance), so that a point of the curve costs one quadratic form however many components there are.
func (c *Curve) pool() {
	n := c.basis.size()
	p := pooled{mean: make([]float64, n), covariance: mat.NewSymDense(n, nil)}
	for _, k := range c.mixture {
		for i, m := range k.mean {
			p.mean[i] += k.weight * m
		}
		p.excess += k.weight * k.excess
	}
	away := mat.NewVecDense(n, nil)
	for _, k := range c.mixture {
		for i := range n {
			m := -p.mean[i]
			if i < k.size {
				m += k.mean[i]
			}
			away.SetVec(i, m)
		}
		p.covariance.SymRankOne(p.covariance, k.weight, away)
		own := k.covariance()
		for i := range k.size {
			for j := i; j < k.size; j++ {
				p.covariance.SetSym(i, j, p.covariance.At(i, j)+k.weight*own.At(i, j))
			}
		}
	}
	c.pooled = p
}

// judge compares residuals with the stated noise about the likeliest curve without excess.
func (c *Curve) judge(rows *mat.Dense, all []component, logs []float64) {
	best := -1
	for i, k := range all {
		if k.excess == 0 && (best < 0 || logs[i] > logs[best]) {
			best = i
		}
	}
	k := all[best]
	covariance := k.covariance()
	var s Scatter
	used := 0.0
	for i, r := range c.readings {
		v := r.Noise*r.Noise + math.Pow(c.texture.standard(r.At), 2)
		row := rows.RawRowView(i)[:k.size]
		e := r.Value - dot(row, k.mean)
		s.ChiSquared += e * e / v
		s.Observed += e * e
		s.Stated += v
		used += quadratic(covariance, row) / v // the leverage of the reading
	}
	n := float64(len(c.readings))
	s.Freedom = max(n-used, 0)
	s.Stated = math.Sqrt(s.Stated / n)
	if s.Freedom > 0 {
		s.Observed = math.Sqrt(s.Observed / s.Freedom)
		s.PValue = distuv.ChiSquared{K: s.Freedom}.Survival(s.ChiSquared)
	} else {
		s.Observed, s.PValue = s.Stated, 1
	}
	c.scatter = s
}

// spread is the standard deviation of the readings about the polynomial alone, at least the typical noise.
func (c *Curve) spread(rows *mat.Dense) float64 {
	d := c.basis.degree + 1
	n := len(c.readings)
	var qr mat.QR
	a := mat.NewDense(n, d, nil)
	y := mat.NewVecDense(n, nil)
	noise := make([]float64, n)
	for i, r := range c.readings {
		a.SetRow(i, rows.RawRowView(i)[:d])
		y.SetVec(i, r.Value)
		noise[i] = r.Noise
	}
	qr.Factorize(a)
	var x, p mat.VecDense
	least := median(noise)
	if qr.SolveVecTo(&x, false, y) != nil {
		return max(least, mat.Norm(y, 2)/math.Sqrt(float64(n)))
	}
	p.MulVec(a, &x)
	p.SubVec(y, &p)
	return max(least, mat.Norm(&p, 2)/math.Sqrt(float64(max(n-d, 1))))
}

func median(v []float64) float64 {
	v = slices.Clone(v)
	slices.Sort(v)
	return v[len(v)/2]
}

// sums are what all fits with one variance of the readings share.
type sums struct {
	normal *mat.SymDense // B^T W B
	right  []float64     // B^T W y
	square float64       // y^T W y
	logs   float64       // sum of the logarithms of the variances
}

func (c *Curve) sums(rows *mat.Dense, excess float64) *sums {
	m := c.basis.size()
	s := &sums{normal: mat.NewSymDense(m, nil), right: make([]float64, m)}
	a := s.normal.RawSymmetric()
	for i, r := range c.readings {
		v := r.Noise*r.Noise + math.Pow(c.texture.standard(r.At), 2) + excess
		row := rows.RawRowView(i)
		for j, b := range row {
			w := b / v
			s.right[j] += w * r.Value
			line := a.Data[j*a.Stride : j*a.Stride+m]
			for k := j; k < m; k++ {
				line[k] += w * row[k]
			}
		}
		s.square += r.Value * r.Value / v
		s.logs += math.Log(v)
	}
	return s
}

// fit returns the coefficients' distribution and the logarithm of the marginal likelihood, but for a constant.
func (s *sums) fit(b basis, deviation, length, free float64) (component, float64, bool) {
	size := b.degree + 1
	var prior []float64
	if deviation > 0 {
		prior = b.prior(length)
		for len(prior) > 0 && deviation*deviation*prior[len(prior)-1] < 1e-12*prior[0]*deviation*deviation {
			prior = prior[:len(prior)-1] // waves too fine for this length
		}
		size += len(prior)
	}
	a := mat.NewSymDense(size, nil)
	for i := range size {
		for j := i; j < size; j++ {
			a.SetSym(i, j, s.normal.At(i, j))
		}
	}
	logs := 0.0
	for i := range size {
		v := free
		if i > b.degree {
			v = deviation * deviation * prior[i-b.degree-1]
		}
		a.SetSym(i, i, a.At(i, i)+1/v)
		logs += math.Log(v)
	}
	k := component{size: size, chol: &mat.Cholesky{}}
	if !k.chol.Factorize(a) || math.IsInf(k.chol.Cond(), 1) {
		return k, 0, false
	}
	var x mat.VecDense
	right := mat.NewVecDense(size, s.right[:size])
	if err := k.chol.SolveVecTo(&x, right); err != nil {
		if _, poor := err.(mat.Condition); !poor {
			return k, 0, false
		}
	}
	k.mean = slices.Clone(x.RawVector().Data)
	return k, -(s.square - mat.Dot(&x, right) + k.chol.LogDet() + logs + s.logs) / 2, true
}

// covariance of the coefficients. It is defined, since fit lets no singular precision through.
func (k component) covariance() *mat.SymDense {
	var c mat.SymDense
	_ = k.chol.InverseTo(&c) // the error only tells of a condition number that is great but finite
	return &c
}

// quadratic is the variance of a sum of coefficients with the given factors.
func quadratic(c *mat.SymDense, row []float64) float64 {
	raw := c.RawSymmetric()
	sum := 0.0
	for i, f := range row {
		line := raw.Data[i*raw.Stride : i*raw.Stride+len(row)]
		sum += f * (line[i]*f + 2*dot(line[i+1:], row[i+1:]))
	}
	return sum
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
