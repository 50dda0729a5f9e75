package vocab

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
)

// sample is values without an axis: of a series, of a list, or of the units of trials.
type sample struct {
	label, of string // of: what is counted, "units"
	values    quantities
	told      bool
	limit     *limits.Limit // that of a figure of trials
	units     *Distribution // of which it is a figure; nil for others
}

// spread reports whether a value is shown as a histogram unless the call says otherwise.
func spread(v starlark.Value) bool {
	switch v := v.(type) {
	case *Distribution, *Trials:
		return true
	case *starlark.Dict:
		for _, kv := range v.Items() {
			return spread(kv[1])
		}
	}
	return false
}

// samples reads what is to be counted, and limits. Each is named by its key in a dict.
func samples(a Args) ([]sample, limits.Limits, error) {
	var all []sample
	var lims limits.Limits
	for i, v := range a.Many() {
		if i > mostTraces {
			break
		}
		d, ok := v.(*starlark.Dict)
		if !ok {
			d = new(starlark.Dict)
			if err := d.SetKey(starlark.String(""), v); err != nil {
				return nil, nil, err
			}
		}
		for k, kv := range d.Items() {
			if k > mostTraces {
				break
			}
			if l, ok := kv[1].(*Limits); ok {
				lims = append(lims, l.list...)
				continue
			}
			one, err := sampleOf(a, kv[1])
			if err != nil {
				return nil, nil, err
			}
			if label, _ := starlark.AsString(kv[0]); label != "" {
				one.label, one.told = label, true
			}
			all = append(all, one)
		}
	}
	switch {
	case len(all) == 0:
		return nil, nil, errors.New("there is nothing to plot: give a series, a list of quantities or a figure of " +
			"trials")
	case len(all) > mostTraces:
		return nil, nil, fmt.Errorf("more than %d histograms are too many to distinguish", mostTraces)
	}
	return all, lims, nil
}

func sampleOf(a Args, v starlark.Value) (sample, error) {
	switch v := v.(type) {
	case *Series:
		name := v.label
		if name == "" {
			name = noun(quantity.Quantity{Unit: v.unit})
		}
		return sample{label: v.label, of: "points", values: quantities{name, v.unit, v.values},
			told: v.told && !isFigure(v.label)}, nil
	case *Distribution:
		one := sample{label: v.wanted.name(), of: "units", limit: v.wanted.limit, units: v,
			values: quantities{name: v.wanted.name(), unit: v.wanted.in(0).Unit}}
		for _, x := range v.over.Sorted {
			one.values.values = append(one.values.values, v.wanted.in(x).Value)
		}
		return one, nil
	case *Trials:
		return sample{}, errors.New("trials have several figures: give one, as in t.figures[0]")
	case *starlark.List, starlark.Tuple:
		if n := starlark.Len(v); n > mostPoints {
			return sample{}, fmt.Errorf("a list of %d values is longer than the limit of %d", n, mostPoints)
		}
		x, unit, err := oneUnit(a.ctx, v.(starlark.Iterable))
		if err != nil {
			return sample{}, err
		}
		return sample{of: "values", values: quantities{noun(quantity.Quantity{Unit: unit}), unit, x}}, nil
	}
	return sample{}, fmt.Errorf("cannot count %s; expected a series, a list of quantities or a figure of trials",
		describe(v))
}

// histogram plots how values are spread.
func histogram(a Args) (figure.Chart, string, error) {
	if err := a.noneOf(`has no meaning beside a histogram`, "figure", "right", "right_y", "marker", "log"); err != nil {
		return figure.Chart{}, "", err
	}
	all, lims, err := samples(a)
	if err != nil {
		return figure.Chart{}, "", err
	}
	bins := 0
	if a.Has("bins") {
		if bins, err = a.whole("bins", 1, 200); err != nil {
			return figure.Chart{}, "", err
		}
	}
	traces := make([]trace, len(all)) // which carry labels and looks
	for i, s := range all {
		traces[i] = trace{label: s.label, told: s.told}
	}
	if err := cmp.Or(relabel(traces, a), looks(traces, a)); err != nil {
		return figure.Chart{}, "", err
	}
	tellApart(traces)
	c, err := session.Await(a.ctx, func() (figure.Chart, error) { return counted1(all, traces, bins) })
	if err != nil {
		return c, "", err
	}
	if c.Limits, err = limitsAcross(all, lims); err != nil {
		return c, "", err
	}
	unit := all[0].values.unit
	share := quantity.MustNamed("percent")
	if err := bound(&c.X, a, "x", unit); err != nil {
		return c, "", err
	}
	if a.Has("y") {
		if err := bound(&c.Y, a, "y", share); err != nil {
			return c, "", err
		}
	}
	if c.Notes, err = notesOf(a, unit, share); err != nil {
		return c, "", err
	}
	caption := "Distribution of " + c.X.Label
	if d := all[0].units; d != nil && len(all) == 1 {
		caption += " over " + count(d.over.Count, "unit") + ", " + d.wanted.where()
	}
	return c, caption, nil
}

