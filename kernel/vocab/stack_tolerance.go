package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/limits"
)

var (
	tolerancesParam = Param{Name: "tolerances", Kind: dictKind.of("dict", `{"rotator1.angle": normal(0.3*deg)}`),
		Doc: "how far parameters may differ from the stack's values, by path; independent of each other unless " +
			"correlated= is given"}
	correlatedParam = Param{Name: "correlated", Kind: dictKind.of("dict", `{"wedge1.apex, wedge2.apex": 0.8}`),
		Mode: Keyword, Optional: true, Doc: "correlation coefficients of tolerances, by pair of paths; all others " +
			"are independent. For tolerances that are not normal, the coefficient is that of the underlying normal " +
			"variables"}
	overParams = []Param{
		{Name: "wavelength", Kind: wavelengthKind.orSweep(), Mode: Keyword, Optional: true,
			Doc: "wavelengths at which to compute isolation, insertion loss, PDL and DGD; optional with limits="},
		{Name: "temperature", Kind: temperatureKind.orSweep(), Mode: Keyword, Default: room,
			Doc: "temperature or temperature grid for wavelength="},
		{Name: "limits", Kind: limitsKind, Mode: Keyword, Optional: true,
			Doc: "requirements; the figure of each is computed over its own band and temperatures"},
	}
	heldParam = Param{Name: "held", Kind: boolKind, Mode: Keyword, Default: starlark.False,
		Doc: "True: the receiver is fixed where the stack has it; False: it is realigned for each unit, as in assembly"}
)

const (
	// mostTrials bounds the units of a study of effects or changes, mostStreamed those of trials, whose memory does not
	// grow with them.
	mostTrials, mostStreamed = 1_000_000, 100_000_000
	// bandPoints and rangePoints are the numbers of wavelengths and temperatures at which a limit is checked: without
	// the ripple of double reflections figures are smooth, and mostly worst at an end.
	bandPoints  = 9
	rangePoints = 5
)

