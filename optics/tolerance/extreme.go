package tolerance

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// Region is a quantity over a band of wavelengths and a range of temperatures, each of which may be a single one.
type Region struct {
	Quantity         string // as in Figure
	Low, High        quantity.Length
	Coldest, Warmest quantity.Temperature
}

// Extreme is the worst of a quantity in a region.
type Extreme struct {
	Value       float64 // dB, a DGD in seconds; NaN where the quantity has no value, such as the DGD of a polarizer
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	// Fringes is how many periods of interference between rays the band holds that the scan does not resolve; 0 where
	// it resolves them.
	Fringes float64
}

const (
	// bandScan and rangeScan are the fewest points of a scan: films, crystals and coatings vary over tens of nm and K.
	bandScan, rangeScan = 33, 17
	// perFringe is how many points resolve a period of interference, and mostScan how many a band has at most.
	perFringe, mostScan = 8, 2401
	// faint is how far below the strongest ray, in dB, one no longer moves a figure by interference: 0.02 dB at most.
	faint = 60
	// climbed is from how many of the highest points of the scan the extreme is sought, and zooms how often at most a
	// window about the highest is halved: from 1 nm to 0.2 pm.
	climbed, zooms = 6, 13
	window         = 5 // points of a window in each direction
)

// Worst finds the worst value over the whole region, not that of a grid: a scan that resolves the interference between
// rays, and from its highest points windows that are halved until the figure no longer changes. Double reflections add
// in power. An error is the context's, that of a region without extent, or that of a wavelength or temperature outside
// what a material is known for.
func (r Region) Worst(ctx context.Context, s *stack.Stack) (Extreme, error) {
	if !(r.High >= r.Low) || !(r.Warmest >= r.Coldest) {
		return Extreme{}, fmt.Errorf("%s: the band and the range of temperatures must rise", r.Quantity)
	}
	z := &zoom{Region: r, ctx: stack.Quiet(ctx), stack: averaged(s)}
	points, fringes, err := r.points(z.stack)
	if err != nil {
		return Extreme{}, err
	}
	ls, ts := Spaced(r.Low, r.High, points), Spaced(r.Coldest, r.Warmest, rangeScan)
	scan, err := z.grid(ls, ts)
	if err != nil {
		return Extreme{}, err
	}
	best := z.tops(scan, len(ls))
	out := best[0]
	for _, top := range best[:min(len(best), climbed)] {
		x, err := z.climb(top, spacing(ls), spacing(ts))
		if err != nil {
			return Extreme{}, err
		}
		if z.height(x) > z.height(out) {
			out = x
		}
	}
	out.Fringes = fringes
	return out, nil
}

// averaged is the stack without the ripple of double reflections: a fraction of a wavelength moves its fringes away.
func averaged(s *stack.Stack) *stack.Stack {
	if s.Ghosts() == stack.GhostsNone {
		return s
	}
	return s.WithGhosts(stack.GhostsIncoherent)
}

// zoom is a search for an extreme under way.
type zoom struct {
	Region
	ctx   context.Context
	stack *stack.Stack
}

// height is what is greatest at the extreme; where there is no value it is beyond all others.
func (z *zoom) height(x Extreme) float64 {
	switch {
	case math.IsNaN(x.Value):
		return math.Inf(1)
	case Figure{Quantity: z.Quantity}.Least():
		return -x.Value
	}
	return x.Value
}

// grid evaluates the figure at every point, temperature by temperature.
func (z *zoom) grid(ls []quantity.Length, ts []quantity.Temperature) ([]Extreme, error) {
	f := Figure{Quantity: z.Quantity, Wavelengths: ls, Temperatures: ts}
	values, err := f.each(z.ctx, z.stack)
	if err != nil {
		return nil, err
	}
	all := make([]Extreme, 0, len(values))
	for i, t := range ts {
		for k, l := range ls {
			all = append(all, Extreme{Value: values[i*len(ls)+k], Wavelength: l, Temperature: t})
		}
	}
	return all, nil
}

