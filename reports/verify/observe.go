package verify

import (
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
)

// observation is one reading of one quantity, in the terms in which it is compared: backward the leak
// power net of the floor, forward the loss in dB.
type observation struct {
	row      int // of Readings
	run      int
	backward bool
	l        quantity.Length
	t        quantity.Temperature
	read     float64 // dB, as read
	gross    float64 // leak power as read
	value    float64 // net leak power, or loss in dB
	column   float64 // standard uncertainty from the file in dB; NaN if it has none
	bound    bool    // the file says that the isolation is at least read: gross and value are the most they can be
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
	for _, backward := range []bool{true, false} {
		for i, row := range r.Rows {
			o := observation{row: i, run: runOf[i], backward: backward, l: row.Wavelength, t: row.Temperature,
				read: row.InsertionLoss, value: row.InsertionLoss, column: row.ULoss}
			if backward {
				o.read, o.column, o.bound = row.Isolation, row.UIsolation, row.AtLeast
				o.gross = quantity.Ratio(-o.read)
				o.value = o.gross
				if d.floor != nil {
					o.value -= d.floor.Power
				}
			}
			switch {
			case math.IsNaN(o.read):
				continue
			case backward:
				d.runs[o.run].Isolations++
				d.back++
			default:
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

// perDecibel is the relative change of a power per decibel, ln(10)/10.
const perDecibel = math.Ln10 / 10

// figure picks from a transmission what the observation is compared with.
func (d *data) figure(o *observation, t Transmission) float64 {
	switch {
	case o.backward && d.scrambled:
		return t.Mean()
	case o.backward:
		return t.T1
	case d.scrambled:
		return -quantity.Decibels(t.Mean())
	}
	return -quantity.Decibels(t.T2)
}
