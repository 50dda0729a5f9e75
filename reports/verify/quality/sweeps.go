package quality

import (
	"fmt"
	"math"
	"strings"
	"time"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// outlierCheck lists the readings that no model near the others can give.
func (x *Subject) outlierCheck() Check {
	c := Check{Name: "outliers", Outcome: document.Pass, Sentence: "no outliers among the isolation readings"}
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
		said = append(said, fmt.Sprintf("line %d (%.0f u, %s power)", o.Line, math.Abs(o.Off), side))
	}
	if len(list) > 10 {
		said = append(said, fmt.Sprintf("%d more", len(list)-10))
	}
	are := "are outliers"
	if len(list) == 1 {
		are = "is an outlier"
	}
	c.Outcome = document.Undecided
	c.Sentence = fmt.Sprintf("%d of %d readings %s (deviation in standard uncertainties u): %s; they are excluded "+
		"from the fit and the key figures but not from the limits; measure them again",
		len(list), x.Back, are, strings.Join(said, ", "))
	return c
}

// repeats compares later sweeps with the first at the same wavelengths and temperatures. What a level may drift by is
// what the budget allows for errors that all readings share: those would have been calibrated out if they were not
// there.
func (x *Subject) repeats() Check {
	c := Check{Name: "drift between repeats", Sentence: "the file numbers no sweep as a repeat"}
	type key struct {
		l quantity.Length
		t quantity.Temperature
		q limits.Quantity
	}
	first := map[key]readings.Observation{}
	type pair struct{ sum, variance, count float64 }
	pairs := map[int]*pair{} // by number of the repeat
	most := 0
	for _, o := range x.Obs {
		if o.Bound || o.Scale() == readings.Square {
			continue // two bounds say nothing of a drift, nor do ratios of levels and delays
		}
		k := key{o.Wavelength, o.Temperature, o.Quantity}
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
	allowed := x.sharedLevel()
	worst, noise, which := 0.0, 0.0, 0
	for n := 0; n <= most; n++ {
		if p := pairs[n]; p != nil && math.Abs(p.sum/p.count) >= math.Abs(worst) {
			worst, noise, which = p.sum/p.count, readings.Coverage*math.Sqrt(p.variance)/p.count, n
		}
	}
	c.Outcome = document.Pass
	c.Sentence = fmt.Sprintf("repeat %d differs from the first sweep by %+.3f dB on average; at most %.3f dB is "+
		"allowed, plus %.3f dB for the noise of the mean", which, worst, allowed, noise)
	if math.Abs(worst) > allowed+noise {
		c.Outcome, c.Astray = document.Fail, math.Abs(worst)
		c.Caveat = fmt.Sprintf("repeat %d differs from the first sweep by %.2f dB, so that levels may be off by as much",
			which, c.Astray)
	}
	return c
}

// referenceAge is how old a reference may be: it is taken on the day (common practice, no source).
const referenceAge = 24 * time.Hour

// reference compares the day of the reference trace with that of the measurement.
func (x *Subject) reference() Check {
	c := Check{Name: "age of the reference", Sentence: "the file states no date of the reference"}
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
		c.Outcome, c.Sentence = document.Undecided,
			fmt.Sprintf("reference taken %q, measured %q: expected two dates such as 2026-11-18", taken, measured)
	case on.After(when):
		c.Outcome, c.Sentence = document.Fail, fmt.Sprintf("taken %s, after the measurement on %s", taken, measured)
	case when.Sub(on) > referenceAge:
		c.Outcome, c.Sentence = document.Undecided,
			fmt.Sprintf("taken %s, %d days before the measurement; at most one day is allowed", taken,
				int(when.Sub(on).Hours()/24))
	default:
		c.Outcome, c.Sentence = document.Pass, fmt.Sprintf("taken %s, measured %s", taken, measured)
	}
	return c
}

// driftWithin compares the losses of each sweep with the model's by a straight line over wavelength: a source or a
// connection that drifts while the sweep is taken tilts it. As between repeats, what it may tilt by is what the budget
// allows for errors that readings share. A part whose loss has a slope that the model does not know looks the same.
func (x *Subject) driftWithin() Check {
	c := Check{Name: "drift within sweeps", Sentence: "no sweep has enough readings of insertion loss"}
	allowed := max(x.sharedLevel(), tiltLeast)
	worst, noise, at := 0.0, 0.0, -1
	for run := range x.Runs {
		var sw, sx, sxx, sy, sxy float64
		low, high, n := math.Inf(1), math.Inf(-1), 0
		for i := range x.Obs {
			o := &x.Obs[i]
			if o.Run != run || o.Quantity != limits.InsertionLoss {
				continue
			}
			u, l := o.PointNoise(x.Budget), float64(o.Wavelength/quantity.Nanometre)
			w, y := 1/(u*u), o.Read-x.Expected[i]
			sw, sx, sxx, sy, sxy = sw+w, sx+w*l, sxx+w*l*l, sy+w*y, sxy+w*l*y
			low, high, n = min(low, l), max(high, l), n+1
		}
		det := sw*sxx - sx*sx
		if n < driftLeast || !(det > 0) {
			continue
		}
		tilt, u := (sw*sxy-sx*sy)/det*(high-low), math.Sqrt(sw/det)*(high-low)
		if at < 0 || math.Abs(tilt)-readings.Coverage*u > math.Abs(worst)-noise {
			worst, noise, at = tilt, readings.Coverage*u, run
		}
	}
	if at < 0 {
		return c
	}
	c.Outcome = document.Pass
	c.Sentence = fmt.Sprintf("over the sweep at %s the insertion loss departs from the model by %+.3f dB; at most "+
		"%.3f dB is allowed, and %.3f dB for the noise",
		text.Celsius(x.Runs[at].Temperature), worst, allowed, noise)
	if math.Abs(worst) > allowed+noise {
		c.Outcome, c.Astray = document.Fail, math.Abs(worst)
		c.Caveat = fmt.Sprintf("a sweep drifts by %.2f dB, so that levels may be off by as much", c.Astray)
	}
	return c
}

const (
	driftLeast = 5    // readings of a sweep that are worth a line
	tiltLeast  = 0.05 // dB; what connections and sources drift by in any case (common practice, no source)
)

// sharedLevel is what the budget allows for errors in dB that readings share, expanded.
func (x *Subject) sharedLevel() float64 {
	sum := 0.0
	for _, b := range x.Budget.Contributions {
		if u, err := b.Standard(); err == nil && b.Value.Dimension() == quantity.OfLevel &&
			b.SharedBy() != uncertainty.ByPoint {
			sum += u * u
		}
	}
	return readings.Coverage * math.Sqrt(sum)
}
