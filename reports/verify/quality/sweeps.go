package quality

import (
	"fmt"
	"math"
	"strings"
	"time"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/readings"
)

// outlierCheck says which readings part with all others.
func (x *Subject) outlierCheck() Check {
	c := Check{Name: "outliers", Outcome: document.Pass, Sentence: "no isolation reading parts with the others"}
	if x.Back == 0 {
		return Check{Name: c.Name, Sentence: "no isolation was measured"}
	}
	list := x.Outliers()
	if len(list) == 0 {
		return c
	}
	var said []string
	for _, o := range list[:min(len(list), 10)] {
		side := "less"
		if o.Off > 0 {
			side = "more"
		}
		said = append(said, fmt.Sprintf("line %d (%.0f u, %s light)", o.Line, math.Abs(o.Off), side))
	}
	if len(list) > 10 {
		said = append(said, fmt.Sprintf("%d more", len(list)-10))
	}
	c.Outcome = document.Undecided
	c.Sentence = fmt.Sprintf("%d of %d readings part with all others by many of their standard uncertainties u: %s; they are left out of the fit and of the declared figures, limits are held against them, and they should be read again",
		len(list), x.Back, strings.Join(said, ", "))
	return c
}

// repeats compares later sweeps with the first at the same wavelengths and temperatures. What a level may drift by is
// what the budget allows for errors that all readings share: those would have been calibrated out if they were not there.
func (x *Subject) repeats() Check {
	c := Check{Name: "drift between repeats", Sentence: "no sweep is numbered as repeated"}
	type key struct {
		l        quantity.Length
		t        quantity.Temperature
		backward bool
	}
	first := map[key]readings.Observation{}
	type pair struct{ sum, variance, count float64 }
	pairs := map[int]*pair{} // by number of the repeat
	most := 0
	for _, o := range x.Obs {
		if o.Bound {
			continue // two bounds say nothing of a drift
		}
		k := key{o.Wavelength, o.Temperature, o.Backward()}
		n := x.Rows[o.Row].Repeat
		if a, ok := first[k]; !ok {
			first[k] = o
		} else if n != x.Rows[a.Row].Repeat {
			p := pairs[n]
			if p == nil {
				p = &pair{}
				pairs[n] = p
			}
			p.sum += o.Read - a.Read
			p.variance += math.Pow(a.PointNoise(x.Budget), 2) + math.Pow(o.PointNoise(x.Budget), 2)
			p.count++
			most = max(most, n)
		}
	}
	if len(pairs) == 0 {
		return c
	}
	allowed := 0.0
	for _, b := range x.Budget.Contributions {
		if u, err := b.Standard(); err == nil && b.Value.Dimension() == quantity.OfLevel && b.SharedBy() != uncertainty.ByPoint {
			allowed += u * u
		}
	}
	allowed = readings.Coverage * math.Sqrt(allowed)
	worst, noise, which := 0.0, 0.0, 0
	for n := 0; n <= most; n++ {
		if p := pairs[n]; p != nil && math.Abs(p.sum/p.count) >= math.Abs(worst) {
			worst, noise, which = p.sum/p.count, readings.Coverage*math.Sqrt(p.variance)/p.count, n
		}
	}
	c.Outcome = document.Pass
	c.Sentence = fmt.Sprintf("repeat %d lies %+.3f dB from the first on average; at most %.3f dB was expected, with %.3f dB for the noise of the mean", which, worst, allowed, noise)
	if math.Abs(worst) > allowed+noise {
		c.Outcome = document.Fail
	}
	return c
}

// referenceAge is how old a reference may be: it is taken on the day (common practice, no source).
const referenceAge = 24 * time.Hour

// reference compares the day of the reference trace with that of the measurement.
func (x *Subject) reference() Check {
	c := Check{Name: "age of the reference", Sentence: "no day of a reference is stated in the file"}
	measured, taken := "", ""
	for _, kv := range x.Meta {
		switch strings.ToLower(strings.TrimSpace(kv[0])) {
		case "measured":
			measured = strings.TrimSpace(kv[1])
		case "reference taken":
			taken = strings.TrimSpace(kv[1])
		}
	}
	if taken == "" {
		return c
	}
	on, err := time.Parse(day, taken)
	when, err2 := time.Parse(day, measured)
	switch {
	case err != nil || err2 != nil:
		c.Outcome, c.Sentence = document.Undecided, fmt.Sprintf("reference taken %q, measured %q: two days such as 2026-11-18 were expected", taken, measured)
	case on.After(when):
		c.Outcome, c.Sentence = document.Fail, fmt.Sprintf("taken %s, after the measurement of %s", taken, measured)
	case when.Sub(on) > referenceAge:
		c.Outcome, c.Sentence = document.Undecided, fmt.Sprintf("taken %s, %d days before the measurement; one of the day before or younger was expected", taken, int(when.Sub(on).Hours()/24))
	default:
		c.Outcome, c.Sentence = document.Pass, fmt.Sprintf("taken %s, measured %s", taken, measured)
	}
	return c
}