// counted1 makes the bars, over common bins in the unit of the first.
func counted1(all []sample, looks []trace, bins int) (figure.Chart, error) {
	first := all[0].values
	c := figure.Chart{X: figure.Axis{Label: first.name, Unit: first.unit.Symbol()},
		Y: figure.Axis{Label: all[0].of, Unit: "%"}}
	values := make([][]float64, len(all))
	low, high, least := math.Inf(1), math.Inf(-1), math.MaxInt
	for i, s := range all {
		v, err := s.values.in(first.unit)
		if err != nil {
			return c, fmt.Errorf("%s and %s need different axes: plot them separately", first.name, s.values.name)
		}
		n := 0
		for _, x := range v {
			if math.IsInf(x, 0) {
				return c, fmt.Errorf("%s has a value that is not finite", joined(looks[i].label, s.values.name))
			}
			if !math.IsNaN(x) {
				low, high, n = min(low, x), max(high, x), n+1
			}
		}
		if n == 0 {
			return c, fmt.Errorf("%s has no values to plot", joined(looks[i].label, s.values.name))
		}
		values[i], least = v, min(least, n)
		if s.values.name != first.name {
			c.X.Label = noun(quantity.Quantity{Unit: first.unit})
		}
	}
	if bins == 0 {
		bins = figure.BinsFor(least)
	}
	if !(high-low > 1e-9*math.Abs(high)) { // one value: a bar of its own
		half := max(math.Abs(high)*1e-3, 1e-9)
		low, high, bins = low-half, high+half, 1
	}
	most := 0.0
	for i, v := range values {
		bars, outline, err := figure.Histogram(v, low, high, bins)
		if err != nil {
			return c, err
		}
		bars.Color = figure.ColorAt(i)
		if looks[i].color != figure.AutoColor {
			bars.Color = looks[i].color
		}
		outline.Color, outline.Label = bars.Color, looks[i].label
		if len(all) > 1 {
			outline.Line = figure.LineAt(i)
		}
		if looks[i].dash != figure.AutoLine && looks[i].dash != figure.NoLine {
			outline.Line = looks[i].dash
		}
		if len(all) == 1 && !looks[i].told {
			outline.Label = ""
		}
		for _, s := range bars.High {
			most = max(most, s)
		}
		c.Series = append(c.Series, outline)
		if len(all) <= 2 { // the fills of more would hide each other
			c.Bands = append(c.Bands, bars)
		}
	}
	c.Y.Max = 1.1 * most
	return c, nil
}

// limitsAcross draws the limits of figures of trials, and those that a call gives, across the axis of the values.
func limitsAcross(all []sample, lims limits.Limits) ([]figure.Limit, error) {
	var lines []figure.Limit
	add := func(l figure.Limit) {
		for _, o := range lines {
			if o.Label == l.Label && o.At == l.At {
				return
			}
		}
		lines = append(lines, l)
	}
	for _, s := range all {
		if s.limit != nil {
			add(figure.Limit{Label: "limit " + s.units.wanted.threshold().String(), At: s.limit.Value, Vertical: true,
				Forbid: figure.Forbidden(s.limit.AtLeast)})
		}
	}
	name := limitFigure("", []trace{{y: all[0].values}})
	drawn := len(lines)
	for _, l := range limitLines(lims, name, all[0].values.unit) {
		l.Vertical, l.From, l.To = true, 0, 0
		add(l)
	}
	if len(lims) > 0 && len(lines) == drawn {
		return nil, fmt.Errorf("none of the limits is for the plotted figure, %s", all[0].values.name)
	}
	return lines, nil
}
