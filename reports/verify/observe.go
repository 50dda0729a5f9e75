package verify

import (
	"cmp"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
)

// observation is one reading of one quantity, in the terms in which it is compared: an isolation as the leakage
// power net of the floor, an insertion loss in dB.
type observation struct {
	row      int // of Readings
	run      int
	quantity string // limits.Isolation or limits.InsertionLoss
	l        quantity.Length
	t        quantity.Temperature
	read     float64 // dB, as read
	power    float64 // of the leakage as read, the floor included
	value    float64 // net leakage power, or loss in dB
	column   float64 // standard uncertainty from the file in dB; NaN if it has none
	bound    bool    // the file says that the isolation is at least read: power and value are the most they can be
}

// backward reports whether the light was sent backward: an isolation.
func (o *observation) backward() bool { return o.quantity == limits.Isolation }

// observed are the quantities of which a file's readings are compared with a model, in the order of a data's observations,
// each with how a row gives it: read in dB, standard uncertainty in dB, and whether it is a bound.
var observed = []struct {
	quantity string
	of       func(r *Reading) (read, u float64, bound bool)
}{
	{limits.Isolation, func(r *Reading) (read, u float64, bound bool) { return r.Isolation, r.UIsolation, r.AtLeast }},
	{limits.InsertionLoss, func(r *Reading) (read, u float64, bound bool) { return r.InsertionLoss, r.ULoss, false }},
}

// data is the measurement sorted out: backward observations first, each part in the order of the file.
type data struct {
	Readings
	runs      []Sweep
	obs       []observation
	back      int // how many are backward
	floor     *FloorUsed
	scrambled bool // readings are means over polarization
}

// observe sorts the readings into runs and observations and takes the floor off.
func observe(r Readings, floor *uncertainty.Floor) *data {
	// What was not stated is compared as if it were scrambled; the data-quality verdict says that it was
	// not stated.
	d := &data{Readings: r, scrambled: r.Polarization != MinMax}
	if floor != nil {
		d.floor = subtract(floor)
	}
	ts, ls := make([]quantity.Temperature, len(r.Rows)), make([]quantity.Length, len(r.Rows))
	for i, row := range r.Rows {
		ts[i], ls[i] = row.Temperature, row.Wavelength
	}
	runOf := make([]int, len(r.Rows))
	for n, rows := range measured.RunsOf(ts, ls) {
		w := Sweep{Low: ls[rows[0]], High: ls[rows[0]]}
		sum := 0.0
		for _, i := range rows {
			runOf[i] = n
			sum += float64(ts[i])
			w.Low, w.High = min(w.Low, ls[i]), max(w.High, ls[i])
		}
		w.Temperature = quantity.Temperature(sum / float64(len(rows)))
		d.runs = append(d.runs, w)
	}
	for _, q := range observed {
		for i := range r.Rows {
			row := &r.Rows[i]
			o := observation{row: i, run: runOf[i], quantity: q.quantity, l: row.Wavelength, t: row.Temperature}
			if o.read, o.column, o.bound = q.of(row); math.IsNaN(o.read) {
				continue
			}
			o.value = o.read
			switch q.quantity {
			case limits.Isolation:
				o.power = quantity.Ratio(-o.read)
				o.value = o.power
				if d.floor != nil {
					o.value -= d.floor.Power
				}
				d.runs[o.run].Isolations++
				d.back++
			case limits.InsertionLoss:
				d.runs[o.run].Losses++
			}
			d.obs = append(d.obs, o)
		}
	}
	return d
}

// backward is the measurement without its losses.
func (d *data) backward() *data {
	c := *d
	c.obs = d.obs[:d.back]
	return &c
}

// subtract states the floor as a power. A level whose uncertainty nobody stated is taken to lie anywhere
// between none and twice its power: rectangular, its half-width the power itself.
func subtract(f *uncertainty.Floor) *FloorUsed {
	p := quantity.Ratio(-f.Level.SI())
	used := &FloorUsed{Level: f.Level.SI(), Power: p, Standard: p / math.Sqrt(3)}
	if f.Uncertainty.Value > 0 {
		used.Stated = true
		used.Standard = p * perDecibel * f.Uncertainty.SI()
	}
	return used
}

// sorted lists the backward observations of a run by wavelength.
func (d *data) sorted(run int) []int {
	var all []int
	for i, o := range d.obs[:d.back] {
		if o.run == run {
			all = append(all, i)
		}
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(d.obs[a].l, d.obs[b].l) })
	return all
}

// powers returns the leak powers as read.
func (d *data) powers() []float64 {
	level := make([]float64, len(d.obs))
	for i, o := range d.obs {
		level[i] = o.power
	}
	return level
}
