package curve

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Grid returns the positions at which the curve has to be looked at between low and high to see its extremes: both
// ends, the readings, and points between readings, closer than a quarter of the texture's period where there is
// texture.
func (c *Curve) Grid(low, high float64) []float64 {
	xs := []float64{low}
	for _, r := range c.readings {
		if r.At > low && r.At < high {
			xs = append(xs, r.At)
		}
	}
	if high > low {
		xs = append(xs, high)
	}
	out := xs[:1:1]
	for i := 1; i < len(xs); i++ {
		h := xs[i] - xs[i-1]
		n := 2 // the smooth part alone
		switch {
		case c.texture.Period > 0:
			n = min(int(math.Ceil(4*h/c.texture.Period)), 64)
		case len(xs) < 20:
			n = 4
		}
		for k := 1; k <= n; k++ {
			out = append(out, xs[i-1]+h*float64(k)/float64(n))
		}
		out[len(out)-1] = xs[i]
	}
	return out
}

// At returns the expected curve and its standard uncertainty at the given positions, the texture between readings
// included.
func (c *Curve) At(xs []float64) (mean, standard []float64) {
	mean, standard = make([]float64, len(xs)), make([]float64, len(xs))
	row := make([]float64, c.basis.size())
	for i, x := range xs {
		c.basis.at(x, row)
		texture := c.texture.standard(x)
		mean[i] = dot(row, c.pooled.mean)
		standard[i] = math.Sqrt(max(quadratic(c.pooled.covariance, row), 0) + texture*texture + c.pooled.excess)
	}
	return mean, standard
}

// Sample draws n curves from the distribution that the readings leave, each at all the given positions. Equal arguments
// give equal curves.
func (c *Curve) Sample(xs []float64, n int, seed uint64) [][]float64 {
	out, _ := c.sample(xs, n, seed, c.readings)
	return out
}

// Apart draws as Sample does, but smooth curves and texture apart, and a texture that the readings do not determine, as
// that of a sweep which was not measured: nil for a curve that has none.
func (c *Curve) Apart(xs []float64, n int, seed uint64) (smooth, texture [][]float64) {
	texture, smooth = c.sample(xs, n, seed, nil)
	for k, draw := range texture {
		if smooth[k] == nil {
			texture[k], smooth[k] = nil, draw
			continue
		}
		for i := range draw {
			draw[i] -= smooth[k][i]
		}
	}
	return smooth, texture
}

// sample returns the curves, and the same without their texture, nil where there is none. by are the readings that may
// determine the texture.
func (c *Curve) sample(xs []float64, n int, seed uint64, by []Reading) (out, smooth [][]float64) {
	rng := rand.New(rand.NewPCG(seed, 0xc0a5))
	cumulated := 0.0
	type excess struct{ structure, noise float64 } // variances
	known := map[excess]*rough{}
	var to room
	out, smooth = make([][]float64, 0, n), make([][]float64, 0, n)
	for i, k := range c.mixture {
		cumulated += k.weight
		upTo := int(math.Round(cumulated * float64(n)))
		if i == len(c.mixture)-1 {
			upTo = n
		}
		// Scatter beyond the stated noise may be structure of the curve or noise that nobody stated, and readings that
		// each stand alone cannot tell: half of the curves have it one way, half the other.
		as := []excess{{k.excess, 0}, {0, k.excess}}
		if k.excess == 0 {
			as = as[:1]
		}
		for h, e := range as {
			if known[e] == nil {
				known[e] = c.rough(e.structure, e.noise, xs, by)
			}
			s := c.sampler(k, xs, known[e], &to)
			for end := len(out) + (upTo-len(out))/(len(as)-h); len(out) < end; {
				whole, part := s.draw(rng)
				out, smooth = append(out, whole), append(smooth, part)
			}
		}
	}
	return out, smooth
}

// rough is what the readings leave open of the texture at some positions.
type rough struct {
	near    []int      // readings that bear on it
	weights *mat.Dense // the texture expected from the residuals of these readings; nil without any
	left    *mat.Cholesky
}

