package tolerance

import (
	"cmp"
	"math"
	"math/big"
	"math/bits"
	"slices"
)

// Tally is what is kept of a figure of any number of units: how many lie in each of narrow cells, their sums, and the
// worst of them. All of it is whole numbers, so that tallies of parts of a study, in any order, add up to that of the
// whole to the bit.
type Tally struct {
	Count           int
	Least, Greatest float64     // dB, a DGD in seconds
	Worst           []WorstUnit // the worst first

	step    float64 // width of a cell
	least   bool    // the least values are the worst
	first   int     // number of the page that pages begins with
	pages   []*page // of cells; nil for one without units
	sum     wide    // of values in grains of a step
	squares wide
}

// page is some cells in a row: cell n is [n, n+1) step.
type page [1 << pageBits]uint32

// WorstUnit is one unit of a study.
type WorstUnit struct {
	Unit  int
	Value float64 // dB, a DGD in seconds
}

const (
	// mostWorst is how many of the worst units a tally keeps.
	mostWorst = 20
	pageBits  = 10
	// mostPages bounds a tally: values farther from the first ones are counted at its end. That is 2,000 dB, or 400 ps.
	mostPages = 1 << 10
	grains    = 1 << 20 // to a step
	// cell is the width of a cell over the figure's Resolution.
	cell = 4
)

// NewTally returns a tally of no units.
func (f Figure) NewTally() *Tally {
	return &Tally{step: cell * f.Resolution(), least: f.Least(), Least: math.Inf(1), Greatest: math.Inf(-1)}
}

// Add counts a unit.
func (t *Tally) Add(unit int, v float64) {
	t.Count++
	t.Least, t.Greatest = min(t.Least, v), max(t.Greatest, v)
	places := v / t.step
	*t.cell(int(math.Floor(places)))++
	n := int64(math.Round(places * grains))
	t.sum.add(n)
	t.squares.square(n)
	if len(t.Worst) == mostWorst {
		if last := t.Worst[mostWorst-1].Value; t.least && v > last || !t.least && v < last {
			return
		}
	}
	t.keep(WorstUnit{unit, v})
}

// cell returns a cell, room for it made.
func (t *Tally) cell(n int) *uint32 {
	k := n>>pageBits - t.first
	if uint(k) >= uint(len(t.pages)) || t.pages[k] == nil {
		k, n = t.open(n)
	}
	return &t.pages[k][n&(1<<pageBits-1)]
}

// open makes room for a cell, and returns its page and the cell that is counted in its place, itself but beyond
// mostPages.
func (t *Tally) open(n int) (k, cell int) {
	if len(t.pages) == 0 {
		t.first, t.pages = n>>pageBits, make([]*page, 1)
	}
	last := t.first + len(t.pages) - 1
	n = min(max(n, (last+1-mostPages)<<pageBits), (t.first+mostPages)<<pageBits-1)
	at := n >> pageBits
	if more := t.first - at; more > 0 {
		t.pages, t.first = slices.Insert(t.pages, 0, make([]*page, more)...), at
	}
	for t.first+len(t.pages) <= at {
		t.pages = append(t.pages, nil)
	}
	if t.pages[at-t.first] == nil {
		t.pages[at-t.first] = new(page)
	}
	return at - t.first, n
}

// compare orders units, the worse first, and of those alike the earlier.
func (t *Tally) compare(a, b WorstUnit) int {
	order := cmp.Compare(a.Value, b.Value)
	if !t.least {
		order = -order
	}
	if order == 0 {
		return cmp.Compare(a.Unit, b.Unit)
	}
	return order
}

func (t *Tally) keep(e WorstUnit) {
	at, _ := slices.BinarySearchFunc(t.Worst, e, t.compare)
	t.Worst = slices.Insert(t.Worst, at, e)
	t.Worst = t.Worst[:min(len(t.Worst), mostWorst)]
}

