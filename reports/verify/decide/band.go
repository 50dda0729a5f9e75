package decide

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/curve"
	"wedgework/reports/limits"
	"wedgework/reports/verify/readings"
)

// A figure of a limit belongs to the limit's band and range of temperatures, not to the readings that lie there. It is
// the extreme of curves laid through the readings, one a sweep: the selected model gives their shape, and package curve
// what the readings add to it, with the uncertainty that noise and spacing leave between and beyond them.

// band is the extreme of a limit's quantity over its band and temperatures, for the worst polarization.
type band struct {
	candidate           // the reading nearest to the extreme: errors common to many readings act on the figure as on it
	extreme   []float64 // draws, in rising order, in the scale of the quantity; of a power net of the floor
}

// bandDraws settle an end of the coverage interval to a twentieth of the standard uncertainty.
const bandDraws = 2000

// sense is 1 where a limit is on the greatest amount, -1 where on the least. The amount of an isolation is a leakage,
// of a return loss what comes back.
func sense(l limits.Limit) float64 {
	if l.AtLeast == (readings.ScaleOf(l.Quantity) == readings.Power) {
		return 1
	}
	return -1
}

// over returns the extreme of a limit's quantity over its band and temperatures; nil where no sweep carries a curve.
func (e *Evidence) over(ctx context.Context, l limits.Limit) (*band, error) {
	sheets := e.sheets(l)
	if len(sheets) == 0 {
		return nil, nil
	}
	found := make([]curve.Extreme, len(sheets))
	if err := parallel.Each(len(sheets), func(k int) (err error) {
		found[k], err = e.extreme(ctx, l, sheets[k])
		return err
	}); err != nil {
		return nil, err
	}
	b := &band{}
	worst := 0
	var all merged
	for k, x := range found {
		all.merge(x)
		if x.Expected > found[worst].Expected {
			worst = k
		}
	}
	top := found[worst]
	b.candidate = sheets[worst].nearest(top.At)
	b.t = sheets[worst].temperature
	for k := 1; k < len(sheets); k++ {
		for _, w := range []float64{0.25, 0.5, 0.75} {
			x, t, err := e.between(ctx, l, sheets[k-1], sheets[k], w, top.Expected)
			if err != nil {
				return nil, err
			}
			if len(x.Draws) == 0 {
				continue
			}
			all.merge(x)
			if x.Expected > top.Expected {
				top, b.candidate, b.t = x, sheets[k].nearest(x.At), t
			}
		}
	}
	b.l = quantity.Length(top.At) * quantity.Nanometre
	b.extreme = all.draws
	if readings.ScaleOf(l.Quantity) == readings.Square {
		all.rippled()
	}
	for i := range b.extreme {
		b.extreme[i] *= sense(l)
	}
	slices.Sort(b.extreme)

	b.nonnegative(l.Quantity)
	b.value, _ = b.figure(l.Quantity)
	return b, nil
}

// nonnegative lifts the distribution of a square whose middle lies below zero until it lies there: nothing is the
// likeliest of what can be, and an interval about less would end short of values that the readings do not exclude, or
// hold nothing but zero.
func (b *band) nonnegative(q limits.Quantity) {
	if readings.ScaleOf(q) != readings.Square {
		return
	}
	if middle := curve.Quantile(b.extreme, 0.5); middle < 0 {
		for i := range b.extreme {
			b.extreme[i] -= middle
		}
	}
}

// merged is the greatest of several extremes.
type merged struct {
	draws, smooth []float64
	level         float64
}

// merge takes the greater of every pair of draws.
func (m *merged) merge(x curve.Extreme) {
	if m.draws == nil {
		m.draws, m.smooth, m.level = slices.Clone(x.Draws), slices.Clone(x.Smooth), x.Level
		return
	}
	for i, v := range x.Draws {
		m.draws[i] = max(m.draws[i], v)
		m.smooth[i] = max(m.smooth[i], x.Smooth[i])
	}
	m.level = max(m.level, x.Level)
}

// rippled takes off what noise adds to the greatest of several squares, for at zero all sweeps are alike. It then
// leaves open how much ripple there is: the model states its mean over all phases, and those of thin gaps repeat so
// slowly that a band sees few of them. Any share is as likely, from none of it at the low end of the distribution to
// all of it at the high one.
func (m *merged) rippled() {
	excess := curve.Excess(m.smooth, m.level)
	slices.Sort(m.draws)
	slices.Sort(m.smooth)
	for i := range m.draws {
		share := (float64(i) + 0.5) / float64(len(m.draws))
		m.draws[i] = m.smooth[i] + share*(m.draws[i]-m.smooth[i]) - excess
	}
}

// nearest returns the reading nearest to a wavelength in nm.
func (s *sheet) nearest(x float64) candidate {
	best := s.obs[0]
	for _, c := range s.obs {
		if math.Abs(nm(c.l)-x) < math.Abs(nm(best.l)-x) {
			best = c
		}
	}
	return best
}

