package magnet

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/quantity"
)

// order is the number of Gauss-Legendre points per piece of a line, and deepest how often a piece may be
// halved. A piece is done when its two halves change it by less than converged of remanence times the length
// of the line; the error left is then far below, as the rule is of order 32.
const (
	order     = 16
	deepest   = 40
	converged = 1e-13
)

var rule = sync.OnceValue(func() (r struct{ x, w [order]float64 }) {
	quad.Legendre{}.FixedLocations(r.x[:], r.w[:], 0, 1)
	return r
})

// Integral returns the integral of Bz dz, in tesla metres, along the straight line between two points in
// metres: what a Verdet constant turns into a rotation. Its error is below 1e-12 of remanence times the
// length of the line. Parts of the line inside the magnet count like any other; a line that runs into an edge
// too closely to converge is an error.
func (r *Ring) Integral(from, to r3.Vec, t quantity.Temperature) (float64, error) {
	br, err := r.RemanenceAt(t)
	if err != nil {
		return 0, err
	}
	along := r3.Sub(to, from)
	if along.Z == 0 {
		return 0, nil
	}
	from.Z -= float64(r.Position)
	l := line{r, from, along}
	cuts := l.cuts()
	var sum float64
	for i := 1; i < len(cuts); i++ {
		whole := l.piece(cuts[i-1], cuts[i])
		part, ok := l.halve(cuts[i-1], cuts[i], whole, converged, deepest)
		if !ok {
			return 0, fmt.Errorf("magnet: the integral of its field from (%.6g, %.6g, %.6g) mm to (%.6g, %.6g, %.6g) "+
				"mm does not converge: the line meets an edge of the magnet", from.X*1e3, from.Y*1e3,
				(from.Z+float64(r.Position))*1e3,
				to.X*1e3, to.Y*1e3, to.Z*1e3)
		}
		sum += part
	}
	return br * along.Z * sum, nil
}

// line is from + u along, u from 0 to 1, relative to the magnet's centre.
type line struct {
	ring        *Ring
	from, along r3.Vec
}

// cuts returns the ends and where the line crosses a mantle, where Bz jumps, or the plane of an end, near
// which it changes fastest.
func (l line) cuts() []float64 {
	cuts := append(make([]float64, 0, 8), 0, 1)
	add := func(u float64) {
		if u > 0 && u < 1 {
			cuts = append(cuts, u)
		}
	}
	half := float64(l.ring.Length) / 2
	for _, z := range [2]float64{-half, half} {
		add((z - l.from.Z) / l.along.Z)
	}
	a := l.along.X*l.along.X + l.along.Y*l.along.Y
	b := l.from.X*l.along.X + l.from.Y*l.along.Y
	for _, radius := range [2]float64{float64(l.ring.Inner), float64(l.ring.Outer)} {
		c := l.from.X*l.from.X + l.from.Y*l.from.Y - radius*radius
		if d := b*b - a*c; a > 0 && d > 0 {
			// The root that adds, and its partner from the product: no cancellation.
			q := -(b + math.Copysign(math.Sqrt(d), b))
			add(q / a)
			add(c / q)
		}
	}
	slices.Sort(cuts)
	return cuts
}

func (l line) piece(u, v float64) (sum float64) {
	gauss := rule()
	for i, x := range gauss.x {
		at := r3.Add(l.from, r3.Scale(u+(v-u)*x, l.along))
		_, axial := l.ring.unit(math.Hypot(at.X, at.Y), at.Z)
		sum += gauss.w[i] * axial
	}
	return sum * (v - u)
}

// halve refines a piece whose integral is whole until its halves agree with it.
func (l line) halve(u, v, whole, within float64, depth int) (float64, bool) {
	middle := u + (v-u)/2
	left, right := l.piece(u, middle), l.piece(middle, v)
	switch change := math.Abs(left + right - whole); {
	case change <= within:
		return left + right, true
	case depth == 0 || math.IsNaN(change):
		return 0, false
	}
	// Not halving the bound with the piece: few pieces are refined, and their rule converges far faster.
	left, ok := l.halve(u, middle, left, within, depth-1)
	if !ok {
		return 0, false
	}
	right, ok = l.halve(middle, v, right, within, depth-1)
	return left + right, ok
}
