package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/tolerance"
)

// Distribution is one figure over all units of a study.
type Distribution struct {
	opaque
	wanted  wanted
	paths   []string
	over    tolerance.Distribution
	nominal float64
	shares  []float64 // nil for too few units
	good    int       // units that meet the limit; -1 without one
}

func (d *Distribution) String() string {
	return fmt.Sprintf("<%s of %s, %s>", d.wanted.name(), count(len(d.over.Sorted), "unit"), d.wanted.where())
}

// spreads reports whether the units differ by more than an instrument resolves.
func (d *Distribution) spreads() bool {
	return d.over.Quantile(0.975)-d.over.Quantile(0.025) > d.wanted.figure.Resolution()
}

func (d *Distribution) in(v float64) starlark.Value {
	q := d.wanted.in(v)
	q.Value = significant(q.Value, 12)
	return fromQuantity(q)
}

// Attr returns a statistic or a method.
func (d *Distribution) Attr(name string) (starlark.Value, error) {
	switch name {
	case "name":
		return starlark.String(d.wanted.name()), nil
	case "condition":
		return starlark.String(d.wanted.where()), nil
	case "nominal":
		return d.in(d.nominal), nil
	case "mean":
		return d.in(d.over.Mean), nil
	case "deviation":
		return d.in(d.over.Deviation), nil
	case "least":
		return d.in(d.over.Sorted[0]), nil
	case "greatest":
		return d.in(d.over.Sorted[len(d.over.Sorted)-1]), nil
	case "good":
		if d.good < 0 {
			return starlark.None, nil
		}
		return starlark.Float(float64(d.good) / float64(len(d.over.Sorted))), nil
	case "shares":
		if d.shares == nil {
			return starlark.None, nil
		}
		shares := starlark.NewDict(len(d.paths))
		for j, path := range d.paths {
			if err := shares.SetKey(starlark.String(path), starlark.Float(d.shares[j])); err != nil {
				return nil, err
			}
		}
		return shares, nil
	}
	return distributionMethods.bind(d, name), nil
}

// AttrNames lists fields and methods.
func (d *Distribution) AttrNames() []string {
	return distributionMethods.names(statistics...)
}

// statistics are the fields of a distribution.
var statistics = []string{"condition", "deviation", "good", "greatest", "least", "mean", "name", "nominal", "shares"}

func (d *Distribution) json() any { return attributes(d, statistics...) }

var distributionMethods = newMethods("distribution",
	method[*Distribution]{Word{
		Name:    "percentile",
		Summary: "the value below which a share of the units lies",
		Params:  []Param{{Name: "p", Kind: numberKind.of("plain number", "5"), Doc: "the share in percent"}},
		Returns: "a level, or a DGD",
		Example: exampleStack + `s.trials(1000, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm).figures[0].percentile(5)`,
		Source:  "order statistics, each unit the middle of its stratum",
	}, func(d *Distribution, _ *starlark.Thread, a Args) (starlark.Value, error) {
		p := a.SI("p") / 100
		if !(p >= 0 && p <= 1) {
			return nil, a.refuse("p", "a share in percent, from 0 to 100")
		}
		return d.in(d.over.Quantile(p)), nil
	}},
)
