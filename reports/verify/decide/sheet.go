package decide

import (
	"cmp"
	"context"
	"math"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/curve"
	"wedgework/reports/limits"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// The readings of one sweep, and the curve that is laid through them.

// sheet is the readings of one sweep with the curve through them.
type sheet struct {
	quantity    limits.Quantity
	run         int
	temperature quantity.Temperature
	obs         []candidate // in rising order of wavelength
	curve       *curve.Curve
	shape       shape
}

// shape is what the model says along a sweep.
type shape struct {
	at    []float64 // nm, in rising order
	value []float64 // in the scale of the quantity, for the worst polarization
	least float64   // below it an amplitude's scale does not follow the model
}

// amplitudeShare is the least leakage, as a share of the sweep's greatest, whose amplitude scales the departure of
// readings from the model. Nearer to the null the scale stays: a departure there has no bearing on the extreme.
const amplitudeShare = 1e-3

// degree is that of the free polynomial, on top of the model's shape: an error of rotation and one of its coefficient
// make a parabola of leakage; other quantities depart from the model by an offset, and by more where the readings show
// it.
func degree(q limits.Quantity) int {
	if q.Reading() == limits.Isolation {
		return 2
	}
	return 0
}

// scale is the unit in which departures from the model are alike all over a sweep: twice the amplitude for a power, as
// d(y^2) = 2 y dy; 1 for the rest.
func (s *shape) scale(q limits.Quantity, value float64) float64 {
	if readings.ScaleOf(q) == readings.Power {
		return 2 * math.Sqrt(max(value, s.least))
	}
	return 1
}

// of interpolates the shape, which is evaluated at every position that is asked for.
func (s *shape) of(x float64) float64 {
	i, found := slices.BinarySearch(s.at, x)
	if !found {
		i = min(max(i, 1), len(s.at)-1)
		w := (x - s.at[i-1]) / (s.at[i] - s.at[i-1])
		return s.value[i-1] + w*(s.value[i]-s.value[i-1])
	}
	return s.value[i]
}

func nm(l quantity.Length) float64 { return float64(l / quantity.Nanometre) }

// lay lays a curve through every sweep of every quantity that has enough readings for one: all its readings, for those
// outside a band support the curve at its ends.
func (e *Evidence) lay(ctx context.Context) error {
	var all []*sheet
	for _, q := range e.quantities() {
		by := map[int]*sheet{}
		for _, c := range e.candidates(everywhere(q)) {
			if by[c.run] == nil {
				by[c.run] = &sheet{quantity: q, run: c.run, temperature: e.Runs[c.run].Temperature}
				all = append(all, by[c.run])
			}
			by[c.run].obs = append(by[c.run].obs, c)
		}
	}
	if err := parallel.Each(len(all), func(k int) error { return e.through(ctx, all[k]) }); err != nil {
		return err
	}
	all = slices.DeleteFunc(all, func(s *sheet) bool { return s.curve == nil })
	slices.SortStableFunc(all, func(a, b *sheet) int { return cmp.Compare(a.temperature, b.temperature) })
	e.laid = all
	return nil
}

// quantities are those that curves are laid for: all that were read, and what limits are set on.
func (e *Evidence) quantities() []limits.Quantity {
	all := slices.Clone(limits.Quantities)
	for _, l := range e.Limits {
		if !slices.Contains(all, l.Quantity) {
			all = append(all, l.Quantity)
		}
	}
	return all
}

// everywhere is a limit over all wavelengths and temperatures.
func everywhere(q limits.Quantity) limits.Limit {
	return limits.Limit{Quantity: q, AtLeast: q.Reading() == limits.Isolation, High: math.MaxFloat64,
		TemperatureHigh: math.MaxFloat64}
}

// sheets returns the curves that a limit applies to, in rising order of temperature.
func (e *Evidence) sheets(l limits.Limit) []*sheet {
	var all []*sheet
	for _, s := range e.laid {
		if s.quantity == l.Quantity && l.Covers(l.Low, s.temperature, readings.TemperatureMargin) {
			all = append(all, s)
		}
	}
	return all
}

// Scatter returns how the readings of each sweep scatter about their curve.
func (e *Evidence) Scatter() []readings.SweepScatter {
	var all []readings.SweepScatter
	for _, s := range e.laid {
		if s.quantity != s.quantity.Reading() {
			continue // the same readings
		}
		all = append(all, readings.SweepScatter{Quantity: s.quantity, Temperature: s.temperature,
			Scatter: s.curve.Scatter()})
	}
	return all
}

// through fits the curve of one sweep.
func (e *Evidence) through(ctx context.Context, s *sheet) error {
	q := s.quantity
	slices.SortStableFunc(s.obs, func(a, b candidate) int { return cmp.Compare(a.l, b.l) })
	var xs []float64
	var kept []candidate
	for _, c := range s.obs {
		if !(q.Reading() == limits.Isolation && e.Outlying.Has(c.obs)) {
			kept = append(kept, c)
			xs = append(xs, nm(c.l))
		}
	}
	if len(kept) == 0 {
		return nil
	}
	m, err := e.model(ctx, q, s.temperature, xs)
	if err != nil {
		return err
	}
	s.shape = *m
	s.shape.least = amplitudeShare * slices.Max(m.value)
	var rs []curve.Reading
	beside := map[quantity.Length]int{}
	for _, c := range kept {
		beside[c.l]++
	}
	for _, c := range kept {
		rs = append(rs, e.departure(q, &s.shape, c, beside[c.l]))
	}
	texture, err := e.texture(ctx, q, s)
	if err != nil {
		return err
	}
	d := degree(q)
	for d > 0 && len(s.shape.at) < curve.MinReadings(d)+1 {
		d--
	}
	if len(s.shape.at) < curve.MinReadings(d) {
		return nil
	}
	s.curve, err = curve.Fit(rs, curve.Shape{Degree: d, Texture: texture, Shortest: max(nm(e.Smooth), s.shortest())})
	return err
}

// shortest is the least length, in nm, over which a curve departs from the model's shape; 0 leaves it to the readings.
// Noise on a square that is near zero is that of a chi-squared distribution: a few great readings side by side are
// often chance, but not by a normal distribution, which would make a bump of them. What a part does apart from ripple
// changes over half a sweep; anything finer counts as texture and widens the interval, wherever it lies.
func (s *sheet) shortest() float64 {
	if readings.ScaleOf(s.quantity) != readings.Square {
		return 0
	}
	at := s.shape.at
	return 0.99 * (at[len(at)-1] - at[0]) / 2
}

// departure is a reading as the curve takes it: less the model, in the scale of the shape; n readings stand at its
// wavelength.
func (e *Evidence) departure(q limits.Quantity, s *shape, c candidate, n int) curve.Reading {
	g := s.of(nm(c.l))
	scale := s.scale(q, g)
	v, u := e.Values[c.obs], e.CurveNoise(c.obs, n)
	if readings.ScaleOf(q) == readings.Power {
		k := quantity.Ratio(-c.correction) // from the mean over polarization to the worst
		v, u = v*k, u*k
		if e.Obs[c.obs].Bound { // anything from nothing to the bound
			v, u = v/2, math.Hypot(u, v/math.Sqrt(12))
		}
	} else {
		v += c.correction
		if pdl := e.Rows[e.Obs[c.obs].Row].Of(limits.PDL); c.correction != 0 && pdl != nil && !math.IsNaN(pdl.U) {
			ratio := quantity.Ratio(pdl.Unbiased()) // the way to the worst moves with the PDL by T1 / (T1 + T2)
			if q == limits.InsertionLossMin {
				ratio = 1 / ratio // and to the best by T2 / (T1 + T2)
			}
			u = math.Hypot(u, pdl.U*ratio/(1+ratio))
		}
	}
	return curve.Reading{At: nm(c.l), Value: (v - g) / scale, Noise: u / scale}
}

// model evaluates the selected model along a sweep, for the worst polarization.
func (e *Evidence) model(ctx context.Context, q limits.Quantity, t quantity.Temperature, xs []float64) (*shape, error) {
	xs = slices.Clone(xs)
	slices.Sort(xs)
	xs = slices.Compact(xs)
	ls := make([]quantity.Length, len(xs))
	for i, x := range xs {
		ls[i] = quantity.Length(x) * quantity.Nanometre
	}
	values, err := predict.Worst(ctx, e.Best.Model, q, ls, t)
	return &shape{at: xs, value: values}, err
}

// texture is what double reflections leave open between readings, in the scale of the shape. Ripple that noise hides by
// far plays no part.
func (e *Evidence) texture(ctx context.Context, q limits.Quantity, s *sheet) (curve.Texture, error) {
	none := curve.Texture{}
	switch {
	case readings.ScaleOf(q) == readings.Square:
		return e.waves(ctx, q, s)
	case q.Reading() != limits.Isolation: // what reflections interfere by is in the scatter of the readings
		return none, nil
	}
	xs := s.shape.at
	ls := make([]quantity.Length, len(xs))
	for i, x := range xs {
		ls[i] = quantity.Length(x) * quantity.Nanometre
	}
	ripple, err := e.Best.Model.Ripple(ctx, ls, s.temperature)
	if err != nil {
		return none, err
	}
	u := shape{at: xs, value: make([]float64, len(xs))}
	most := 0.0
	for i, r := range ripple {
		standard := r.T1
		if q == limits.IsolationMean {
			standard = r.Mean
		}
		u.value[i] = standard / s.shape.scale(q, s.shape.value[i])
		most = max(most, u.value[i])
	}
	noise := 0.0
	for _, c := range s.obs {
		noise = max(noise, e.departure(q, &s.shape, c, 1).Noise)
	}
	if most < hidden*noise {
		return none, nil
	}
	period, err := e.fringe(ctx)
	if err != nil || period == 0 {
		return none, err
	}
	return curve.Texture{Standard: u.of, Period: nm(period)}, nil
}

// waves is the texture of a PDL or DGD. A step over which a delay was measured averages ripple out, so that the
// readings need not show it; and noise that hides it in one reading averages out over many, as the extremes of ripple
// do not.
func (e *Evidence) waves(ctx context.Context, q limits.Quantity, s *sheet) (curve.Texture, error) {
	all, err := model.WavesOf(ctx, e.Best.Model, s.obs[0].l, s.obs[len(s.obs)-1].l, s.temperature)
	w := all.PDL
	if q == limits.DGD {
		w = all.DGD
	}
	noise, n := math.Inf(1), float64(len(s.obs))
	beyond := -3 * w.Component * w.Component // what ripple adds to the mean square is not the level it acts at
	for _, c := range s.obs {
		r := e.departure(q, &s.shape, c, 1)
		noise = min(noise, r.Noise)
		beyond += r.Value / n
	}
	beyond = max(beyond-noise/math.Sqrt(n), 0) // as far as the readings show it
	standard := func(x float64) float64 {
		return readings.Square.Moved(w.Component, s.shape.of(x)+beyond)
	}
	if err != nil || w.Period == 0 || standard(nm(s.obs[0].l)) < hidden*noise/math.Sqrt(n) {
		return curve.Texture{}, err
	}
	return curve.Texture{Standard: standard, Period: nm(w.Period)}, nil
}

// hidden is the share of the noise below which ripple is left out: it would widen an interval by a thousandth.
const hidden = 0.05

// fringe is the period of ripple, which hardly depends on where it is asked for: it is found once, at the middle of the
// first sweep, so that what comes of it does not depend on which curve is laid first.
func (e *Evidence) fringe(ctx context.Context) (quantity.Length, error) {
	e.fringes.Do(func() {
		r := e.Runs[0]
		e.period, e.fringeError = model.Fringe(ctx, e.Best.Model, (r.Low+r.High)/2, r.Temperature)
	})
	return e.period, e.fringeError
}

// line is how the quantity of a limit, greatest on the limit's side, follows the curve's departure from the shape.
func (s *shape) line(l limits.Limit, x float64) curve.Line {
	g := s.of(x)
	return curve.Line{Offset: sense(l) * g, Slope: sense(l) * s.scale(l.Quantity, g)}
}
