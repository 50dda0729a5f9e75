package diagnose

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"wedgework/optics/quantity"
	"wedgework/reports/doe"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// Place is where a further reading of isolation may be taken.
type Place struct {
	Wavelength  quantity.Length
	Temperature quantity.Temperature
}

// Outlook is what readings at further places would say of the parameters of an explanation.
type Outlook struct {
	Departure Departure         // of the parameter, or of the one that stands for it, as it is judged so far
	Room      float64           // beyond which it is outside its tolerance and those of what it stands for, in its unit
	Free      []*model.Variable // as specified, of the explanation
	At        []float64         // their fitted values, as Free counts them
	Problem   doe.Problem       // its parameters are Free, followed by the errors that readings share
	Scaled    float64           // by which the fit widens its standard uncertainties
}

// Further looks at what readings at the given places would add, in the explanation from which the departure of a
// parameter comes: the readings that were fitted and the errors of the budget that they share, expected readings of
// the selected model at the places, all linearized there. A place within measured.SameRun of a sweep belongs to it
// and shares its errors, as a verification of all readings together would have it; places have to be at the mean
// temperature of their sweep, or further from any other than that.
func (f *Findings) Further(ctx context.Context, path string, places []Place) (*Outlook, error) {
	h, path, err := f.explaining(path)
	if err != nil {
		return nil, err
	}
	o := &Outlook{Free: h.Free, At: h.Solution.Parameters, Scaled: h.Scaled()}
	var g Diagnosis
	if err := f.departures(ctx, &g); err != nil {
		return nil, err
	}
	for _, d := range g.Departures {
		if d.Path == path {
			o.Departure, o.Room = d, d.room(f.Tolerances)
		}
	}
	if o.Departure.Path == "" {
		return nil, fmt.Errorf("%s is fitted and not judged, expected a departure of what is fitted", path)
	}
	d, err := f.extended(ctx, h.Model, places)
	if err != nil {
		return nil, err
	}
	x := &inquiry{Case: f.Case, found: f.found, outlying: f.Outlying}
	x.Set, x.Pulls = d, f.pullsIn(d)
	if x.Level, err = predict.Levels(ctx, d, f.Budget, h.Model, x.Pulls); err != nil {
		return nil, err
	}
	// Twice: parameters that are not fitted are weighed against the other terms.
	x.Terms, err = predict.Terms(ctx, d.Backward(), f.Budget, model.Coarse(h.Model), x.Pulls, x.Level)
	if err != nil {
		return nil, err
	}
	if err := x.linearize(ctx, d.Backward(), model.Coarse(h.Model)); err != nil {
		return nil, err
	}
	fitter, err := x.fitter(x.all())
	if err != nil {
		return nil, err
	}
	here := make([]*model.Variable, len(h.Free))
	for j, v := range h.Free {
		if here[j], err = model.VariableOf(h.Model, v.Path); err != nil {
			return nil, err
		}
	}
	l, err := fitter.Linear(ctx, h.Model, here)
	if err != nil {
		return nil, err
	}
	o.Problem = x.problem(l, len(h.Free), f.Set.Back, len(places))
	return o, nil
}

// explaining is the explanation from which the departure of a parameter comes, and the path under which it is free
// there: its own, or that of one which the readings cannot distinguish from it.
func (f *Findings) explaining(path string) (*fitting.Hypothesis, string, error) {
	switch {
	case !f.Fitted():
		return nil, "", fmt.Errorf("nothing was fitted: there is no parameter whose uncertainty further readings could " +
			"reduce; name some with fit=")
	case len(f.Gross) > 0:
		return nil, "", fmt.Errorf("the readings match a gross error (%s): correct it before more is measured", f.Gross[0])
	case f.found.best().PValue < fitting.Unlikely:
		return nil, "", fmt.Errorf("no explanation fits the readings within the uncertainty budget (p < %g): find the "+
			"cause before more is measured", fitting.Unlikely)
	}
	best := f.found.best()
	tried := []*fitting.Hypothesis{best}
	if f.found.together >= 0 {
		tried = append(tried, &f.found.list[f.found.together])
	}
	for _, h := range tried { // what stands for it in the best comes before itself in the other, as in judgeAll
		for _, v := range h.Free {
			if v.Path == path {
				return h, path, nil
			}
		}
		for _, v := range h.Free {
			if f.found.grouped([]*model.Variable{v}, path) {
				return h, v.Path, nil
			}
		}
	}
	return nil, "", fmt.Errorf("%s is not fitted: fit= does not name it", path)
}