// extreme of one sweep over the band; the model's shape is evaluated wherever the curve will be.
func (e *Evidence) extreme(ctx context.Context, l limits.Limit, s *sheet) (curve.Extreme, error) {
	m, err := e.model(ctx, l.Quantity, s.temperature, s.curve.Grid(nm(l.Low), nm(l.High)))
	if err != nil {
		return curve.Extreme{}, err
	}
	m.least = s.shape.least
	return s.curve.Greatest(nm(l.Low), nm(l.High), func(x float64) curve.Line { return m.line(l, x) }, bandDraws,
		uint64(s.run)), nil
}

// between returns the extreme at a temperature between two sweeps, where it can exceed what is known of the sweeps: by
// the model's shape there, from which the curves of both sweeps are taken to depart in proportion to their nearness.
// What they differ by is uncertain between them as a Brownian bridge is: w(1-w) of its square.
func (e *Evidence) between(ctx context.Context, l limits.Limit, a, b *sheet, w,
	known float64) (curve.Extreme, quantity.Temperature, error) {
	t := a.temperature + quantity.Temperature(w)*(b.temperature-a.temperature)
	none := curve.Extreme{}
	if b.temperature-a.temperature <= 2*readings.TemperatureMargin {
		return none, t, nil
	}
	xs := a.curve.Grid(nm(l.Low), nm(l.High))
	m, err := e.model(ctx, l.Quantity, t, xs)
	if err != nil {
		return none, t, err
	}
	m.least = max(a.shape.least, b.shape.least)
	meanA, uA := a.curve.At(xs)
	meanB, uB := b.curve.At(xs)
	bridge := 0.0
	for i := range xs {
		bridge += (meanA[i] - meanB[i]) * (meanA[i] - meanB[i]) / float64(len(xs))
	}
	bridge = math.Sqrt(w * (1 - w) * bridge)
	lines := func(at []float64) []curve.Line {
		all := make([]curve.Line, len(at))
		for i, p := range at {
			all[i] = m.line(l, p)
		}
		return all
	}
	all := lines(xs)
	reach := func(i int) float64 {
		u := math.Sqrt((1-w)*(1-w)*uA[i]*uA[i] + w*w*uB[i]*uB[i] + bridge*bridge)
		return all[i].Above((1-w)*meanA[i]+w*meanB[i], curve.Far*u)
	}
	at := curve.Leading(xs, reach, known)
	if len(at) == 0 {
		return none, t, nil
	}
	x := curve.Extreme{Expected: math.Inf(-1), Draws: make([]float64, bandDraws), Smooth: make([]float64, bandDraws)}
	for i, p := range xs {
		if v := all[i].Of((1-w)*meanA[i] + w*meanB[i]); v > x.Expected {
			x.Expected, x.At = v, p
		}
	}
	x.Level = x.Expected
	all = lines(at)
	smooth, texture := blended(a, b, w, at)
	rng := rand.New(rand.NewPCG(uint64(a.run), 0xb41d))
	for k := range x.Draws {
		off := bridge * rng.NormFloat64()
		x.Draws[k], x.Smooth[k] = math.Inf(-1), math.Inf(-1)
		for i, line := range all {
			x.Draws[k] = max(x.Draws[k], line.Of(smooth[k][i]+texture[k][i]+off))
			x.Smooth[k] = max(x.Smooth[k], line.Of(smooth[k][i]+off))
		}
	}
	return x, t, nil
}

// blended draws curves between two sweeps: what is smooth from both in proportion, and ripple of its own, for a few
// kelvin change the phases of reflections.
func blended(a, b *sheet, w float64, at []float64) (smooth, texture [][]float64) {
	smooth, texture = a.curve.Apart(at, bandDraws, uint64(a.run))
	other, beside := b.curve.Apart(at, bandDraws, uint64(b.run))
	for k, draw := range smooth {
		both := make([]float64, len(at))
		for i := range draw {
			draw[i] = (1-w)*draw[i] + w*other[k][i]
			if texture[k] != nil {
				both[i] += math.Sqrt(1-w) * texture[k][i]
			}
			if beside[k] != nil {
				both[i] += math.Sqrt(w) * beside[k][i]
			}
		}
		texture[k] = both
	}
	return smooth, texture
}

// figure returns the median of the extreme in the unit of the quantity and the standard uncertainty that the curve
// leaves it.
func (b *band) figure(q limits.Quantity) (value, standard float64) {
	at := func(p float64) float64 { return readings.ScaleOf(q).Figure(curve.Quantile(b.extreme, p)) }
	value, standard = at(0.5), math.Abs(at(oneSigmaAbove)-at(1-oneSigmaAbove))/2
	if readings.ScaleOf(q) == readings.Square { // what lies below zero is cut off, and says nothing of the upper side
		standard = max(standard, at(oneSigmaAbove)-value)
	}
	return value, standard
}

// oneSigmaAbove is the probability of a normal value below its mean plus one standard deviation.
const oneSigmaAbove = 0.841344746068543
