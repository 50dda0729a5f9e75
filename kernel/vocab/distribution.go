package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
)

// Distribution is one figure over all units of a study.
type Distribution struct {
	opaque
	wanted  wanted
	paths   []string
	over    tolerance.Distribution
	figure  int // its number
	nominal float64
	shares  []float64 // nil for too few units
	good    int       // units that meet the limit; -1 without one
	units   []float64 // its value for each unit, in order; of very many, the first tolerance.Kept
	of      *tolerance.Outcome
}

func (d *Distribution) String() string {
	return fmt.Sprintf("<%s of %s, %s>", d.wanted.name(), count(d.over.Count, "unit"), d.wanted.where())
}

// spreads reports whether the units differ by more than an instrument resolves.
func (d *Distribution) spreads() bool {
	return d.over.Quantile(0.975)-d.over.Quantile(0.025) > d.wanted.figure.Resolution()
}

func (d *Distribution) in(v float64) quantity.Quantity {
	q := d.wanted.in(v)
	q.Value = significant(q.Value, 12)
	return q
}

// Attr returns a field or a method.
func (d *Distribution) Attr(name string) (starlark.Value, error) {
	return distributionType.attr(d, name)
}

// AttrNames lists them.
func (d *Distribution) AttrNames() []string { return distributionType.names(d) }

var distributionType = newType("distribution", distributionMethods,
	textAttr("name", "the figure", func(d *Distribution) string { return d.wanted.name() }),
	textAttr("condition", "wavelengths and temperatures over which the worst is taken",
		func(d *Distribution) string { return d.wanted.where() }),
	statistic("nominal", "its value for the nominal stack", func(d *Distribution) float64 { return d.nominal }),
	statistic("mean", "mean over the units", func(d *Distribution) float64 { return d.over.Mean }),
	statistic("deviation", "standard deviation over the units",
		func(d *Distribution) float64 { return d.over.Deviation }),
	statistic("least", "minimum over the units", func(d *Distribution) float64 { return d.over.Least }),
	statistic("greatest", "maximum over the units",
		func(d *Distribution) float64 { return d.over.Greatest }),
	floatAttr("good", "share of the units that meet its limit; None without a limit", func(d *Distribution) float64 {
		return float64(d.good) / float64(d.over.Count)
	}).when(func(d *Distribution) bool { return d.good >= 0 }),
	valueAttr("shares", "dict", "share of its variance due to each tolerance, by path; None for fewer than 50 units",
		func(d *Distribution) (starlark.Value, error) { return d.sharesByPath() },
	).when(func(d *Distribution) bool { return d.shares != nil }),
	valueAttr("values", "series", "its value for each unit, over the units counted from 1; of more than 100,000 "+
		"units, for the first "+
		"100,000", func(d *Distribution) (starlark.Value, error) { return d.series(), nil }).notJSON(),
	tupleAttr("worst", "the 20 units for which it is worst, the worst first, each with .unit, .value, .at and .stack",
		(*Distribution).worst).notJSON(),
)

// series is the values of the units.
func (d *Distribution) series() *Series {
	axis := &Sweep{name: "unit", values: make([]float64, len(d.units))}
	values := make([]float64, len(d.units))
	for n, v := range d.units {
		axis.values[n], values[n] = float64(d.of.First()+n+1), d.wanted.in(v).Value
	}
	return newSeries(d.wanted.name(), axis, d.wanted.in(0).Unit, values)
}

func (d *Distribution) worst() (all []*WorstUnit) {
	for _, u := range d.of.Tallies[d.figure].Worst {
		all = append(all, &WorstUnit{opaque{"worst unit"}, d, u})
	}
	return all
}

func (d *Distribution) sharesByPath() (starlark.Value, error) {
	all := make([]starlark.Value, len(d.shares))
	for j, share := range d.shares {
		all[j] = starlark.Float(share)
	}
	return dictOf(d.paths, all)
}

func statistic(name, summary string, get func(*Distribution) float64) attr[*Distribution] {
	return quantityAttr(name, summary, func(d *Distribution) quantity.Quantity { return d.in(get(d)) })
}

var distributionMethods = newMethods("distribution",
	method[*Distribution]{Word{
		Name:    "percentile",
		Summary: "the value below which a share of the units lies",
		Params:  []Param{{Name: "p", Kind: numberKind.of("plain number", "5"), Doc: "the share in percent"}},
		Returns: "a level, or a DGD",
		Example: exampleStack + `s.trials(1000, {"rotator1.angle": normal(0.3*deg)}, ` +
			`wavelength=1550*nm).figures[0].percentile(5)`,
		Source: "order statistics, each unit the middle of its stratum",
	}, func(d *Distribution, _ *starlark.Thread, a Args) (starlark.Value, error) {
		p := a.SI("p") / 100
		if !(p >= 0 && p <= 1) {
			return nil, a.refuse("p", "a share in percent, from 0 to 100")
		}
		return fromQuantity(d.in(d.over.Quantile(p))), nil
	}},
	method[*Distribution]{Word{
		Name:    "percentile_interval",
		Summary: "the 95 % confidence interval of a percentile",
		Params:  []Param{{Name: "p", Kind: numberKind.of("plain number", "5"), Doc: "the share in percent"}},
		Returns: "a pair, the lower and the upper end",
		Detail: "The interval follows from the number of units alone and assumes nothing about the distribution. " +
			"Above 100,000 units it includes the resolution of the stored histogram, 0.002 dB or 0.0004 ps.",
		Example: exampleStack + `s.trials(1000, {"rotator1.angle": normal(0.3*deg)}, ` +
			`wavelength=1550*nm).figures[0].percentile_interval(5)`,
		Source: "order statistics; Clopper and Pearson, Biometrika 26, 404 (1934)",
	}, func(d *Distribution, _ *starlark.Thread, a Args) (starlark.Value, error) {
		p := a.SI("p") / 100
		if !(p >= 0 && p <= 1) {
			return nil, a.refuse("p", "a share in percent, from 0 to 100")
		}
		low, high := d.over.Interval(p)
		return starlark.Tuple{fromQuantity(d.in(low)), fromQuantity(d.in(high))}, nil
	}},
)
