package verify

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/doe"
	"wedgework/reports/measured"
	"wedgework/reports/verify/diagnose"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/readings"
)

// Question is what further readings of isolation are to answer: how far a fitted parameter departs from its
// specification. A parameter that the readings cannot distinguish from others stands for their sum.
type Question struct {
	Path         string
	Wavelengths  []quantity.Length      // at which a reading can be taken
	Temperatures []quantity.Temperature // and the sweeps that it can belong to
	Readings     int                    // the most that are taken
	Repeats      int                    // the most at one place
	Sweeps       int                    // the most temperatures that are set; 0: any number
	// Target is the expanded uncertainty that is enough, in SI units; 0: what decides whether the parameter is within
	// its tolerance, or without a tolerance nothing short of all readings.
	Target float64
	// Chance is the probability with which the tolerance is to be decided; only without a Target.
	Chance float64
}

// Plan is the readings to take next, and what they are expected to bring.
type Plan struct {
	Question
	Places []Place // in order of temperature and wavelength
	Units  []Prospect
	Enough bool // every unit reaches what was asked, with so many readings or before the first
}

// Place is where readings are taken.
type Place struct {
	diagnose.Place
	Times int // how often
}

// Prospect is what a plan is expected to bring for one unit. Numbers are in Unit.
type Prospect struct {
	Name   string
	Path   string // of the parameter; of a limit its figure and condition
	Unit   quantity.Unit
	Value  float64 // fitted so far
	Before float64 // expanded uncertainty so far, of the linear approximation
	After  float64 // with the readings of the plan
	// Departure from the specification, the tolerance on it, and what it must exceed to be outside: the tolerances of
	// all parameters together that it stands for. 0: no tolerance.
	Departure, Tolerance, Room float64
	// Sum is what the readings determine in the place of the parameter: "rotator1.angle + wedge2.axis"; "" where they
	// determine the parameter.
	Sum string
	// Chance is the probability that the readings of the plan decide whether the parameter is within its tolerance, or
	// the limit: 1 where that is decided already; NaN without a tolerance.
	Chance float64
	Least  float64 // of a limit: the expanded uncertainty that no number of readings goes below
}

// mostPlaces bounds the candidates (a choice: a tenth of a second for each unit).
const mostPlaces = 4000

// check reports what of a question cannot be used.
func (q *Question) check() error {
	switch {
	case len(q.Wavelengths) == 0 || len(q.Temperatures) == 0:
		return fmt.Errorf("no wavelength or no temperature was given at which a reading can be taken")
	case len(q.Wavelengths)*len(q.Temperatures) > mostPlaces:
		return fmt.Errorf("%d wavelengths at %d temperatures are more places than are compared, %d: give a coarser grid",
			len(q.Wavelengths), len(q.Temperatures), mostPlaces)
	case q.Readings < 1 || q.Repeats < 1 || q.Sweeps < 0:
		return fmt.Errorf("%d readings with %d repeats: expected 1 or more of both", q.Readings, q.Repeats)
	case !(q.Target >= 0) || !(q.Chance > 0 && q.Chance < 1):
		return fmt.Errorf("a target of %g with a probability of %g: expected a positive uncertainty, and a probability "+
			"between 0 and 1", q.Target, q.Chance)
	}
	slices.Sort(q.Wavelengths)
	slices.Sort(q.Temperatures)
	for i := 1; i < len(q.Temperatures); i++ {
		if q.Temperatures[i]-q.Temperatures[i-1] <= measured.SameRun {
			return fmt.Errorf("%.1f and %.1f °C are one sweep: temperatures must be more than %d K apart",
				q.Temperatures[i-1].Celsius(), q.Temperatures[i].Celsius(), measured.SameRun)
		}
	}
	return nil
}

// unit is one whose readings are planned.
type unit struct {
	Prospect
	outlook *diagnose.Outlook
	at      int // of the parameter, among the free ones
}

// Next chooses the readings after which a question is answered soonest: the least number that is expected to be
// enough, placed so that the parameter's uncertainty becomes least (a c-optimal design), or all that may be taken
// where none is. Several units get one plan. What is expected is that of readings from the fitted models with the
// errors of the budget; readings in a sweep that was measured share its errors of wavelength and temperature.
func Next(ctx context.Context, specs []Spec, q Question) (*Plan, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	p := &Plan{Question: q}
	units := make([]*unit, len(specs))
	for k, spec := range specs {
		u, err := q.about(ctx, spec)
		if err != nil {
			if len(specs) > 1 {
				err = fmt.Errorf("unit %s: %w", spec.Readings.Unit, err)
			}
			return nil, err
		}
		units[k] = u
	}
	c, err := q.fewest(ctx, units)
	if err != nil {
		return nil, err
	}
	p.Enough = q.enough(units)
	for _, u := range units {
		p.Units = append(p.Units, u.Prospect)
	}
	if c != nil {
		p.Places = q.places(c)
	}
	return p, nil
}

// grid lists all places, temperature by temperature.
func (q *Question) grid() []diagnose.Place {
	var all []diagnose.Place
	for _, t := range q.Temperatures {
		for _, l := range q.Wavelengths {
			all = append(all, diagnose.Place{Wavelength: l, Temperature: t})
		}
	}
	return all
}

