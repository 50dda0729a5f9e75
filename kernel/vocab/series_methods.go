package vocab

import (
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

// exampleSeries is a small series that the examples below start from.
const exampleSeries = "x = sweep(1540*nm, 1560*nm, 5*nm)\ny = 2*(x - 1550*nm)\n"

var seriesMethods = newMethods("series", append([]method[*Series]{
	{Word{
		Name:    "min",
		Summary: "minimum of the values",
		Returns: "a quantity",
		Errors:  "the series has no values",
		Example: exampleSeries + "y.min()",
	}, property((*Series).least)},
	{Word{
		Name:    "max",
		Summary: "maximum of the values",
		Returns: "a quantity",
		Errors:  "the series has no values",
		Example: exampleSeries + "y.max()",
	}, property((*Series).greatest)},
	{Word{
		Name:    "mean",
		Summary: "arithmetic mean of the values in their unit; for levels, the mean of the decibels",
		Returns: "a quantity",
		Errors:  "the series has no values",
		Example: exampleSeries + "y.mean()",
	}, property((*Series).mean)},
	{Word{
		Name:    "argmin",
		Summary: "position of the minimum",
		Returns: "a point of the axis; for a grid, a tuple with a point of each axis",
		Errors:  "the series has no values",
		Example: exampleSeries + "y.argmin()",
	}, property(func(s *Series) (starlark.Value, error) { i, _ := s.extremes(); return s.place(i) })},
	{Word{
		Name:    "argmax",
		Summary: "position of the maximum",
		Returns: "a point of the axis; for a grid, a tuple with a point of each axis",
		Errors:  "the series has no values",
		Example: exampleSeries + "y.argmax()",
	}, property(func(s *Series) (starlark.Value, error) { _, i := s.extremes(); return s.place(i) })},
	{Word{
		Name:    "at",
		Summary: "value at a point of the axis, interpolated linearly",
		Params: []Param{
			{Name: "place", Kind: anyKind, Mode: Many,
				Doc: "a point such as 1550*nm, or a sweep; for a grid, a wavelength, a temperature, or both"},
			{Name: "wavelength", Kind: wavelengthKind.orSweep(), Mode: Keyword, Optional: true, Doc: "wavelength"},
			{Name: "temperature", Kind: temperatureKind.orSweep(), Mode: Keyword, Optional: true, Doc: "temperature"},
		},
		Returns: "a quantity; a series for a sweep, or for a grid at one point of one axis",
		Errors:  "the point is outside the axis",
		Example: exampleSeries + "y.at(1552*nm)",
	}, func(s *Series, _ *starlark.Thread, a Args) (starlark.Value, error) {
		places := append([]starlark.Value{}, a.Many()...)
		for _, name := range []string{"wavelength", "temperature"} {
			if a.Has(name) {
				places = append(places, a.Get(name))
			}
		}
		if len(places) == 0 {
			return nil, fmt.Errorf("a point of the axis is missing, such as %s", spelled(s.axes[0].Index(0)))
		}
		return s.locateAll(places)
	}},
	{Word{
		Name:    "between",
		Summary: "the series restricted to the points between two values, both included",
		Params: []Param{
			{Name: "low", Kind: anyKind, Doc: "lower end, such as 1535*nm"},
			{Name: "high", Kind: anyKind, Doc: "upper end, such as 1565*nm"},
		},
		Returns: "a series",
		Errors:  "no point lies between them",
		Example: exampleSeries + "y.between(1545*nm, 1555*nm).max()",
	}, func(s *Series, _ *starlark.Thread, a Args) (starlark.Value, error) {
		lo, ok := toQuantity(a.Get("low"))
		if !ok {
			return nil, a.refuse("low", "a quantity such as 1535*nm")
		}
		hi, ok := toQuantity(a.Get("high"))
		if !ok {
			return nil, a.refuse("high", "a quantity such as 1565*nm")
		}
		v, err := s.band(lo, hi)
		if err != nil {
			return nil, err
		}
		return v, nil
	}},
	{Word{
		Name:    "to",
		Summary: "converts to plain numbers in a unit",
		Params:  []Param{{Name: "unit", Kind: unitKind, Doc: "the unit"}},
		Returns: "a list of plain numbers; for a grid, row after row",
		Errors:  "the unit has another dimension",
		Example: exampleSeries + "y.to(um)",
	}, func(s *Series, _ *starlark.Thread, a Args) (starlark.Value, error) {
		return numbersIn(s.unit, s.values, arg[Unit](a, "unit"))
	}},
	{Word{
		Name:    "named",
		Summary: "the same series with another name in plots and tables",
		Params:  []Param{{Name: "label", Kind: textKind, Doc: "the name"}},
		Returns: "a series",
		Example: exampleSeries + `y.named("detuning")`,
	}, func(s *Series, _ *starlark.Thread, a Args) (starlark.Value, error) {
		r := *s
		r.label, r.told = a.Text("label"), true
		return &r, nil
	}},
}, seriesStatistics...)...)

// property makes a method of a function that needs nothing but the series.
func property(f func(*Series) (starlark.Value, error)) func(*Series, *starlark.Thread, Args) (starlark.Value, error) {
	return func(s *Series, _ *starlark.Thread, _ Args) (starlark.Value, error) { return f(s) }
}

func (s *Series) least() (starlark.Value, error)    { i, _ := s.extremes(); return s.value(i) }
func (s *Series) greatest() (starlark.Value, error) { _, i := s.extremes(); return s.value(i) }

func (s *Series) value(i int) (starlark.Value, error) {
	if i < 0 {
		return nil, fmt.Errorf("the %s has no values", s.Type())
	}
	return fromQuantity(s.at(i)), nil
}

func (s *Series) mean() (starlark.Value, error) {
	sum, n := 0.0, 0
	for _, v := range s.values {
		if !math.IsNaN(v) {
			sum, n = sum+v, n+1
		}
	}
	if n == 0 {
		return s.value(-1)
	}
	return fromQuantity(quantity.Quantity{Value: sum / float64(n), Unit: s.unit}), nil
}

// place returns the point of the axis, or of both axes, that belongs to value i.
func (s *Series) place(i int) (starlark.Value, error) {
	if i < 0 {
		return s.value(i)
	}
	if len(s.axes) == 1 {
		return s.axes[0].Index(i), nil
	}
	n := s.axes[1].Len()
	return starlark.Tuple{s.axes[0].Index(i / n), s.axes[1].Index(i % n)}, nil
}