var toleranceMethods = []method[*Stack]{
	{Word{
		Name:    "trials",
		Summary: "samples units within tolerances: yield, spread of each figure, and the tolerances that cause it",
		Params: append([]Param{
			{Name: "n", Kind: wholeKind, Doc: "number of units"}, tolerancesParam,
		}, append(overParams[:len(overParams):len(overParams)],
			Param{Name: "seed", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(1),
				Doc: "the same seed gives the same units"}, correlatedParam,
			Param{Name: "assemble",
				Kind: instance[*Assembly](`an assembly such as s.assemble(turn="wedge2", at=1550*nm)`),
				Mode: Keyword, Optional: true,
				Doc: "what assembly does to each unit: the same element is turned until the same figure peaks"},
			heldParam,
			Param{Name: "shard", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(1),
				Doc: "which of shards= parts of the n units to sample; merge() joins them"},
			Param{Name: "shards", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(1),
				Doc: "the number of parts"})...),
		Returns: "trials with .good, the yield (the share of units that meet every limit), its 95 % interval " +
			".good_low and .good_high, and .figures, a distribution each",
		Errors: "a path is not a parameter of the stack, wavelength= and limits= are both missing, or a unit cannot " +
			"be built",
		Detail: "Units are drawn independently of each other, and each is computed with the full model; 16 of them " +
			"are also traced ray by ray, and the summary gives the largest difference. Where a face is bare, has " +
			"layers or a clear aperture, where a return loss is asked for, and with assemble=, the figures come from " +
			"a second-order response surface where that fits, and the interval of the yield allows for its error. A " +
			"dimension, reflectance or loss is never sampled below zero. Shares of variance are reported for 50 " +
			"units or more. Each figure is the worst over its wavelengths, temperatures and polarization. Ripple " +
			"from double reflections is averaged out. Memory does not grow beyond 100,000 units: above that, " +
			"percentiles come from a histogram of 0.002 dB (0.0004 ps) cells, and shares, .values and plots from the " +
			"first 100,000 units.",
		Example: exampleStack + `s.trials(1000, {"rotator1.angle": normal(0.3*deg), "wedge2.axis": uniform(0.5*deg)},
         limits=limits(isolation=at_least(30*dB), over=sweep(1535*nm, 1565*nm, 1*nm)))`,
		Source: "yield: Clopper and Pearson, Biometrika 26, 404 (1934); shares: correlation ratios",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.trials(t, a) }},
	{Word{
		Name:    "corners",
		Summary: "worst case over every combination of the ends of the tolerances",
		Params:  append([]Param{tolerancesParam}, append(overParams[:len(overParams):len(overParams)], heldParam)...),
		Returns: "corners with .figures, each with .nominal, .worst and .at, the parameters at which it is worst",
		Errors: fmt.Sprintf("there are more than %d tolerances, a path is not a parameter of the stack, or "+
			"wavelength= and limits= are both missing", tolerance.MostCorners),
		Detail: "The end of a uniform tolerance is its half-width; the end of a normal tolerance is three standard " +
			"deviations.",
		Example: exampleStack + `s.corners({"rotator1.angle": uniform(0.3*deg), "wedge2.axis": uniform(0.5*deg)},
    wavelength=1550*nm)`,
		Source: "worst-case analysis, common practice, no source",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.corners(t, a) }},
	effectsMethod,
	tightenMethod,
	meetsMethod,
	{Word{
		Name:    "search",
		Summary: "finds the parameters that maximize a function you supply",
		Params: []Param{
			{Name: "vary", Kind: dictKind.of("dict", `{"wedge2.axis": (60*deg, 75*deg)}`), Mode: Keyword,
				Doc: "range of each parameter, by path; \"wedge1.apex, wedge2.apex\" ties several to one value, and " +
					"among([...]) or one_of(...) instead of a range allows these values only"},
			{Name: "maximize", Kind: goalsKind, Mode: Keyword,
				Doc: "a function that takes a stack and returns a quantity or a number; or a list of two or three, " +
					"for the compromises between them"},
			{Name: "ghosts", Kind: choice("incoherent", "coherent", "none"), Mode: Keyword, Optional: true,
				Doc: "how double reflections between parallel faces count in the stacks that the function is given; " +
					"default: added in power, so that the search does not climb their ripple, or omitted if the " +
					"stack omits them"},
			{Name: "subject_to", Kind: limitsKind, Mode: Keyword, Optional: true,
				Doc: "requirements that the stack must meet"},
		},
		Returns: "found with .stack, .at, .value, .before, .keeps_limits and .evaluations; with several goals, a " +
			"front with .points, each with .stack, .at and .values",
		Errors: "a path is not a parameter of the stack, no stack in the ranges can be built, or the function fails",
		Detail: "The whole range is scanned; then a derivative-free search starts from the best points. Every " +
			"combination of values from among() or one_of() is searched. To minimize, maximize the negative. A stack " +
			"that cannot be built or has no finite value does not count. The function and the limits see the stack " +
			"without the ripple of double reflections: they add in power, as in trials, unless ghosts=\"coherent\". " +
			"found.stack treats them as the original stack does, so that its figures may differ from found.value by " +
			"the ripple.",
		Example: exampleStack + `s.adjusted({"rotator1.angle": 44.4*deg}).search(vary={"wedge2.axis": (60*deg, 75*deg)},
    maximize=lambda t: t.backward(1550*nm).isolation_mean)`,
		Source: "J. A. Nelder and R. Mead, Computer Journal 7, 308 (1965); several goals: V. J. Bowman, in Multiple " +
			"Criteria Decision Making, 76 (Springer 1976)",
	}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.search(t, a) }},
}

