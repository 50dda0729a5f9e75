package vocab

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/fit"
)

// seriesStatistics are methods of a series that look at all its values: what they are like, where they keep a bound,
// what runs through them.
var seriesStatistics = []method[*Series]{
	{Word{
		Name:    "median",
		Summary: "median of the values: as many are above as below",
		Returns: "a quantity",
		Errors:  "the series has no values",
		Example: exampleSeries + "y.median()",
	}, property(func(s *Series) (starlark.Value, error) { return s.quantile(0.5) })},
	{Word{
		Name:    "percentile",
		Summary: "value that a percentage of the values does not exceed, interpolated between neighbours",
		Params:  []Param{{Name: "p", Kind: numberKind, Doc: "the percentage, from 0 to 100"}},
		Returns: "a quantity",
		Errors:  "the series has no values, or p is outside 0 to 100",
		Example: exampleSeries + "y.percentile(90)",
		Source:  "linear interpolation of the order statistics, definition 7 of Hyndman and Fan, Am. Stat. 50, 361 (1996)",
	}, func(s *Series, _ *starlark.Thread, a Args) (starlark.Value, error) {
		p := a.SI("p")
		if !(p >= 0 && p <= 100) {
			return nil, a.refuse("p", "a number from 0 to 100")
		}
		return s.quantile(p / 100)
	}},
	{Word{
		Name:    "deviation",
		Summary: "standard deviation of the values about their mean, in their unit",
		Returns: "a quantity; for temperatures, a difference in kelvin",
		Errors:  "the series has fewer than two values",
		Example: exampleSeries + "y.deviation()",
		Source:  "square root of the sum of squares over n - 1, as JCGM 100:2008, 4.2.2",
	}, property((*Series).deviation)},
	{Word{
		Name:    "above",
		Summary: "where the values are at least a bound, as far as straight lines between them tell",
		Params:  []Param{{Name: "bound", Kind: anyKind, Doc: "the bound, such as 30*dB"}},
		Returns: "a tuple of pairs: the first and last place of each stretch; empty if there is none",
		Errors:  "the series is a grid, or the bound has another dimension",
		Example: exampleSeries + "y.above(0*nm)",
	}, func(s *Series, _ *starlark.Thread, a Args) (starlark.Value, error) { return s.stretches(a, +1) }},
	{Word{
		Name:    "below",
		Summary: "where the values are at most a bound, as far as straight lines between them tell",
		Params:  []Param{{Name: "bound", Kind: anyKind, Doc: "the bound, such as 0.6*dB"}},
		Returns: "a tuple of pairs: the first and last place of each stretch; empty if there is none",
		Errors:  "the series is a grid, or the bound has another dimension",
		Example: exampleSeries + "y.below(0*nm)",
	}, func(s *Series, _ *starlark.Thread, a Args) (starlark.Value, error) { return s.stretches(a, -1) }},
	{Word{
		Name:    "fit",
		Summary: "polynomial through the values by least squares, all of one weight",
		Params: []Param{
			{Name: "degree", Kind: wholeKind, Default: starlark.MakeInt(1), Doc: "its degree, 0 to 6"},
			{Name: "about", Kind: anyKind, Mode: Keyword, Optional: true,
				Doc: "place x0 of which (x - x0) is the variable; default: the middle of the axis"},
		},
		Returns: "a polynomial with .coefficients, .about, .series and .deviation of the values from it",
		Errors:  "the series is a grid, or has too few values for the degree",
		Example: exampleSeries + "y.fit(1, about=1550*nm).coefficients",
		Source:  "orthogonal factorization of the design matrix (QR)",
	}, func(s *Series, _ *starlark.Thread, a Args) (starlark.Value, error) { return s.fit(a) }},
}

// present returns the values that are there, in rising order.
func (s *Series) present() []float64 {
	v := slices.DeleteFunc(slices.Clone(s.values), math.IsNaN)
	slices.Sort(v)
	return v
}

func (s *Series) quantile(p float64) (starlark.Value, error) {
	v := s.present()
	if len(v) == 0 {
		return s.value(-1)
	}
	at := p * float64(len(v)-1)
	i := min(int(at), len(v)-1)
	x := v[i]
	if part := at - float64(i); part > 0 {
		x += part * (v[i+1] - x)
	}
	return fromQuantity(quantity.Quantity{Value: x, Unit: s.unit}), nil
}

func (s *Series) deviation() (starlark.Value, error) {
	v := s.present()
	if len(v) < 2 {
		return nil, fmt.Errorf("the %s has %s, and a deviation needs two", s.Type(), count(len(v), "value"))
	}
	d, err := s.differences(fit.Deviation(v))
	if err != nil {
		return nil, err
	}
	return fromQuantity(d), nil
}

// differences is a difference of two values as a quantity: of temperatures, in kelvin.
func (s *Series) differences(d float64) (quantity.Quantity, error) {
	zero := quantity.Attach(0, s.unit)
	return quantity.Sub(quantity.Attach(d, s.unit), zero)
}

// one refuses a grid.
func (s *Series) one() error {
	if len(s.axes) != 1 {
		return errors.New("a grid has two axes: select a series, as in .at(23*degC) or [0]")
	}
	return nil
}

