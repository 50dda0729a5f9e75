package readings

import (
	"fmt"
	"slices"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify/text"
)

// TemperatureMargin is how far from a limit's temperatures a sweep may lie, in kelvin, and still be compared with it:
// what a chamber is off (a choice). A sweep that lies 1 K away is compared, by limits.Near.
const TemperatureMargin = 1.0

// Within lists the observations a limit applies to.
func (d *Set) Within(l limits.Limit, q limits.Quantity) []int {
	var at []int
	for i, o := range d.Obs {
		if o.Quantity == q && l.Covers(o.Wavelength, o.Temperature, TemperatureMargin) {
			at = append(at, i)
		}
	}
	return at
}

// Covered reports whether the readings carry a curve over a limit's band at both ends of its temperatures, and what is
// missing. Inside a band no two readings may lie further apart than gap, so that none of it is further than half of
// that from a reading; nor may its ends be.
func (d *Set) Covered(l limits.Limit, gap quantity.Length) (bool, string) {
	read := l.Quantity.Reading()
	if why := d.Apart[read]; why != "" {
		return false, why
	}
	var missing []string
	reach := gap/2 + slack
	ends := []quantity.Temperature{l.TemperatureLow}
	if l.TemperatureHigh != l.TemperatureLow {
		ends = append(ends, l.TemperatureHigh)
	}
	for _, t := range ends {
		run := -1
		for i, r := range d.Runs {
			if limits.Near(r.Temperature, t, t, TemperatureMargin) && r.Count[read] > 0 {
				run = i
			}
		}
		if run < 0 {
			missing = append(missing, fmt.Sprintf("no %s reading within %g K of %s", text.Spoken(read),
				TemperatureMargin, text.Celsius(t)))
			continue
		}
		ls := d.Wavelengths(run, read)
		low, high := ls[0], ls[len(ls)-1]
		for i := 1; i < len(ls); i++ {
			if a, b := max(ls[i-1], l.Low), min(ls[i], l.High); a < b && ls[i]-ls[i-1] > gap+2*slack {
				missing = append(missing, fmt.Sprintf("%s to %s at %s", text.Nanometres(a), text.Nanometres(b),
					text.Celsius(t)))
			}
		}
		if low > l.Low+reach {
			missing = append(missing, fmt.Sprintf("%s to %s at %s", text.Nanometres(l.Low), text.Nanometres(low),
				text.Celsius(t)))
		}
		if high < l.High-reach {
			missing = append(missing, fmt.Sprintf("%s to %s at %s", text.Nanometres(high), text.Nanometres(l.High),
				text.Celsius(t)))
		}
	}
	return len(missing) == 0, strings.Join(missing, "; ")
}

// slack is how far readings may be off the wavelengths that they are stated at: half a picometre, as in limits.
const slack = 0.5e-3 * quantity.Nanometre

// Wavelengths of the readings of one quantity in one run, in rising order.
func (d *Set) Wavelengths(run int, q limits.Quantity) []quantity.Length {
	var ls []quantity.Length
	for _, o := range d.Obs {
		if o.Run == run && o.Quantity == q {
			ls = append(ls, o.Wavelength)
		}
	}
	slices.Sort(ls)
	return ls
}

// Of lists the observations of a quantity in a run, in the order of the file.
func (d *Set) Of(run int, q limits.Quantity) []int {
	var all []int
	for i := range d.Obs {
		if d.Obs[i].Run == run && d.Obs[i].Quantity == q {
			all = append(all, i)
		}
	}
	return all
}

// LossReach is how far from the stated wavelength readings are averaged for the insertion loss.
const LossReach = 1 * quantity.Nanometre
