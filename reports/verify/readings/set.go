package readings

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
)

// Observation is one reading of one quantity, in the scale in which the quantity is compared.
type Observation struct {
	Row         int // of Readings
	Run         int
	Quantity    limits.Quantity
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Step        [2]quantity.Length // wavelengths that a DGD was measured between; zero where not known
	Read        float64            // as read, in the unit of the quantity
	Value       float64            // in the scale, net of the floor or of the share of noise
	// Power is what errors are a fraction of: of a power that of the reading, the floor included, and of a square the
	// mean of the readings beside it.
	Power float64
	// Open is the half-width by which Value is uncertain because nobody says whether the instrument has taken off the
	// share of noise; of squares only.
	Open float64
	// standard uncertainty from the file, in the unit of the quantity, that no other reading shares; NaN if it has none
	Stated float64
	Common []measured.Term // errors that the file says it shares with others, in the unit of the quantity
	// the file says that the figure is at least read: power and value are the most they can be
	Bound bool
}

// Scale is that of the quantity.
func (o *Observation) Scale() Scale { return ScaleOf(o.Quantity) }

// Backward reports whether the light was sent backward: an isolation.
func (o *Observation) Backward() bool { return o.Quantity == limits.Isolation }

// PerLevel returns what one unit of error does to the observation's value, at a level of it.
func (o *Observation) PerLevel(level float64) float64 {
	if o.Scale() == Square {
		return 2 * Root(level)
	}
	return o.Scale().Moved(1, level)
}

// Set is the measurement sorted out: quantity by quantity in the order of limits.Quantities, so that isolations, which
// models are fitted to, come first; each in the order of the file.
type Set struct {
	Readings
	Runs      []Sweep
	RunOf     []int // of each row
	Obs       []Observation
	Back      int // how many are isolations
	Floor     *FloorUsed
	Scrambled bool // readings are means over polarization; of losses MeanLoss says it
	// Apart says of a quantity that was read why its readings are compared with nothing.
	Apart map[limits.Quantity]string
}

// NewSet sorts the readings into runs and observations, takes the floor off, and the share of noise of what cannot be
// negative.
func NewSet(r Readings, b uncertainty.Budget) *Set {
	// What was not stated is compared as if it were scrambled; the data-quality verdict says that it was
	// not stated.
	d := &Set{Readings: r, Scrambled: r.Polarization != MinMax, Apart: map[limits.Quantity]string{}}
	d.MeanLoss = d.MeanLoss || d.Scrambled
	if b.Floor != nil {
		d.Floor = subtract(b.Floor)
	}
	d.sortRuns()
	for _, q := range limits.Quantities {
		d.observe(q, b)
		if q == limits.Isolation {
			d.Back = len(d.Obs)
		}
	}
	return d
}

// sortRuns finds the sweeps.
func (d *Set) sortRuns() {
	rows := d.Rows
	ts, ls := make([]quantity.Temperature, len(rows)), make([]quantity.Length, len(rows))
	for i, row := range rows {
		ts[i], ls[i] = row.Temperature, row.Wavelength
	}
	d.RunOf = make([]int, len(rows))
	for n, rows := range measured.RunsOf(ts, ls) {
		w := Sweep{Low: ls[rows[0]], High: ls[rows[0]], Count: map[limits.Quantity]int{}}
		sum := 0.0
		for _, i := range rows {
			d.RunOf[i] = n
			sum += float64(ts[i])
			w.Low, w.High = min(w.Low, ls[i]), max(w.High, ls[i])
		}
		w.Temperature = quantity.Temperature(sum / float64(len(rows)))
		d.Runs = append(d.Runs, w)
	}
}

// observe adds the observations of one quantity. Where nothing is known of how well a PDL, a DGD or a return loss was
// read, none of its readings is compared; an isolation or a loss is then refused by those who make the terms.
func (d *Set) observe(q limits.Quantity, b uncertainty.Budget) {
	from := len(d.Obs)
	for i := range d.Rows {
		row := &d.Rows[i]
		f := row.Of(q)
		if f == nil {
			continue
		}
		o := Observation{Row: i, Run: d.RunOf[i], Quantity: q, Wavelength: row.Wavelength,
			Temperature: row.Temperature, Step: f.Step, Read: f.Value, Stated: f.U, Common: f.Common,
			Bound: f.AtLeast}
		o.Value = o.Scale().Value(o.Read)
		if o.Scale() == Power {
			o.Power = o.Value
		}
		if o.Backward() && d.Floor != nil {
			o.Value -= d.Floor.Power
		}
		d.Obs = append(d.Obs, o)
	}
	if q != limits.Isolation && q != limits.InsertionLoss {
		for i := range d.Obs[from:] {
			if !(d.Obs[from+i].PointNoise(b) > 0) {
				d.Apart[q] = fmt.Sprintf("the uncertainty of readings of %s is not stated (line %d): add %s to the "+
					"budget, or a column u(%s) to the file", q, d.Rows[d.Obs[from+i].Row].Line, stating(q), q)
				d.Obs = d.Obs[:from]
				return
			}
		}
	}
	if ScaleOf(q) == Square {
		d.unbias(from, b)
	}
	for _, o := range d.Obs[from:] {
		d.Runs[o.Run].Count[q]++
	}
}

// NotUsed lists all that the file holds and nothing is compared with.
func (d *Set) NotUsed() []string {
	all := slices.Clone(d.Unused)
	for _, q := range limits.Quantities {
		if why := d.Apart[q]; why != "" {
			n := 0
			for i := range d.Rows {
				if d.Rows[i].Of(q) != nil {
					n++
				}
			}
			all = append(all, fmt.Sprintf("%d readings of %s, for %s", n, q, why))
		}
	}
	return all
}

// stating is how a cell states the repeatability of a quantity.
func stating(q limits.Quantity) string {
	if q == limits.DGD {
		return "repeatability={\"dgd\": 0.005*ps}"
	}
	return fmt.Sprintf("repeatability={%q: 0.02*dB}", string(q))
}

// Backward is the measurement without its losses.
func (d *Set) Backward() *Set {
	c := *d
	c.Obs = d.Obs[:d.Back]
	return &c
}

// subtract states the floor as a power. A level whose uncertainty nobody stated is taken to lie anywhere
// between none and twice its power: rectangular, its half-width the power itself.
func subtract(f *uncertainty.Floor) *FloorUsed {
	p := quantity.Ratio(-f.Level.SI())
	used := &FloorUsed{Level: f.Level.SI(), Power: p, Standard: p / math.Sqrt(3)}
	if f.Uncertainty.Value > 0 {
		used.Stated = true
		used.Standard = p * PerDecibel * f.Uncertainty.SI()
	}
	return used
}

// Sorted lists the backward observations of a run by wavelength.
func (d *Set) Sorted(run int) []int {
	var all []int
	for i, o := range d.Obs[:d.Back] {
		if o.Run == run {
			all = append(all, i)
		}
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(d.Obs[a].Wavelength, d.Obs[b].Wavelength) })
	return all
}

// Powers returns what errors are a fraction of, as read.
func (d *Set) Powers() []float64 {
	level := make([]float64, len(d.Obs))
	for i, o := range d.Obs {
		level[i] = o.Power
	}
	return level
}
