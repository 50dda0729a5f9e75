package verify

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

// temperatureMargin is how far from a limit's temperatures a run may lie and still stand for them, in
// kelvin: what a chamber is off.
const temperatureMargin = 1.0

// within lists the observations a limit applies to.
func (d *data) within(l limits.Limit, q string) []int {
	var at []int
	for i, o := range d.obs {
		if o.quantity == q && l.Covers(o.l, o.t, temperatureMargin) {
			at = append(at, i)
		}
	}
	return at
}

// covered reports whether the readings span a limit's band at both ends of its temperatures, and what is
// missing.
func (d *data) covered(l limits.Limit, gap quantity.Length) (bool, string) {
	var missing []string
	ends := []quantity.Temperature{l.TemperatureLow}
	if l.TemperatureHigh != l.TemperatureLow {
		ends = append(ends, l.TemperatureHigh)
	}
	for _, t := range ends {
		run := -1
		for i, r := range d.runs {
			if math.Abs(float64(r.Temperature-t)) <= temperatureMargin && d.count(i, l.Quantity) > 0 {
				run = i
			}
		}
		if run < 0 {
			missing = append(missing, fmt.Sprintf("no %s reading within %g K of %s", spoken(l.Quantity), temperatureMargin, celsius(t)))
			continue
		}
		low, high := d.span(run, l.Quantity)
		if low > l.Low+gap {
			missing = append(missing, fmt.Sprintf("%s to %s at %s", nanometres(l.Low), nanometres(low), celsius(t)))
		}
		if high < l.High-gap {
			missing = append(missing, fmt.Sprintf("%s to %s at %s", nanometres(high), nanometres(l.High), celsius(t)))
		}
	}
	return len(missing) == 0, strings.Join(missing, "; ")
}

// wavelengths of the readings of one quantity in one run, in rising order.
func (d *data) wavelengths(run int, q string) []quantity.Length {
	var ls []quantity.Length
	for _, o := range d.obs {
		r := d.Rows[o.row]
		switch {
		case o.run != run:
		case o.quantity == q:
			ls = append(ls, o.l)
		case q == limits.PDL && o.quantity == limits.InsertionLoss && !math.IsNaN(r.PDL):
			ls = append(ls, o.l)
		}
	}
	slices.Sort(ls)
	return ls
}

func (d *data) count(run int, q string) int { return len(d.wavelengths(run, q)) }

func (d *data) span(run int, q string) (low, high quantity.Length) {
	ls := d.wavelengths(run, q)
	return ls[0], ls[len(ls)-1]
}