// rough works out how the residuals of the readings nearby determine the texture at the positions, and what is left
// open then: simple kriging with the texture's covariance. The variances are those of structure at each position, and
// of noise of each reading, beyond what is stated. It returns an empty value where there is no texture.
func (c *Curve) rough(structure, noise float64, xs []float64, by []Reading) *rough {
	r := &rough{}
	if c.texture.Standard == nil && structure == 0 {
		return r
	}
	for i, reading := range by {
		if slices.ContainsFunc(xs, func(x float64) bool { return math.Abs(x-reading.At) <= c.texture.Period }) {
			r.near = append(r.near, i)
		}
	}
	covariance := func(x, y float64) float64 {
		v := c.texture.standard(x) * c.texture.standard(y) * c.texture.correlation(x-y)
		if x == y {
			v += structure
		}
		return v
	}
	g, n := len(xs), len(r.near)
	left := mat.NewSymDense(g, nil)
	for i := range g {
		for j := i; j < g; j++ {
			left.SetSym(i, j, covariance(xs[i], xs[j]))
		}
	}
	if n > 0 {
		own, cross := mat.NewSymDense(n, nil), mat.NewDense(n, g, nil)
		for i, a := range r.near {
			ra := c.readings[a]
			for j := i; j < n; j++ {
				own.SetSym(i, j, covariance(ra.At, c.readings[r.near[j]].At))
			}
			own.SetSym(i, i, own.At(i, i)+ra.Noise*ra.Noise+noise)
			for j, x := range xs {
				cross.Set(i, j, covariance(ra.At, x))
			}
		}
		var chol mat.Cholesky
		var w, taken mat.Dense
		if chol.Factorize(own) {
			if err := chol.SolveTo(&w, cross); err == nil || isCondition(err) {
				r.weights = mat.DenseCopyOf(w.T())
				taken.Mul(r.weights, cross)
				for i := range g {
					for j := i; j < g; j++ {
						left.SetSym(i, j, left.At(i, j)-(taken.At(i, j)+taken.At(j, i))/2)
					}
				}
			}
		}
	}
	r.left = factorized(left)
	return r
}

// factorized returns the Cholesky factors of a covariance that rounding may have made slightly indefinite.
func factorized(a *mat.SymDense) *mat.Cholesky {
	n := a.SymmetricDim()
	trace := 0.0
	for i := range n {
		a.SetSym(i, i, max(a.At(i, i), 0))
		trace += a.At(i, i)
	}
	var chol mat.Cholesky
	for more := 1e-10 * (trace/float64(n) + math.SmallestNonzeroFloat64); ; more *= 10 {
		for i := range n {
			a.SetSym(i, i, a.At(i, i)+more)
		}
		if chol.Factorize(a) {
			return &chol
		}
	}
}

// sampler draws from one component.
type sampler struct {
	k         component
	upper     mat.TriDense // of the coefficients' precision
	rows      [][]float64  // functions at the positions
	rough     *rough
	nearRows  [][]float64
	values    []float64 // of the readings near
	coeff, z  []float64
	residuals []float64
	room      *room
}

// room hands out slices of one piece of memory: the curves drawn are thousands.
type room struct{ left []float64 }

func (r *room) take(n int) []float64 {
	if len(r.left) < n {
		r.left = make([]float64, max(64*n, 1))
	}
	out := r.left[:n:n]
	r.left = r.left[n:]
	return out
}

func (c *Curve) sampler(k component, xs []float64, r *rough, to *room) *sampler {
	s := &sampler{k: k, rough: r, room: to, coeff: make([]float64, k.size), z: make([]float64, len(xs))}
	s.residuals = make([]float64, len(r.near))
	k.chol.UTo(&s.upper)
	row := func(x float64) []float64 {
		all := make([]float64, c.basis.size())
		c.basis.at(x, all)
		return all[:k.size]
	}
	for _, x := range xs {
		s.rows = append(s.rows, row(x))
	}
	for _, i := range r.near {
		s.nearRows = append(s.nearRows, row(c.readings[i].At))
		s.values = append(s.values, c.readings[i].Value)
	}
	return s
}

func isCondition(err error) bool {
	_, ok := err.(mat.Condition)
	return ok
}

// draw returns a curve, and the same without its texture; nil where it has none.
func (s *sampler) draw(rng *rand.Rand) (out, smooth []float64) {
	// Coefficients: mean + U^-1 z, with the precision U^T U.
	for i := range s.coeff {
		s.coeff[i] = rng.NormFloat64()
	}
	raw := s.upper.RawTriangular()
	for i := len(s.coeff) - 1; i >= 0; i-- {
		v := s.coeff[i]
		for j := i + 1; j < len(s.coeff); j++ {
			v -= raw.Data[i*raw.Stride+j] * s.coeff[j]
		}
		s.coeff[i] = v / raw.Data[i*raw.Stride+i]
	}
	for i, m := range s.k.mean {
		s.coeff[i] += m
	}
	smooth = s.room.take(len(s.rows))
	for i, r := range s.rows {
		smooth[i] = dot(r, s.coeff)
	}
	if s.rough.left == nil {
		return smooth, nil
	}
	out = s.room.take(len(s.rows))
	copy(out, smooth)
	for i := range s.z {
		s.z[i] = rng.NormFloat64()
	}
	u := s.rough.left.RawU().(*mat.TriDense).RawTriangular()
	for i := range s.z {
		// U^T z: the lower factor's rows are the columns of U.
		sum := 0.0
		for j := 0; j <= i; j++ {
			sum += u.Data[j*u.Stride+i] * s.z[j]
		}
		out[i] += sum
	}
	if s.rough.weights == nil {
		return out, smooth
	}
	for i, r := range s.nearRows {
		s.residuals[i] = s.values[i] - dot(r, s.coeff)
	}
	for i := range out {
		out[i] += dot(s.rough.weights.RawRowView(i), s.residuals)
	}
	return out, smooth
}