// Merge adds the units of another tally of the same figure.
func (t *Tally) Merge(u *Tally) {
	t.Count += u.Count
	t.Least, t.Greatest = min(t.Least, u.Least), max(t.Greatest, u.Greatest)
	u.each(func(cell int, units uint32) bool {
		*t.cell(cell) += units
		return true
	})
	t.sum.merge(u.sum)
	t.squares.merge(u.squares)
	for _, e := range u.Worst {
		t.keep(e)
	}
}

// Mean returns the mean of the units.
func (t *Tally) Mean() float64 {
	mean, _ := new(big.Float).Quo(t.sum.float(), big.NewFloat(float64(t.Count))).Float64()
	return mean * t.step / grains
}

// Deviation returns their standard deviation (n-1); 0 for a single unit.
func (t *Tally) Deviation() float64 {
	if t.Count < 2 {
		return 0
	}
	n := big.NewFloat(float64(t.Count))
	s := t.sum.float()
	mean := new(big.Float).Quo(new(big.Float).Mul(s, s), n)
	rest, _ := new(big.Float).Sub(t.squares.float(), mean).Float64()
	return math.Sqrt(max(rest, 0)/float64(t.Count-1)) * t.step / grains
}

// Quantile returns the value below which a share p, from 0 to 1, of the units lies, the units of a cell spread evenly
// over it: it is known to the width of a cell.
func (t *Tally) Quantile(p float64) float64 {
	place, below, v := p*float64(t.Count), 0.0, t.Greatest
	t.each(func(cell int, units uint32) bool {
		c := float64(units)
		if below+c >= place {
			v = (float64(cell) + (place-below)/c) * t.step
			return false
		}
		below += c
		return true
	})
	return min(max(v, t.Least), t.Greatest)
}

// each hands over the cells that hold units, in rising order, until it returns false.
func (t *Tally) each(f func(cell int, units uint32) bool) {
	for k, p := range t.pages {
		if p == nil {
			continue
		}
		for c, units := range p {
			if units > 0 && !f((t.first+k)<<pageBits+c, units) {
				return
			}
		}
	}
}

// wide is a whole number of 128 bits, with its sign.
type wide struct {
	High int64
	Low  uint64
}

func (w *wide) add(n int64) { w.merge(wide{n >> 63, uint64(n)}) }

func (w *wide) square(n int64) {
	u := uint64(max(n, -n))
	high, low := bits.Mul64(u, u)
	w.merge(wide{int64(high), low})
}

func (w *wide) merge(o wide) {
	low, carry := bits.Add64(w.Low, o.Low, 0)
	w.Low = low
	w.High += o.High + int64(carry)
}

func (w *wide) float() *big.Float {
	n := new(big.Int).Lsh(big.NewInt(w.High), 64)
	n.Add(n, new(big.Int).SetUint64(w.Low))
	return new(big.Float).SetPrec(256).SetInt(n)
}

// tallies count units, for one goroutine.
type tallies struct {
	figures []*Tally
	meets   func(figure int, value float64) bool
	good    []int
	all     int
}

func (w *study) newCount() *tallies {
	c := &tallies{meets: w.Good, good: make([]int, len(w.Figures))}
	for _, f := range w.Figures {
		c.figures = append(c.figures, f.NewTally())
	}
	return c
}

func (c *tallies) add(unit int, figures []float64) {
	all := c.meets != nil
	for k, v := range figures {
		c.figures[k].Add(unit, v)
		if c.meets == nil {
			continue
		}
		if c.meets(k, v) {
			c.good[k]++
		} else {
			all = false
		}
	}
	if all {
		c.all++
	}
}

// into adds what was counted to an outcome.
func (c *tallies) into(out *Outcome) {
	if out.Tallies == nil {
		out.Tallies, out.Good, out.AllGood = c.figures, c.good, c.all
		return
	}
	for k, t := range c.figures {
		out.Tallies[k].Merge(t)
		out.Good[k] += c.good[k]
	}
	out.AllGood += c.all
}