// stretches finds where sign*value >= sign*bound, by straight lines between values; a missing value ends a stretch.
func (s *Series) stretches(a Args, sign float64) (starlark.Value, error) {
	if err := s.one(); err != nil {
		return nil, err
	}
	q, ok := toQuantity(a.Get("bound"))
	if !ok {
		return nil, a.refuse("bound", "a quantity such as 30*dB")
	}
	b, err := q.In(s.unit)
	if err != nil || q.Absolute() != quantity.Attach(0, s.unit).Absolute() {
		return nil, fmt.Errorf("the values are in %s, got %s", Unit{s.unit}, describe(a.Get("bound")))
	}
	axis := s.axes[0]
	var all starlark.Tuple
	var from float64
	within := false
	over := func(i int) float64 { return sign * (s.values[i] - b.Value) } // NaN for a missing value
	place := func(x float64) starlark.Value { return fromQuantity(quantity.Quantity{Value: x, Unit: axis.unit}) }
	crossing := func(i int) float64 { // between i-1 and i
		d0, d1 := over(i-1), over(i)
		return axis.values[i-1] + (axis.values[i]-axis.values[i-1])*d0/(d0-d1)
	}
	for i := range s.values {
		is := over(i) >= 0
		switch {
		case is && !within:
			from = axis.values[i]
			if i > 0 && over(i-1) < 0 {
				from = crossing(i)
			}
		case !is && within:
			to := axis.values[i-1]
			if over(i) < 0 {
				to = crossing(i)
			}
			all = append(all, starlark.Tuple{place(from), place(to)})
		}
		within = is
	}
	if within {
		all = append(all, starlark.Tuple{place(from), place(axis.values[len(axis.values)-1])})
	}
	return all, nil
}

// mostDegree bounds a fitted polynomial: one of a higher degree says more of the noise than of the values.
const mostDegree = 6

// Polynomial is a polynomial that was fitted to a series.
type Polynomial struct {
	opaque
	coefficients []quantity.Quantity
	about        quantity.Quantity
	fitted       *Series
	deviation    quantity.Quantity
}

func (p *Polynomial) String() string {
	return fmt.Sprintf("<polynomial of degree %d about %s>", len(p.coefficients)-1, p.about)
}

// Attr returns a field.
func (p *Polynomial) Attr(name string) (starlark.Value, error) { return polynomialType.attr(p, name) }

// AttrNames lists them.
func (p *Polynomial) AttrNames() []string { return polynomialType.names(p) }

var polynomialType = newType("polynomial", methodSet[*Polynomial]{},
	tupleAttr("coefficients", "of 1, x - x0, (x - x0)² and so on", func(p *Polynomial) []Quantity {
		var all []Quantity
		for _, c := range p.coefficients {
			all = append(all, Quantity{c})
		}
		return all
	}),
	quantityAttr("about", "the place x0", func(p *Polynomial) quantity.Quantity { return p.about }),
	valueAttr("series", "series", "its values over the axis of the series",
		func(p *Polynomial) (starlark.Value, error) {
			return p.fitted, nil
		}),
	quantityAttr("deviation", "root of the sum of the squared deviations over n - degree - 1; 0 without any to spare",
		func(p *Polynomial) quantity.Quantity { return p.deviation }),
)

func (p *Polynomial) blocks() []document.Block {
	rows := []document.Field{row("about", p.about)}
	for k, c := range p.coefficients {
		rows = append(rows, row(fmt.Sprintf("coefficient %d", k), c))
	}
	return []document.Block{fields("Polynomial by least squares", append(rows, row("deviation", p.deviation))...)}
}

func (s *Series) fit(a Args) (starlark.Value, error) {
	if err := s.one(); err != nil {
		return nil, err
	}
	degree, err := a.whole("degree", 0, mostDegree)
	if err != nil {
		return nil, err
	}
	axis := s.axes[0]
	about := quantity.Quantity{Unit: axis.unit}
	if n := axis.Len(); n > 0 {
		about.Value = (axis.values[0] + axis.values[n-1]) / 2
	}
	if a.Has("about") {
		q, ok := toQuantity(a.Get("about"))
		if !ok {
			return nil, a.refuse("about", "a place on the axis such as 1550*nm")
		}
		if about, err = q.In(axis.unit); err != nil {
			return nil, fmt.Errorf("about= must be a place on the axis, which is in %s, got %s", Unit{axis.unit},
				describe(a.Get("about")))
		}
	}
	var xs, ys []float64
	for i, y := range s.values {
		if !math.IsNaN(y) {
			xs, ys = append(xs, axis.values[i]-about.Value), append(ys, y)
		}
	}
	p, err := fit.Polynomial(xs, ys, degree)
	if err != nil {
		return nil, err
	}
	return s.polynomial(p, about)
}

// polynomial dresses a polynomial of x - about in units.
func (s *Series) polynomial(f fit.Fitted, about quantity.Quantity) (*Polynomial, error) {
	axis := s.axes[0]
	p := &Polynomial{opaque: opaque{"polynomial"}, about: about,
		fitted: newSeries(joined(s.label, "fitted"), axis, s.unit, make([]float64, axis.Len()))}
	one, err := quantity.Sub(quantity.Attach(1, axis.unit), quantity.Attach(0, axis.unit))
	if err != nil {
		return nil, err
	}
	for k, v := range f.Coefficients {
		q := quantity.Quantity{Value: v, Unit: s.unit}
		if k > 0 {
			if q, err = s.differences(v); err != nil {
				return nil, err
			}
		}
		for range k {
			if q, err = quantity.Div(q, one); err != nil {
				return nil, err
			}
		}
		p.coefficients = append(p.coefficients, q)
	}
	for i, x := range axis.values {
		p.fitted.values[i] = f.At(x - about.Value)
	}
	p.deviation, err = s.differences(f.Deviation)
	return p, err
}
