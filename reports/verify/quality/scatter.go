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
				"degrees of freedom)",
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
			"noise is larger than that of the bench", share)
	}
	return c
}

// swept is the readings of one quantity in one run.
type swept struct {
	run int
	q   limits.Quantity
}

// repeats are the readings that were taken more than once at one wavelength and temperature.
type repeats struct {
	x     *Subject
	at    map[repeatPlace][]int
	off   map[repeatSweep]float64 // sums of the departures from the means, over a sweep
	count map[repeatSweep]float64
}

type repeatPlace struct {
	swept
	l quantity.Length
}

type repeatSweep struct {
	swept
	repeat int
}

// repeated finds them, and what whole sweeps of them differ by.
func (x *Subject) repeated() *repeats {
	r := &repeats{x, map[repeatPlace][]int{}, map[repeatSweep]float64{}, map[repeatSweep]float64{}}
	for i, o := range x.Obs {
		if !o.Bound {
			p := r.place(i)
			r.at[p] = append(r.at[p], i)
		}
	}
	for i := range x.Obs {
		if d, n := r.departure(i); n > 1 {
			r.off[r.sweep(i)] += d
			r.count[r.sweep(i)]++
		}
	}
	return r
}

func (r *repeats) place(i int) repeatPlace {
	o := r.x.Obs[i]
	return repeatPlace{swept{o.Run, o.Quantity}, o.Wavelength}
}

func (r *repeats) sweep(i int) repeatSweep {
	o := r.x.Obs[i]
	return repeatSweep{swept{o.Run, o.Quantity}, r.x.Rows[o.Row].Repeat}
}

// departure is that of a reading from the mean of the n taken at its place; n is 0 for a bound.
func (r *repeats) departure(i int) (d float64, n int) {
	if r.x.Obs[i].Bound {
		return 0, 0
	}
	at, sum := r.at[r.place(i)], 0.0
	for _, k := range at {
		sum += r.x.Obs[k].Read
	}
	return r.x.Obs[i].Read - sum/float64(len(at)), len(at)
}

// repeatScatter compares readings that were repeated at one wavelength and temperature with their stated noise, less
// what whole sweeps differ by, which is a drift and a check of its own.
func (x *Subject) repeatScatter() []readings.SweepScatter {
	r := x.repeated()
	sums, n := map[swept]*readings.SweepScatter{}, map[swept]float64{}
	for i, o := range x.Obs {
		departure, taken := r.departure(i)
		if taken < 2 {
			continue
		}
		g := swept{o.Run, o.Quantity}
		if sums[g] == nil {
			sums[g] = &readings.SweepScatter{Quantity: o.Quantity, Temperature: x.Runs[o.Run].Temperature}
		}
		s, k := sums[g], r.sweep(i)
		d, u := departure-r.off[k]/r.count[k], o.PointNoise(x.Budget)
		s.ChiSquared += d * d / (u * u)
		s.Observed += d * d
		s.Stated += u * u
		s.Freedom += 1 - 1/float64(taken) // a mean for each wavelength
		n[g]++
	}
	sweeps := map[swept]float64{}
	for k := range r.count {
		sweeps[k.swept]++
	}
	var all []readings.SweepScatter
	for run := range x.Runs {
		for _, q := range quantities(x) {
			g := swept{run, q}
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