// asks reads what a study computes for every unit: the figure of each limit, and all figures at the conditions of the
// call.
func (s *Stack) asks(t *starlark.Thread, a Args) ([]wanted, error) {
	list := limitedBy(arg[*Limits](a, "limits"))
	if _, takes := a.param("wavelength"); takes && a.Has("wavelength") {
		at, err := conditionsOf(a)
		if err != nil {
			return nil, err
		}
		for _, q := range tolerance.Quantities {
			list = append(list, wanted{figure: tolerance.Figure{Quantity: q, Wavelengths: at.wavelengths,
				Temperatures: at.temperatures}})
		}
	}
	if len(list) == 0 {
		return nil, errors.New("give wavelength= or limits=, so that there is a figure to compute for the units")
	}
	for _, one := range list {
		if err := s.about(t, one.figure.Wavelengths, one.figure.Temperatures); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// limitedBy lists the figures of limits, none for nil.
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
	f := tolerance.Figure{Quantity: string(l.Quantity),
		Wavelengths: []quantity.Length{l.Low}, Temperatures: []quantity.Temperature{l.TemperatureLow}}
	for k := 1; k < bandPoints && l.High > l.Low; k++ {
		f.Wavelengths = append(f.Wavelengths, l.Low+(l.High-l.Low)*quantity.Length(k)/(bandPoints-1))
	}
	for k := 1; k < rangePoints && l.TemperatureHigh > l.TemperatureLow; k++ {
		f.Temperatures = append(f.Temperatures,
			l.TemperatureLow+(l.TemperatureHigh-l.TemperatureLow)*quantity.Temperature(k)/(rangePoints-1))
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
		return tolerance.Study{}, nil, errors.New(`tolerances must name at least one parameter, such as {"rotator1.angle": ` +
			`normal(0.3*deg)}`)
	}
	study := tolerance.Study{Stack: s.stack, Tolerances: tolerances, Figures: figuresOf(list), Held: a.Bool("held")}
	if _, takes := a.param("correlated"); takes {
		study.Correlations, err = correlations(arg[*starlark.Dict](a, "correlated"))
	}
	return study, list, err
}

// sampled is a study of n= units, least or more, drawn from seed=, and what is asked of them.
func (s *Stack) sampled(t *starlark.Thread, a Args, least, most int) (study tolerance.Study, list []wanted, err error) {
	n, err := a.whole("n", least, most)
	if err != nil {
		return study, nil, err
	}
	seed, err := a.whole("seed", 0, 1<<31-1)
	if err != nil {
		return study, nil, err
	}
	if study, list, err = s.study(t, a); err != nil {
		return study, nil, err
	}
	study.Trials, study.Seed = n, uint64(seed)
	study.Good = func(k int, v float64) bool { return list[k].keeps(v) }
	return study, list, nil
}

func (s *Stack) trials(t *starlark.Thread, a Args) (starlark.Value, error) {
	study, list, err := s.sampled(t, a, 1, mostStreamed)
	if err != nil {
		return nil, err
	}
	how := aligned(study.Held)
	if b := arg[*Assembly](a, "assemble"); b != nil {
		if study.Held {
			return nil, errors.New("held= and assemble= exclude each other: an element is turned with the receiver " +
				"realigned at every step")
		}
		if err := s.turns(b.did.Part); err != nil {
			return nil, fmt.Errorf("assemble: %w", err)
		}
		study.Turn = &tolerance.Turning{Part: b.did.Part, Peak: peaks[b.peak], At: b.at, Temperature: b.temperature}
		how = fmt.Sprintf("%s turned until %s peaks at %s, %s",
			b.did.Part, b.peak, inNanometres(b.at), inCelsius(b.temperature))
	}
	if study.From, study.To, err = shardOf(a, study.Trials); err != nil {
		return nil, err
	}
	ctx, work := working(t, "sampling "+count(study.To-study.From, "unit"))
	defer work.End()
	study.Progress = work.At
	return apart(t, ctx, func() (starlark.Value, error) {
		found, err := study.Run(ctx)
		if err != nil {
			return nil, err
		}
		return newTrials(list, found, found.Units, study.Seed, how), nil
	})
}

// shardOf says which of n units shard= of shards= are.
func shardOf(a Args, n int) (from, to int, err error) {
	shards, err := a.whole("shards", 1, min(n, mostShards))
	if err != nil {
		return 0, 0, err
	}
	shard, err := a.whole("shard", 1, shards)
	return (shard - 1) * n / shards, shard * n / shards, err
}

// mostShards bounds the parts of a study.
const mostShards = 10_000

func (s *Stack) corners(t *starlark.Thread, a Args) (starlark.Value, error) {
	study, list, err := s.study(t, a)
	if err != nil {
		return nil, err
	}
	ctx, work := working(t, "corners of "+count(len(study.Tolerances), "tolerance"))
	defer work.End()
	study.Progress = work.At
	return apart(t, ctx, func() (starlark.Value, error) {
		found, err := study.Corners(ctx)
		if err != nil {
			return nil, err
		}
		return &Corners{opaque{"corners"}, list, found}, nil
	})
}
