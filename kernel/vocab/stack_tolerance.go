package vocab

import (
	"errors"
	"fmt"
	"sort"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/limits"
)

var (
	tolerancesParam = Param{Name: "tolerances", Kind: dictKind.of("dict", `{"rotator1.angle": normal(0.3*deg)}`), Doc: "how far parameters may lie from the stack's values, by path; independent of each other"}
	overParams      = []Param{
		{Name: "wavelength", Kind: wavelengthKind.orSweep(), Mode: Keyword, Optional: true, Doc: "where isolation, insertion loss, PDL and DGD are asked; with limits= it may be left out"},
		{Name: "temperature", Kind: temperatureKind.orSweep(), Mode: Keyword, Default: room, Doc: "the temperature, or a sweep of them, that goes with wavelength="},
		{Name: "limits", Kind: limitsKind, Mode: Keyword, Optional: true, Doc: "requirements; each asks for its figure over its own band and temperatures"},
	}
	heldParam = Param{Name: "held", Kind: boolKind, Mode: Keyword, Default: starlark.False, Doc: "True: the receiver keeps the place it has in the stack; False: it is aligned for each unit, as on the line"}
)

const (
	mostTrials = 1000000
	// bandPoints and rangePoints are at how many wavelengths and temperatures a limit is looked at: without ghost ripple figures
	// are smooth, and mostly worst at an end.
	bandPoints  = 9
	rangePoints = 5
)

var toleranceMethods = []method[*Stack]{
	{Word{
		Name:    "trials",
		Summary: "draws units within tolerances: their yield, how their figures are spread, and which tolerance spreads them",
		Params: append([]Param{
			{Name: "n", Kind: wholeKind, Doc: "how many units"}, tolerancesParam,
		}, append(overParams[:len(overParams):len(overParams)],
			Param{Name: "seed", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(1), Doc: "the same seed draws the same units"},
			Param{Name: "assemble", Kind: instance[*Assembly](`an assembly such as s.assemble(turn="wedge2", at=1550*nm)`), Mode: Keyword, Optional: true, Doc: "what the line does to each unit: the same part is turned until the same figure peaks"},
			heldParam)...),
		Returns: "trials with .good, the share that keeps every limit, its 95 % interval .good_low and .good_high, and .figures, a distribution each",
		Errors:  "a path is not a parameter of the stack, neither wavelength= nor limits= is given, or a unit cannot be built",
		Detail: "Units are drawn as a Latin hypercube. Most figures come from a surface of second order in the parameters, which is held against units evaluated " +
			"by themselves; where it does not fit, every unit is evaluated, which takes longer. The card says how far it was seen to be off, which the interval of the yield allows for. " +
			"A dimension, reflectance or loss is not drawn below zero. Shares are told of 50 units or more. Each figure is the worst over its wavelengths, temperatures and polarization. Ghost ripple is averaged out.",
		Example: exampleStack + `s.trials(1000, {"rotator1.angle": normal(0.3*deg), "wedge2.axis": uniform(0.5*deg)},
         limits=limits(isolation=at_least(30*dB), over=sweep(1535*nm, 1565*nm, 1*nm)))`,
		Source: "McKay, Beckman and Conover, Technometrics 21, 239 (1979); yield: Clopper and Pearson, Biometrika 26, 404 (1934); shares: correlation ratios",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.trials(t, a) }},
	{Word{
		Name:    "corners",
		Summary: "the worst case: every combination of the ends of the tolerances",
		Params:  append([]Param{tolerancesParam}, append(overParams[:len(overParams):len(overParams)], heldParam)...),
		Returns: "corners with .figures, each with .nominal, .worst and .at, the parameters it is worst for",
		Errors:  "there are more than 10 tolerances, a path is not a parameter of the stack, or neither wavelength= nor limits= is given",
		Detail:  "The end of a uniform tolerance is its half-width, that of a normal one three standard deviations.",
		Example: exampleStack + `s.corners({"rotator1.angle": uniform(0.3*deg), "wedge2.axis": uniform(0.5*deg)}, wavelength=1550*nm)`,
		Source:  "worst-case analysis, common practice, no source",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.corners(t, a) }},
	{Word{
		Name:    "search",
		Summary: "the parameters at which a figure of your own is greatest",
		Params: []Param{
			{Name: "vary", Kind: dictKind.of("dict", `{"wedge2.axis": (60*deg, 75*deg)}`), Mode: Keyword, Doc: "the ends between which parameters may lie, by path"},
			{Name: "maximize", Kind: functionKind.of("function", "lambda t: t.backward(1550*nm).isolation"), Mode: Keyword, Doc: "a function of a stack that gives a quantity or a number"},
			{Name: "subject_to", Kind: limitsKind, Mode: Keyword, Optional: true, Doc: "requirements that the stack must keep"},
		},
		Returns: "found with .stack, .at, .value, .before, .keeps_limits and .evaluations",
		Errors:  "a path is not a parameter of the stack, nothing in the ranges can be built, or the function fails",
		Detail: "The whole range is scanned, then the best places are climbed from without derivatives. What is least is found by maximizing its negative. " +
			"A stack that cannot be built, or has no finite value, does not compete. Limits are looked at as in trials: ghost ripple is averaged out.",
		Example: exampleStack + `s.adjusted({"rotator1.angle": 44.4*deg}).search(vary={"wedge2.axis": (60*deg, 75*deg)}, maximize=lambda t: t.backward(1550*nm).isolation_mean)`,
		Source:  "J. A. Nelder and R. Mead, Computer Journal 7, 308 (1965)",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.search(t, a) }},
}