// each returns the figure at every point: temperature by temperature, in dB, a DGD in seconds.
func (f Figure) each(ctx context.Context, s *stack.Stack) ([]float64, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	values, err := f.evaluate(ctx, s)
	if err != nil {
		return nil, err
	}
	var all []float64
	for n := f.entries(); len(values) > 0; values = values[n:] {
		all = append(all, f.worst(values[:n]))
	}
	return all, nil
}

// Each returns the figure of a stack at every point, temperature by temperature: dB, a DGD in seconds. Double
// reflections add in power. Errors are as of Worst.
func Each(ctx context.Context, s *stack.Stack, f Figure) ([]float64, error) {
	return f.each(stack.Quiet(ctx), averaged(s))
}

// tops are the points of a scan that are as high as all their neighbours, the highest first; a row is the points of one
// temperature.
func (z *zoom) tops(scan []Extreme, row int) []Extreme {
	rows := len(scan) / row
	var all []Extreme
	for i := range rows {
		for k := range row {
			here, top := z.height(scan[i*row+k]), true
			for di := -1; di <= 1 && top; di++ {
				for dk := -1; dk <= 1 && top; dk++ {
					if j, m := i+di, k+dk; j >= 0 && j < rows && m >= 0 && m < row {
						top = here >= z.height(scan[j*row+m])
					}
				}
			}
			if top {
				all = append(all, scan[i*row+k])
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Extreme) int { return cmp.Compare(z.height(b), z.height(a)) })
	return all
}

// climb halves a window about the highest point until what lies in it differs by less than anyone could use.
func (z *zoom) climb(top Extreme, dl quantity.Length, dt quantity.Temperature) (Extreme, error) {
	enough := Figure{Quantity: z.Quantity}.Resolution() / 100
	for range zooms {
		ls := Spaced(max(z.Low, top.Wavelength-dl), min(z.High, top.Wavelength+dl), window)
		ts := Spaced(max(z.Coldest, top.Temperature-dt), min(z.Warmest, top.Temperature+dt), window)
		all, err := z.grid(ls, ts)
		if err != nil {
			return top, err
		}
		low, high := math.Inf(1), math.Inf(-1)
		for _, x := range all {
			if z.height(x) > z.height(top) {
				top = x
			}
			low, high = min(low, z.height(x)), max(high, z.height(x))
		}
		if !(high-low > enough) || math.IsInf(high, 1) {
			break
		}
		dl, dt = dl/2, dt/2
	}
	return top, nil
}

// points is how many wavelengths the scan takes, and how many periods of interference are beyond it. Rays that arrive a
// delay apart interfere with a period of l^2/(c delay) in wavelength.
func (r Region) points(s *stack.Stack) (n int, fringes float64, err error) {
	if r.High == r.Low {
		return 1, 0, nil
	}
	d := stack.Forward
	if (Figure{Quantity: r.Quantity}).backward() {
		d = stack.Backward
	}
	paths, err := s.WithGhosts(stack.GhostsNone).Paths(d, (r.Low+r.High)/2, (r.Coldest+r.Warmest)/2)
	if err != nil {
		return 0, 0, err
	}
	strongest, first, last := math.Inf(1), math.Inf(1), math.Inf(-1)
	for _, p := range paths {
		strongest = min(strongest, p.Power)
	}
	for _, p := range paths {
		if p.Power <= strongest+faint {
			first, last = min(first, p.Delay), max(last, p.Delay)
		}
	}
	periods := 0.0
	if delay := last - first; delay > 0 {
		periods = quantity.LightSpeed * delay * float64(1/r.Low-1/r.High)
	}
	n = max(bandScan, 1+int(math.Ceil(perFringe*min(periods, mostScan))))
	if n > mostScan {
		return mostScan, periods, nil
	}
	return n, 0, nil
}

// Spaced is n evenly spaced values, the ends included; one where the ends are equal.
func Spaced[T ~float64](low, high T, n int) []T {
	if !(high > low) || n < 2 {
		return []T{low}
	}
	all := make([]T, n)
	for i := range all {
		all[i] = low + (high-low)*T(i)/T(n-1)
	}
	all[n-1] = high
	return all
}

// spacing is the distance of two neighbours of a scan.
func spacing[T ~float64](all []T) T {
	if len(all) < 2 {
		return 0
	}
	return all[1] - all[0]
}
