package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
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
	list := limitedBy(arg[*Limits](a, "limits"))
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

// limitedBy is what limits ask for; nothing without any.
func limitedBy(l *Limits) []wanted {
	if l == nil {
		return nil
	}
	list := make([]wanted, len(l.list))
	for i := range l.list {
		list[i] = limited(&l.list[i])
	}
	return list
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
