package predict

import (
	"context"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

// surface says by how much each trial differs from the model at the centre: of second order in the parameters as they
// are fitted (the leakage is the square of a sum of angles, and linear in an extinction ratio's fraction of light),
// known at a few wavelengths of each sweep and interpolated between them.
type surface struct {
	sweeps map[sweepKey]*lattice
	off    *mat.Dense // trials x nodes of all lattices
}

type sweepKey struct {
	quantity limits.Quantity
	run      int
}

// lattice holds the Chebyshev points of a sweep in wavelength and temperature. Where the temperature is steady there is
// one.
type lattice struct {
	low, high quantity.Length
	cold, hot quantity.Temperature
	ls, ts    int // intervals
	first     int // node of the surface
}

const (
	// nodeIntervals in wavelength: over 80 nm of a tuned stack the third already leaves 1e-6 of a difference.
	nodeIntervals = 7
	// driftIntervals and rampIntervals in temperature, for a run as steady as a chamber and for one that is not.
	driftIntervals = 2
	rampIntervals  = 4
)

func newLattice(g *group, first int) *lattice {
	n := &lattice{low: g.Ls[0], high: g.Ls[0], cold: g.Ts[0], hot: g.Ts[0], first: first}
	for i := range g.Ls {
		n.low, n.high = min(n.low, g.Ls[i]), max(n.high, g.Ls[i])
		n.cold, n.hot = min(n.cold, g.Ts[i]), max(n.hot, g.Ts[i])
	}
	if n.high > n.low {
		n.ls = nodeIntervals
	}
	switch d := float64(n.hot - n.cold); {
	case d > drift:
		n.ts = rampIntervals
	case d > 0:
		n.ts = driftIntervals
	}
	return n
}

func (n *lattice) size() int { return (n.ls + 1) * (n.ts + 1) }

// nodes returns its points as observations to be made.
func (n *lattice) nodes(g *group) []readings.Observation {
	var all []readings.Observation
	for _, y := range model.Nodes(n.ts) {
		for _, x := range model.Nodes(n.ls) {
			all = append(all, readings.Observation{Quantity: g.quantity, Run: g.run,
				Wavelength: n.low + (n.high-n.low)*quantity.Length((1+x)/2), Temperature: n.cold +
					(n.hot-n.cold)*quantity.Temperature((1+y)/2)})
		}
	}
	return all
}

// weights returns with what weight each node counts at a wavelength and temperature.
func (n *lattice) weights(l quantity.Length, t quantity.Temperature) []float64 {
	x, y := 0.0, 0.0
	if n.ls > 0 {
		x = model.Position(n.low, n.high, l)
	}
	if n.ts > 0 {
		y = float64((2*t - n.hot - n.cold) / (n.hot - n.cold))
	}
	along, across := basis(n.ls, x), basis(n.ts, y)
	all := make([]float64, 0, n.size())
	for _, b := range across {
		for _, a := range along {
			all = append(all, a*b)
		}
	}
	return all
}

// basis returns the values at x of the Lagrange polynomials of n+1 Chebyshev points, barycentric as in interpolate.
func basis(n int, x float64) []float64 {
	w := make([]float64, n+1)
	at := model.Nodes(n)
	sum, sign := 0.0, 1.0
	for k := range w {
		if x == at[k] || n == 0 {
			clear(w)
			w[k] = 1
			return w
		}
		w[k] = sign / (x - at[k])
		sign = -sign
		if k == 0 || k == n {
			w[k] /= 2
		}
		sum += w[k]
	}
	for k := range w {
		w[k] /= sum
	}
	return w
}

// between returns observations midway between the nodes of each sweep, and a node where there is only one.
func (s *surface) between(p *Batch) *Batch {
	var obs []readings.Observation
	for _, g := range p.Groups {
		n := s.sweeps[sweepKey{g.quantity, g.run}]
		odd := *n
		odd.ls, odd.ts = 2*n.ls, 2*n.ts
		for k, o := range odd.nodes(g) {
			if x, y := k%(odd.ls+1), k/(odd.ls+1); x%2 == min(n.ls, 1) && y%2 == min(n.ts, 1) {
				obs = append(obs, o)
			}
		}
	}
	return NewBatch(p.d, obs)
}

// newSurface evaluates a model with each parameter moved to either side, and each pair of them moved together.
func (s *Scatter) newSurface(ctx context.Context, m model.Model, p *Batch) (*surface, error) {
	out := &surface{sweeps: map[sweepKey]*lattice{}}
	var obs []readings.Observation
	for _, g := range p.Groups {
		n := newLattice(g, len(obs))
		out.sweeps[sweepKey{g.quantity, g.run}] = n
		obs = append(obs, n.nodes(g)...)
	}
	points := NewBatch(p.d, obs)
	centre, err := points.Predict(ctx, m)
	if err != nil {
		return nil, err
	}

	laid, err := s.sample.Lay(centre, func(x []float64) ([]float64, error) { return s.at(ctx, points, m, x) })
	if err != nil {
		return nil, err
	}
	out.off = laid.Differences(s.sample.Draws)
	return out, nil
}

// trials puts the values of all trials at the observations of a plan over the same sweeps, whose centre is given, into
// the places of each trial. No leakage is below none.
func (s *surface) trials(p *Batch, centre []float64, into [][]float64, places []int) {
	for _, g := range p.Groups {
		n := s.sweeps[sweepKey{g.quantity, g.run}]
		w := mat.NewDense(n.size(), len(g.at), nil)
		for k := range g.at {
			w.SetCol(k, n.weights(g.Ls[k], g.Ts[k]))
		}
		level := readings.ScaleOf(g.quantity) == readings.Level
		row := make([]float64, len(g.at))
		for t, trial := range into {
			clear(row)
			for node, off := range s.off.RawRowView(t)[n.first : n.first+n.size()] {
				floats.AddScaled(row, off, w.RawRowView(node))
			}
			for k, i := range g.at {
				v := centre[i] + row[k]
				if !level {
					v = max(v, 0)
				}
				trial[places[i]] = v
			}
		}
	}
}
