package readings

import (
	"cmp"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
)

// Observation is one reading of one quantity, in the terms in which it is compared: an isolation as the leakage
// power net of the floor, an insertion loss in dB.
type Observation struct {
	Row         int // of Readings
	Run         int
	Quantity    limits.Quantity // limits.Isolation or limits.InsertionLoss
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Read        float64 // dB, as read
	Power       float64 // of the leakage as read, the floor included
	Value       float64 // net leakage power, or loss in dB
	// standard uncertainty from the file in dB that no other reading shares; NaN if it has none
	Stated float64
	Common []measured.Term // errors that the file says it shares with others, dB
	// the file says that the isolation is at least read: power and value are the most they can be
	Bound bool
}

// Backward reports whether the light was sent backward: an isolation.
func (o *Observation) Backward() bool { return o.Quantity == limits.Isolation }

// columns are the quantities of which a file's readings are compared with a model, in the order of a set's
// observations, each with how a row gives it: read in dB, standard uncertainty in dB, and whether it is a bound.
var columns = []struct {
	quantity limits.Quantity
	of       func(r *Reading) (read, u float64, bound bool)
	common   func(r *Reading) []measured.Term
}{
	{limits.Isolation, func(r *Reading) (read, u float64, bound bool) { return r.Isolation, r.UIsolation, r.AtLeast },
		func(r *Reading) []measured.Term { return r.CommonIsolation }},
	{limits.InsertionLoss, func(r *Reading) (read, u float64, bound bool) { return r.InsertionLoss, r.ULoss, false },
		func(r *Reading) []measured.Term { return r.CommonLoss }},
}

// Set is the measurement sorted out: backward observations first, each part in the order of the file.
type Set struct {
	Readings
	Runs      []Sweep
	RunOf     []int // of each row
	Obs       []Observation
	Back      int // how many are backward
	Floor     *FloorUsed
	Scrambled bool // readings are means over polarization; of losses MeanLoss says it
}

// Quantities names them.
func Quantities() []limits.Quantity {
	var all []limits.Quantity
	for _, c := range columns {
		all = append(all, c.quantity)
	}
	return all
}

// NewSet sorts the readings into runs and observations and takes the floor off.
func NewSet(r Readings, floor *uncertainty.Floor) *Set {
	// What was not stated is compared as if it were scrambled; the data-quality verdict says that it was
	// not stated.
	d := &Set{Readings: r, Scrambled: r.Polarization != MinMax}
	d.MeanLoss = d.MeanLoss || d.Scrambled
	if floor != nil {
		d.Floor = subtract(floor)
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
		d.Runs = append(d.Runs, w)
	}
	d.RunOf = runOf
	for _, q := range columns {
		for i := range r.Rows {
			row := &r.Rows[i]
			o := Observation{Row: i, Run: runOf[i], Quantity: q.quantity, Wavelength: row.Wavelength,
				Temperature: row.Temperature}
			if o.Read, o.Stated, o.Bound = q.of(row); math.IsNaN(o.Read) {
				continue
			}
			o.Value, o.Common = o.Read, q.common(row)
			switch q.quantity {
			case limits.Isolation:
				o.Power = quantity.Ratio(-o.Read)
				o.Value = o.Power
				if d.Floor != nil {
					o.Value -= d.Floor.Power
				}
				d.Runs[o.Run].Isolations++
				d.Back++
			case limits.InsertionLoss:
				d.Runs[o.Run].Losses++
			}
			d.Obs = append(d.Obs, o)
		}
	}
	return d
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

// Powers returns the leakage powers as read.
func (d *Set) Powers() []float64 {
	level := make([]float64, len(d.Obs))
	for i, o := range d.Obs {
		level[i] = o.Power
	}
	return level
}
