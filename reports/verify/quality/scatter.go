package quality

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// Of all scatters that an honest budget leads to, one set of sweeps in a thousand is called too large.
const scatterChance = 0.001

// generous is the observed share of the stated noise below which the budget is called generous.
const generous = 0.5

// scatter tests the readings against the noise that the file or the budget states for each: chi-squared about a smooth
// curve, and of repeated readings about their mean. The readings of the sweeps are independent tests, so that each is
// held to its share of the chance (Šidák).
func (x *Subject) scatter() Check {
	c := Check{Name: "scatter of the readings", Outcome: document.Undecided,
		Sentence: "too few readings to compare their scatter with the stated noise"}
	var tests []readings.SweepScatter
	for _, s := range append(x.repeatScatter(), x.Sweeps...) {
		if s.Freedom >= 1 {
			tests = append(tests, s)
		}
	}
	if len(tests) == 0 {
		return c
	}
	limit := 1 - math.Pow(1-scatterChance, 1/float64(len(tests)))
	var over []string
	most, chi, freedom := 0.0, 0.0, 0.0
	for _, s := range tests {
		ratio := s.Observed / s.Stated
		most = max(most, ratio)
		chi, freedom = chi+s.ChiSquared, freedom+s.Freedom
		if s.PValue < limit {
			over = append(over, fmt.Sprintf("%s at %s scatters %.1f times as much as stated (χ² = %.1f with %.0f "+
				"degrees of "+
				"freedom)",
				text.Spoken(s.Quantity), text.Celsius(s.Temperature), ratio, s.ChiSquared, s.Freedom))
		}
	}
	if len(over) > 0 {
		c.Outcome = document.Fail
		c.Sentence = strings.Join(over, "; ") +
			": the noise is larger than stated, or the readings show structure that the model does not have"
		return c
	}
	c.Outcome = document.Pass
	c.Sentence = fmt.Sprintf("about smooth curves the readings scatter at most %.1f times as much as stated", most)
	if share := math.Sqrt(chi / freedom); share < generous && (distuv.ChiSquared{K: freedom}).CDF(chi) < scatterChance {
		c.Sentence = fmt.Sprintf("about smooth curves the readings scatter %.1f times as much as stated: the stated "+
			"noise "+
			"is larger than that of the bench", share)
	}
	return c
}

// repeatScatter compares readings that were repeated at one wavelength and temperature with their stated noise, less
// what whole sweeps differ by, which is a drift and a check of its own.
func (x *Subject) repeatScatter() []readings.SweepScatter {
	type place struct {
		run int
		q   limits.Quantity
		l   quantity.Length
	}
	type sweep struct {
		run, repeat int
		q           limits.Quantity
	}
	at := map[place][]int{}
	for i, o := range x.Obs {
		if !o.Bound {
			p := place{o.Run, o.Quantity, o.Wavelength}
			at[p] = append(at[p], i)
		}
	}
	mean := func(is []int) float64 {
		sum := 0.0
		for _, i := range is {
			sum += x.Obs[i].Read
		}
		return sum / float64(len(is))
	}
	off, count := map[sweep]float64{}, map[sweep]float64{}
	key := func(i int) sweep {
		o := x.Obs[i]
		return sweep{o.Run, x.Rows[o.Row].Repeat, o.Quantity}
	}
	for i, o := range x.Obs {
		if is := at[place{o.Run, o.Quantity, o.Wavelength}]; len(is) > 1 && !o.Bound {
			off[key(i)] += o.Read - mean(is)
			count[key(i)]++
		}
	}
	type group struct {
		run int
		q   limits.Quantity
	}
	sums := map[group]*readings.SweepScatter{}
	n := map[group]float64{}
	for i, o := range x.Obs {
		is := at[place{o.Run, o.Quantity, o.Wavelength}]
		if len(is) < 2 || o.Bound {
			continue
		}
		g := group{o.Run, o.Quantity}
		if sums[g] == nil {
			sums[g] = &readings.SweepScatter{Quantity: o.Quantity, Temperature: x.Runs[o.Run].Temperature}
		}
		s := sums[g]
		d, u := o.Read-mean(is)-off[key(i)]/count[key(i)], o.PointNoise(x.Budget)
		s.ChiSquared += d * d / (u * u)
		s.Observed += d * d
		s.Stated += u * u
		s.Freedom += 1 - 1/float64(len(is)) // a mean for each wavelength
		n[g]++
	}
	sweeps := map[group]float64{}
	for k := range count {
		sweeps[group{k.run, k.q}]++
	}
	var all []readings.SweepScatter
	for run := range x.Runs {
		for _, q := range quantities(x) {
			g := group{run, q}
			s := sums[g]
			if s == nil {
				continue
			}
			s.Freedom -= max(sweeps[g]-1, 0) // and an offset for each sweep but one
			if s.Freedom < 1 {
				continue
			}
			s.PValue = distuv.ChiSquared{K: s.Freedom}.Survival(s.ChiSquared)
			s.Observed, s.Stated = math.Sqrt(s.Observed/s.Freedom), math.Sqrt(s.Stated/n[g])
			all = append(all, *s)
		}
	}
	return all
}

// quantities lists those observed, in order.
func quantities(x *Subject) []limits.Quantity {
	var all []limits.Quantity
	for _, o := range x.Obs {
		if len(all) == 0 || all[len(all)-1] != o.Quantity {
			all = append(all, o.Quantity)
		}
	}
	return all
}