// asks reads what a study is to ask of every unit: the figure of each limit, and all of them where the call says.
func (s *Stack) asks(t *starlark.Thread, a Args) ([]wanted, error) {
	var list []wanted
	if l := arg[*Limits](a, "limits"); l != nil {
		for i := range l.list {
			list = append(list, limited(&l.list[i]))
		}
	}
	if a.Has("wavelength") {
		at, err := conditionsOf(a)
		if err != nil {
			return nil, err
		}
		for _, q := range tolerance.Quantities {
			list = append(list, wanted{figure: tolerance.Figure{Quantity: q, Wavelengths: at.wavelengths, Temperatures: at.temperatures}})
		}
	}
	if len(list) == 0 {
		return nil, errors.New("wavelength= or limits= must say what is asked of the units")
	}
	for _, one := range list {
		if err := s.about(t, one.figure.Wavelengths, one.figure.Temperatures); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// limited is the figure that a limit is set on, over its band and temperatures.
func limited(l *limits.Limit) wanted {
	f := tolerance.Figure{Quantity: l.Quantity, Wavelengths: []quantity.Length{l.Low}, Temperatures: []quantity.Temperature{l.TemperatureLow}}
	for k := 1; k < bandPoints && l.High > l.Low; k++ {
		f.Wavelengths = append(f.Wavelengths, l.Low+(l.High-l.Low)*quantity.Length(k)/(bandPoints-1))
	}
	for k := 1; k < rangePoints && l.TemperatureHigh > l.TemperatureLow; k++ {
		f.Temperatures = append(f.Temperatures, l.TemperatureLow+(l.TemperatureHigh-l.TemperatureLow)*quantity.Temperature(k)/(rangePoints-1))
	}
	return wanted{f, l}
}

func figuresOf(list []wanted) []tolerance.Figure {
	var all []tolerance.Figure
	for _, one := range list {
		all = append(all, one.figure)
	}
	return all
}

// study reads what trials and corners share.
func (s *Stack) study(t *starlark.Thread, a Args) (tolerance.Study, []wanted, error) {
	list, err := s.asks(t, a)
	if err != nil {
		return tolerance.Study{}, nil, err
	}
	tolerances, err := s.tolerances(arg[*starlark.Dict](a, "tolerances"))
	if err != nil {
		return tolerance.Study{}, nil, err
	}
	if len(tolerances) == 0 {
		return tolerance.Study{}, nil, errors.New(`tolerances must name at least one parameter, such as {"rotator1.angle": normal(0.3*deg)}`)
	}
	return tolerance.Study{Stack: s.stack, Tolerances: tolerances, Figures: figuresOf(list), Held: a.Bool("held")}, list, nil
}

func (s *Stack) trials(t *starlark.Thread, a Args) (starlark.Value, error) {
	n, err := a.whole("n", 1, mostTrials)
	if err != nil {
		return nil, err
	}
	seed, err := a.whole("seed", 0, 1<<31-1)
	if err != nil {
		return nil, err
	}
	study, list, err := s.study(t, a)
	if err != nil {
		return nil, err
	}
	study.Trials, study.Seed = n, uint64(seed)
	how := "aligned anew"
	if study.Held {
		how = "the receiver where the stack has it"
	}
	if b := arg[*Assembly](a, "assemble"); b != nil {
		if study.Held {
			return nil, errors.New("held= and assemble= exclude each other: a part is turned with the receiver aligned at every step")
		}
		if err := s.turns(b.did.Part); err != nil {
			return nil, fmt.Errorf("assemble: %w", err)
		}
		study.Turn = &tolerance.Turning{Part: b.did.Part, Peak: peaks[b.peak], At: b.at, Temperature: b.temperature}
		how = fmt.Sprintf("%s turned until %s peaks at %s, %s", b.did.Part, b.peak, inNanometres(b.at), inCelsius(b.temperature))
	}
	ctx, work := working(t, "drawing "+count(n, "unit"))
	defer work.End()
	study.Progress = work.At
	return session.Await(ctx, func() (starlark.Value, error) {
		found, err := study.Run(ctx)
		if err != nil {
			return nil, err
		}
		return newTrials(list, found, n, uint64(seed), how), nil
	})
}

func (s *Stack) corners(t *starlark.Thread, a Args) (starlark.Value, error) {
	study, list, err := s.study(t, a)
	if err != nil {
		return nil, err
	}
	ctx, work := working(t, "corners of "+count(len(study.Tolerances), "tolerance"))
	defer work.End()
	study.Progress = work.At
	return session.Await(ctx, func() (starlark.Value, error) {
		found, err := study.Corners(ctx)
		if err != nil {
			return nil, err
		}
		return &Corners{opaque{"corners"}, list, found}, nil
	})
}

// Found is where a search ended, as a cell holds it.
type Found struct {
	opaque
	found  *tolerance.Found
	paths  []string
	value  starlark.Value
	before starlark.Value // of the stack as it was
	broke  bool           // it did not keep the limits
	limits bool
}

func (f *Found) String() string { return fmt.Sprintf("<found %s>", describeAt(f.paths, f.found.At)) }

func describeAt(paths []string, at []quantity.Quantity) string {
	var all []string
	for j, path := range paths {
		all = append(all, path+" = "+sensible(at[j]))
	}
	return strings.Join(all, ", ")
}

// Attr returns a field.
func (f *Found) Attr(name string) (starlark.Value, error) {
	switch name {
	case "stack":
		return newStack(f.found.Stack), nil
	case "at":
		return parametersDict(f.paths, f.found.At)
	case "value":
		return f.value, nil
	case "before":
		return f.before, nil
	case "evaluations":
		return starlark.MakeInt(f.found.Evaluations), nil
	case "keeps_limits":
		if !f.limits {
			return starlark.None, nil
		}
		return starlark.Bool(f.found.Violation == 0), nil
	}
	return nil, nil
}

// AttrNames lists the fields.
func (f *Found) AttrNames() []string {
	return []string{"at", "before", "evaluations", "keeps_limits", "stack", "value"}
}

func (f *Found) json() any {
	m := map[string]any{}
	for _, name := range f.AttrNames() {
		if v, err := f.Attr(name); err == nil && name != "stack" {
			m[name] = JSON(v)
		}
	}
	return m
}

func (f *Found) blocks() []document.Block {
	text := func(v starlark.Value) string {
		if q, ok := v.(Quantity); ok {
			return sensible(q.Quantity)
		}
		return v.String()
	}
	rows := []document.Field{{Name: "greatest value", Value: text(f.value)}, {Name: "of the stack as it was", Value: text(f.before)}}
	var said []string
	for j, path := range f.paths {
		rows = append(rows, row(path, f.found.At[j]))
		if f.found.Bound[j] {
			said = append(said, path+" lies at an end of its range: the greatest value may lie beyond")
		}
	}
	switch {
	case f.found.Violation > 0:
		rows[0].Name = "value"
		said = append(said, "nothing in these ranges keeps the limits: this is what misses them least")
	case f.broke:
		said = append(said, "the stack as it was does not keep the limits")
	}
	if n := f.found.LeftOut; n > 0 {
		said = append(said, fmt.Sprintf("%s could not be built, or had no finite value, and did not compete", count(n, "stack")))
	}
	rows = append(rows, document.Field{Name: "stacks evaluated", Value: fmt.Sprint(f.found.Evaluations)})
	return append([]document.Block{fields("Found", rows...)}, cautions(said)...)
}

func (s *Stack) search(t *starlark.Thread, a Args) (starlark.Value, error) {
	vary, paths, err := s.ranges(arg[*starlark.Dict](a, "vary"))
	if err != nil {
		return nil, err
	}
	var list []wanted
	if l := arg[*Limits](a, "subject_to"); l != nil {
		for i := range l.list {
			list = append(list, limited(&l.list[i]))
		}
	}
	ctx, work := counting(t, "searching")
	defer work.End()
	var unit *quantity.Unit // nil of plain numbers
	first := true
	// valued calls the cell's function; its answers must be of one kind.
	valued := func(c *stack.Stack) (float64, error) {
		v, err := starlark.Call(t, a.Get("maximize"), starlark.Tuple{newStack(c)}, nil)
		if err != nil {
			return 0, err
		}
		q, ok := toQuantity(v)
		if !ok {
			return 0, fmt.Errorf("maximize must give a quantity or a number, got %s", describe(v))
		}
		if first {
			first = false
			if q.Unit != (quantity.Unit{}) {
				unit = &q.Unit
			}
		}
		if unit == nil {
			if q.Unit != (quantity.Unit{}) {
				return 0, fmt.Errorf("maximize gave a plain number at first, and now %s", describe(v))
			}
			return q.Value, nil
		}
		in, err := q.In(*unit)
		if err != nil {
			return 0, fmt.Errorf("maximize gave a quantity in %s at first, and now %s", unit.Symbol(), describe(v))
		}
		return in.Value, nil
	}
	// missed is by how much the limits are missed, in dB.
	missed := func(c *stack.Stack) (float64, error) {
		if len(list) == 0 {
			return 0, nil
		}
		worst, err := tolerance.Worst(ctx, c, figuresOf(list))
		if err != nil {
			return 0, err
		}
		sum := 0.0
		for k, one := range list {
			by := worst[k] - one.limit.Value
			if one.limit.AtLeast {
				by = -by
			}
			sum += max(by, 0)
		}
		return sum, nil
	}
	before, err := valued(s.stack)
	if err != nil {
		return nil, err
	}
	broken, err := missed(s.stack)
	if err != nil {
		return nil, err
	}
	found, err := tolerance.Maximize(ctx, s.stack, vary, func(c *stack.Stack) (float64, float64, error) {
		v, err := valued(c)
		if err != nil {
			return 0, 0, err
		}
		by, err := missed(c)
		return v, by, err
	})
	if err != nil {
		return nil, err
	}
	written := func(v float64) starlark.Value {
		if unit == nil {
			return starlark.Float(v)
		}
		return fromQuantity(quantity.Quantity{Value: v, Unit: *unit})
	}
	return &Found{opaque{"found"}, found, paths, written(found.Value), written(before), broken > 0, len(list) > 0}, nil
}

// ranges reads the dict of a search, in the order of the stack's parameters.
func (s *Stack) ranges(d *starlark.Dict) ([]tolerance.Vary, []string, error) {
	byPath := map[string]tolerance.Vary{}
	for _, kv := range d.Items() {
		path, ok := starlark.AsString(kv[0])
		if !ok {
			return nil, nil, fmt.Errorf("a path is a text such as \"wedge2.axis\", got %s", describe(kv[0]))
		}
		ends, ok := elements(kv[1])
		if !ok || len(ends) != 2 {
			return nil, nil, fmt.Errorf("the range of %s must be two quantities such as (60*deg, 75*deg), got %s", path, describe(kv[1]))
		}
		v := tolerance.Vary{Path: path}
		for i, into := range []*quantity.Quantity{&v.Low, &v.High} {
			q, ok := toQuantity(ends[i])
			if !ok {
				return nil, nil, fmt.Errorf("the range of %s must be two quantities such as (60*deg, 75*deg), got %s", path, describe(ends[i]))
			}
			if err := s.known(path, q); err != nil {
				return nil, nil, err
			}
			*into = q
		}
		byPath[path] = v
	}
	order := map[string]int{}
	for i, p := range s.stack.Parameters() {
		order[p.Path] = i
	}
	var paths []string
	for path := range byPath {
		paths = append(paths, path)
	}
	sort.Slice(paths, func(i, j int) bool { return order[paths[i]] < order[paths[j]] })
	var vary []tolerance.Vary
	for _, path := range paths {
		vary = append(vary, byPath[path])
	}
	if len(vary) == 0 {
		return nil, nil, errors.New(`vary must name at least one parameter, such as {"wedge2.axis": (60*deg, 75*deg)}`)
	}
	return vary, paths, nil
}