// extended is the set with readings at further places added, as the model expects them. They follow the isolations
// that were read.
func (f *Findings) extended(ctx context.Context, m model.Model, places []Place) (*readings.Set, error) {
	r := f.Set.Readings
	r.Rows = slices.Clone(r.Rows)
	for _, p := range places {
		r.Rows = append(r.Rows, readings.Reading{Wavelength: p.Wavelength, Temperature: p.Temperature,
			Figures: []readings.Figure{readings.NewFigure(limits.Isolation, 0)}})
	}
	d := readings.NewSet(r, f.Budget)
	for i := range f.Set.Rows {
		if j := f.Set.RunOf[i]; math.Abs(float64(d.Runs[d.RunOf[i]].Temperature-f.Set.Runs[j].Temperature)) > runMoved {
			return nil, fmt.Errorf("temperatures of further readings must be those of a sweep that was measured, %.1f °C "+
				"among others, or more than %d K from any other", f.Set.Runs[j].Temperature.Celsius(), measured.SameRun)
		}
	}
	expected, err := predict.NewBatch(d, d.Obs[:d.Back]).Predict(ctx, m)
	if err != nil {
		return nil, err
	}
	noise := f.ownNoise()
	for i := f.Set.Back; i < d.Back; i++ {
		o := &d.Obs[i]
		o.Value, o.Power = expected[i], expected[i]
		if d.Floor != nil {
			o.Power += d.Floor.Power
		}
		o.Read = readings.Decibels(readings.Root(o.Power))
		o.Stated = noise
	}
	return d, nil
}

// runMoved is how far, in kelvin, the mean temperature of a sweep may move by readings that are added to it.
const runMoved = 0.25

// ownNoise is the standard uncertainty that a file states for a reading of isolation in the mean; NaN where it states
// none, and the budget speaks.
func (f *Findings) ownNoise() float64 {
	sum, n := 0.0, 0
	for _, o := range f.Set.Obs[:f.Set.Back] {
		if !math.IsNaN(o.Stated) {
			sum, n = sum+o.Stated*o.Stated, n+1
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return math.Sqrt(sum / float64(n))
}

// pullsIn are the pulls by the runs of an extended set.
func (f *Findings) pullsIn(d *readings.Set) readings.Pulls {
	run := map[int]int{-1: -1}
	for i := range f.Set.Rows {
		run[f.Set.RunOf[i]] = d.RunOf[i]
	}
	z := readings.Pulls{}
	for e, v := range f.Pulls {
		z[readings.SharedError{Name: e.Name, Run: run[e.Run]}] = v
	}
	return z
}

// problem sorts what is linear into what is known and what can be read. The first back observations were read.
func (x *inquiry) problem(l *fitting.Linear, parameters, back, places int) doe.Problem {
	n := parameters + len(l.Errors)
	p := doe.Problem{Parameters: parameters, Known: mat.NewSymDense(n, nil),
		Candidates: make([]doe.Candidate, places)}
	for k := parameters; k < n; k++ {
		p.Known.SetSym(k, k, 1)
	}
	ripple := make([]float64, x.Set.Back)
	for _, t := range x.Terms {
		if t.Name == predict.RippleName {
			copy(ripple, t.U)
		}
	}
	for k, i := range l.Indices {
		if i < back {
			p.Known.SymRankOne(p.Known, 1, mat.NewVecDense(n, l.Rows[k]))
			continue
		}
		c := &p.Candidates[i-back]
		c.Row, c.Sweep = l.Rows[k], x.Set.Obs[i].Run
		// What phases of double reflections leave open is the same each time that a place is read.
		_, slope := x.Set.Obs[i].Amplitude(x.Set.Obs[i].Value)
		common := math.Min(math.Abs(ripple[i]*slope)/l.Own[k], mostCommon)
		own := math.Sqrt(1 - common*common)
		c.Common = common / own
		for j := range c.Row {
			c.Row[j] /= own
		}
	}
	return p
}

// mostCommon bounds the share of the uncertainty of a reading that its repeats have in common: the rest is noise.
const mostCommon = 0.999