// about verifies a unit as far as it was measured and looks at all places.
func (q *Question) about(ctx context.Context, spec Spec) (*unit, error) {
	spec, d, err := sorted(ctx, spec)
	if err != nil {
		return nil, err
	}
	f, err := diagnose.Explain(ctx, spec.asked(d))
	if err != nil {
		return nil, err
	}
	places := q.grid()
	for i := range places { // a chamber's mean is never quite what it was set to
		for _, run := range d.Runs {
			if math.Abs(float64(run.Temperature-places[i].Temperature)) <= readings.TemperatureMargin {
				places[i].Temperature = run.Temperature
			}
		}
	}
	u := &unit{}
	if u.outlook, err = f.Further(ctx, q.Path, places); err != nil {
		return nil, err
	}
	for i := range places {
		u.outlook.Problem.Candidates[i].Sweep = i / len(q.Wavelengths)
	}
	g := u.outlook.Departure
	for j, v := range u.outlook.Free {
		if v.Path == g.Path {
			u.at = j
		}
	}
	if u.outlook.Free[u.at].Leak {
		return nil, fmt.Errorf("%s: the interval of an extinction ratio is not symmetric; ask for an angle", q.Path)
	}
	u.outlook.Problem.Combination = make([]float64, u.at+1)
	u.outlook.Problem.Combination[u.at] = 1
	variance, err := u.outlook.Problem.Variance()
	if err != nil {
		return nil, err
	}
	u.Prospect = Prospect{Name: d.Unit, Path: g.Path, Unit: g.Unit, Value: g.Value, Departure: g.Departure,
		Tolerance: g.Tolerance, Room: u.outlook.Room, Sum: g.Combination, Before: u.expanded(variance)}
	u.After = u.Before
	u.Chance = u.chance()
	return u, nil
}

// expanded is the expanded uncertainty that belongs to a variance of the parameter.
func (u *unit) expanded(variance float64) float64 {
	sigma := math.Sqrt(variance) * u.outlook.Scaled
	return readings.Coverage * fitting.Estimate(u.outlook.Free[u.at], u.outlook.At[u.at], sigma).Sigma
}

// Outcome is pass where the parameter is shown to be within its tolerance, fail where it is shown to be outside, else
// undecided, before the readings of the plan.
func (p *Prospect) Outcome() document.Outcome {
	switch size := math.Abs(p.Departure); {
	case p.Tolerance > 0 && size+p.Before <= p.Tolerance:
		return document.Pass
	case p.Tolerance > 0 && size-p.Before > p.Room:
		return document.Fail
	}
	return document.Undecided
}

// chance is the probability that it is decided after the plan: what is then estimated differs from what is estimated
// now by a normal error, whose variance is by how much the variance falls.
func (p *Prospect) chance() float64 {
	switch {
	case p.Tolerance == 0:
		return math.NaN()
	case p.Outcome() != document.Undecided:
		return 1
	}
	s := math.Sqrt(max(p.Before*p.Before-p.After*p.After, 0)) / readings.Coverage
	if s == 0 {
		return 0
	}
	n := distuv.Normal{Mu: p.Departure, Sigma: s}
	between := func(low, high float64) float64 { return max(n.CDF(high)-n.CDF(low), 0) }
	inside := p.Tolerance - p.After
	outside := p.Room + p.After
	return between(-inside, inside) + n.CDF(-outside) + n.Survival(outside)
}

// enough reports whether every unit has what was asked.
func (q *Question) enough(units []*unit) bool {
	for _, u := range units {
		switch {
		case q.Target > 0:
			if u.After > q.Target/readings.PerUnit(u.Unit) {
				return false
			}
		case u.Tolerance == 0 || u.Chance < q.Chance:
			return false
		}
	}
	return true
}

// fewest chooses as few readings as are enough, or all; nil where none is needed.
func (q *Question) fewest(ctx context.Context, units []*unit) (*doe.Choice, error) {
	if q.enough(units) {
		return nil, nil
	}
	problems := make([]doe.Problem, len(units))
	for k, u := range units {
		problems[k] = u.outlook.Problem
	}
	try := func(n int) (*doe.Choice, error) {
		c, err := doe.Choose(ctx, problems, doe.Limits{Readings: n, Repeats: q.Repeats, Sweeps: q.Sweeps})
		if err != nil {
			return nil, err
		}
		for k, u := range units {
			u.After = u.expanded(c.Values[k])
			u.Chance = u.chance()
		}
		return c, nil
	}
	most, err := try(q.Readings)
	if err != nil || !q.enough(units) {
		return most, err
	}
	low, high := 0, q.Readings // low is too few, high enough
	best := most
	for high-low > 1 {
		middle := (low + high) / 2
		c, err := try(middle)
		if err != nil {
			return nil, err
		}
		if q.enough(units) {
			high, best = middle, c
		} else {
			low = middle
		}
	}
	for k, u := range units {
		u.After = u.expanded(best.Values[k])
		u.Chance = u.chance()
	}
	return best, nil
}

// places lists what was chosen.
func (q *Question) places(c *doe.Choice) []Place {
	var all []Place
	for i, place := range q.grid() {
		if n := c.Counts[i]; n > 0 {
			all = append(all, Place{place, n})
		}
	}
	return all
}

// What names what the prospect is about: the parameter, or the sum that it stands for; or the figure of a limit.
func (p *Prospect) What() string {
	if p.Sum != "" {
		return p.Sum
	}
	return p.Path
}