// Extreme is an extreme of a curve over an interval, as a distribution.
type Extreme struct {
	Draws    []float64 // the extreme of each curve drawn, in the order of drawing
	At       float64   // the position where the extreme of the expected curve lies
	Expected float64   // the extreme of the expected curve
	// Smooth is Draws without the texture, and Level the extreme of the expected curve without it.
	Smooth []float64
	Level  float64
}

// Excess is by how much the greatest of several noisy extremes, which are merged draw by draw, lies above the greatest
// of what is noisy in them: smooth are the merged draws without texture, level is the greatest of their levels. Where
// extremes are alike noise chooses among them, and the one chosen lies too high; those drawn about it lie by as much
// higher again (see Greatest). Where one exceeds the others it is nothing.
func Excess(smooth []float64, level float64) float64 {
	sorted := slices.Clone(smooth)
	slices.Sort(sorted)
	return 2 * max(Quantile(sorted, 0.5)-level, 0)
}

// Quantile returns the value that a proportion p of the values, which are in rising order, does not exceed. There must
// be two values or more.
func Quantile(sorted []float64, p float64) float64 {
	n := len(sorted)
	x := p*float64(n) - 0.5
	i := min(max(int(math.Floor(x)), 0), n-2)
	return sorted[i] + min(max(x-float64(i), 0), 1)*(sorted[i+1]-sorted[i])
}

// most bounds the positions among which an extreme is sought in every draw.
const most = 150

// Leading returns the positions that can reach a value of at least least, in rising order: the ones that can reach most
// where there are too many.
func Leading(xs []float64, reach func(i int) float64, least float64) []float64 {
	type position struct{ x, reach float64 }
	var all []position
	for i, x := range xs {
		if r := reach(i); r >= least {
			all = append(all, position{x, r})
		}
	}
	if len(all) > most {
		slices.SortStableFunc(all, func(a, b position) int { return cmp.Compare(b.reach, a.reach) })
		all = all[:most]
	}
	at := make([]float64, len(all))
	for i, p := range all {
		at[i] = p.x
	}
	slices.Sort(at)
	return at
}

// Far is how many standard uncertainties below the leading position another must lie to play no part in an extreme.
const Far = 4.5

// Line is how a value follows the curve at one position: Offset + Slope f. It is what makes an amount of a departure
// from a model.
type Line struct{ Offset, Slope float64 }

// Of returns the value where the curve is at f.
func (l Line) Of(f float64) float64 { return l.Offset + l.Slope*f }

// Above returns the value where the curve is off its mean by so much to the side on which the value is greater.
func (l Line) Above(mean, off float64) float64 {
	if l.Slope < 0 {
		off = -off
	}
	return l.Of(mean + off)
}

// Greatest returns the greatest value over [low, high], where line says how the value follows the curve at x; for the
// least hand over the negative. n curves are drawn.
func (c *Curve) Greatest(low, high float64, line func(x float64) Line, n int, seed uint64) Extreme {
	xs := c.Grid(low, high)
	mean, standard := c.At(xs)
	lines := make([]Line, len(xs))
	e := Extreme{Expected: math.Inf(-1)}
	least := math.Inf(-1)
	for i, x := range xs {
		lines[i] = line(x)
		if v := lines[i].Of(mean[i]); v > e.Expected {
			e.Expected, e.At = v, x
		}
		least = max(least, lines[i].Above(mean[i], -Far*standard[i]))
	}
	at := Leading(xs, func(i int) float64 { return lines[i].Above(mean[i], Far*standard[i]) }, least)
	lines = lines[:0]
	for _, x := range at {
		lines = append(lines, line(x))
	}
	whole, smooth := c.sample(at, n, seed, c.readings)
	e.Draws = make([]float64, n)
	plain := make([]float64, n)
	for k, draw := range whole {
		e.Draws[k] = top(lines, draw)
		if plain[k] = e.Draws[k]; smooth[k] != nil {
			plain[k] = top(lines, smooth[k])
		}
	}
	// Of a curve that is nearly level, noise chooses the place of the extreme: that of the expected curve lies too
	// high, and those of the curves drawn by as much again. Both are taken off, as a bootstrap estimates a bias (B.
	// Efron and R. J. Tibshirani, An Introduction to the Bootstrap, Chapman and Hall 1993, chapter 10). Where the
	// extreme has one place, it is nothing.
	e.Level = c.smoothest(at, lines)
	bias := Excess(plain, e.Level)
	for k := range e.Draws {
		e.Draws[k] -= bias
		plain[k] -= bias
	}
	e.Smooth = plain
	e.Expected -= bias / 2
	e.Level -= bias / 2
	return e
}

// top returns the greatest value along a curve.
func top(lines []Line, curve []float64) float64 {
	most := math.Inf(-1)
	for i, f := range curve {
		most = max(most, lines[i].Of(f))
	}
	return most
}

// smoothest returns the greatest value of the expected curve without texture.
func (c *Curve) smoothest(at []float64, lines []Line) float64 {
	row := make([]float64, c.basis.size())
	most := math.Inf(-1)
	for i, x := range at {
		c.basis.at(x, row)
		most = max(most, lines[i].Of(dot(row, c.pooled.mean)))
	}
	return most
}
