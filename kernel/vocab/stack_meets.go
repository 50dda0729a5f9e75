package vocab

import (
	"context"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/compose"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/record"
	"wedgework/reports/recording"
	"wedgework/reports/review"
)

// ReviewHost is a Host that takes the reviews of designs into its report.
type ReviewHost interface {
	Host
	// Reviewed takes a *review.Result.
	Reviewed(result any)
}

var meetsMethod = method[*Stack]{Word{
	Name:    "meets",
	Summary: "compares the design with limits: figures, margins, where each is worst, a verdict",
	Params: []Param{
		{Name: "limits", Kind: limitsKind, Doc: "requirements, from limits()"},
		{Name: "tolerances", Kind: tolerancesParam.Kind, Mode: Keyword, Optional: true,
			Doc: "how far parameters may differ from the stack's values, by path; adds the yield"},
		{Name: "n", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(2000),
			Doc: "number of units sampled within the tolerances"},
		{Name: "seed", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(1),
			Doc: "the same seed gives the same units"},
		heldParam,
		{Name: "least_yield", Kind: ratioKind, Mode: Keyword, Optional: true,
			Doc: "share of the units that must meet every limit, for a verdict of its own; needs tolerances="},
		{Name: "name", Kind: reportText.of("text", `"single stage"`), Mode: Keyword, Default: starlark.String("design"),
			Doc: "how a report calls the design"},
		{Name: "report", Kind: boolKind, Mode: Keyword, Default: starlark.True,
			Doc: "False: the verdict does not enter the report, as while designs are tried"},
	},
	Returns: "a design review, true if every verdict passes, with .passes, .conformity, .figures, .worst, .good and " +
		".sentence",
	Errors: "a limit is on a change, least_yield= is given without tolerances=, or a wavelength is outside the range " +
		"of a material",
	Detail: "Each figure is the extreme over the whole band and all temperatures of its limit. It is searched for, " +
		"not taken from a grid. Double reflections add in power, as in trials. A report lists the verdicts on page " +
		"one, and its exit status is 1 if a design does not meet its limits.",
	Example: exampleStack + `band = sweep(1535*nm, 1565*nm, 1*nm)
lim = limits(isolation=at_least(30*dB), dgd=at_most(1*ps), over=band)
s.meets(lim).worst`,
	Source: "guard factors of limits are for measured figures and have no effect here; yield: Clopper and Pearson, " +
		"Biometrika 26, 404 (1934)",
}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.meets(t, a) }}

func (s *Stack) meets(t *starlark.Thread, a Args) (starlark.Value, error) {
	spec := review.Spec{Name: a.Text("name"), Stack: s.stack, Limits: arg[*Limits](a, "limits").list}
	if spec.Name == "" {
		return nil, a.refuse("name", "a name for the design")
	}
	if a.Has("least_yield") && !a.Has("tolerances") {
		return nil, fmt.Errorf("least_yield= needs tolerances=, within which units are sampled")
	}
	ctx, work := counting(t, "design against limits, figures computed")
	defer work.End()
	for _, l := range spec.Limits {
		if err := s.about(t, []quantity.Length{l.Low, l.High},
			[]quantity.Temperature{l.TemperatureLow, l.TemperatureHigh}); err != nil {
			return nil, err
		}
	}
	if a.Has("tolerances") {
		y, err := s.yield(ctx, t, a)
		if err != nil {
			return nil, err
		}
		spec.Yield = y
	}
	v, err := apart(t, ctx, func() (*review.Result, error) { return review.Run(ctx, spec) })
	if err != nil {
		return nil, err
	}
	if h, ok := t.Local(HostKey).(ReviewHost); ok && a.Bool("report") {
		h.Reviewed(v)
	}
	return &Review{opaque{"design_review"}, v}, nil
}

// yield samples units as trials do.
func (s *Stack) yield(ctx context.Context, t *starlark.Thread, a Args) (*review.Yield, error) {
	study, list, err := s.sampled(t, a, 1, mostTrials)
	if err != nil {
		return nil, err
	}
	found, err := apart(t, ctx, func() (*Trials, error) {
		found, err := study.Run(ctx)
		if err != nil {
			return nil, err
		}
		return newTrials(list, found, study.Trials, study.Seed, aligned(study.Held)), nil
	})
	if err != nil {
		return nil, err
	}
	y := &review.Yield{Units: found.count, Good: found.good, Low: found.low, High: found.high, Seed: found.seed,
		How: found.how}
	if a.Has("least_yield") {
		y.Least = a.SI("least_yield")
	}
	for _, d := range found.figures {
		y.Each = append(y.Each, d.good)
	}
	for _, path := range found.found.Paths {
		tol := study.Tolerances[path]
		y.Tolerances = append(y.Tolerances, review.Tolerance{Path: path,
			Text: string(tol.Shape) + ", " + written(tol.Value)})
	}
	return y, nil
}

// aligned says what is done to each unit of a study without assembly.
func aligned(held bool) string {
	if held {
		return "receiver fixed where the stack has it"
	}
	return "realigned"
}

// Review is the comparison of a design with limits, as a value of the cells. It is true if every verdict passes.
type Review struct {
	opaque
	result *review.Result
}

func (r *Review) record() record.Design { return recording.Design(r.result) }

func (r *Review) blocks() []document.Block {
	return append(compose.DesignCard(r.result, r.record()), cautions(r.result.Cautions)...)
}

func (r *Review) String() string {
	return fmt.Sprintf("<design review of %s: %s>", r.result.Name, r.result.Conformity.Outcome)
}

// Truth is whether every verdict passes; undecided is not a pass.
func (r *Review) Truth() starlark.Bool { return starlark.Bool(r.result.Passes()) }

// Attr returns a field or a method.
func (r *Review) Attr(name string) (starlark.Value, error) { return reviewType.attr(r, name) }

// AttrNames lists them.
func (r *Review) AttrNames() []string { return reviewType.names(r) }

var reviewType = newType("design_review", methodSet[*Review]{},
	boolAttr("passes", "whether every verdict passes", func(r *Review) bool { return r.result.Passes() }),
	valueAttr("conformity", "verdict", "verdict: does the design meet its limits?",
		func(r *Review) (starlark.Value, error) {
			return &Verdict{opaque{"verdict"}, r.record().Verdicts[0]}, nil
		}),
	valueAttr("enough", "verdict", "verdict: is the yield at least what is required? None without least_yield=",
		func(r *Review) (starlark.Value, error) {
			return &Verdict{opaque{"verdict"}, r.record().Verdicts[1]}, nil
		}).when(func(r *Review) bool { return r.result.Enough != nil }),
	textAttr("sentence", "verdict in a sentence", func(r *Review) string { return r.result.Conformity.Sentence }),
	tupleAttr("figures", "each limit with the figure of the design", func(r *Review) []*DesignFigure {
		var all []*DesignFigure
		for _, f := range r.result.Figures {
			all = append(all, &DesignFigure{opaque{"design_figure"}, f})
		}
		return all
	}),
	valueAttr("worst", "design_figure", "figure with the smallest margin in parts of its limit",
		func(r *Review) (starlark.Value, error) {
			return &DesignFigure{opaque{"design_figure"}, r.result.Figures[review.Closest(r.result.Figures)]}, nil
		}).notJSON(),
	floatAttr("good", "yield: share of the sampled units that meet every limit; None without tolerances=",
		func(r *Review) float64 { return float64(r.result.Yield.Good) / float64(r.result.Yield.Units) }).
		when((*Review).sampled),
	floatAttr("good_low", "lower end of the 95 % interval of the yield",
		func(r *Review) float64 { return r.result.Yield.Low }).when((*Review).sampled),
	floatAttr("good_high", "upper end of the 95 % interval of the yield",
		func(r *Review) float64 { return r.result.Yield.High }).when((*Review).sampled),
	textsAttr("cautions", "warnings of the model about the design",
		func(r *Review) []string { return r.result.Cautions }),
)

func (r *Review) sampled() bool { return r.result.Yield != nil }

// DesignFigure is one limit and the figure of a design. It is true if the limit is met.
type DesignFigure struct {
	opaque
	figure review.Figure
}

func (f *DesignFigure) String() string {
	return fmt.Sprintf("<%s: %s, %s>", limitText(f.figure.Limit), sensible(f.in(f.figure.Value)), f.figure.Outcome)
}

// Truth is whether the limit is met.
func (f *DesignFigure) Truth() starlark.Bool { return f.figure.Outcome == document.Pass }

// in puts a number into the unit of the limit.
func (f *DesignFigure) in(v float64) quantity.Quantity { return bounded(v, f.figure.Limit.Quantity) }

// Attr returns a field or a method.
func (f *DesignFigure) Attr(name string) (starlark.Value, error) {
	return designFigureType.attr(f, name)
}

// AttrNames lists them.
func (f *DesignFigure) AttrNames() []string { return designFigureType.names(f) }

var designFigureType = newType("design_figure", methodSet[*DesignFigure]{},
	textAttr("name", "what is compared with the limit", func(f *DesignFigure) string {
		return f.figure.Limit.Quantity.Extreme()
	}),
	textAttr("condition", "wavelength band and temperatures of the limit",
		func(f *DesignFigure) string { return limitRange(f.figure.Limit) }),
	quantityAttr("limit", "the limit", func(f *DesignFigure) quantity.Quantity { return f.in(f.figure.Limit.Value) }),
	quantityAttr("value", "the extreme of the design", func(f *DesignFigure) quantity.Quantity {
		return f.in(f.figure.Value)
	}),
	quantityAttr("margin", "margin to the limit; negative if it is not met", func(f *DesignFigure) quantity.Quantity {
		return f.in(f.figure.Margin)
	}),
	valueAttr("wavelength", "quantity", "vacuum wavelength at which the extreme lies",
		func(f *DesignFigure) (starlark.Value, error) { return inNanometres(f.figure.Wavelength), nil }),
	valueAttr("temperature", "quantity", "temperature at which the extreme lies",
		func(f *DesignFigure) (starlark.Value, error) { return inCelsius(f.figure.Temperature), nil }),
	intAttr("port", "of a return loss, the port with the smaller one, 1 or 2; else None",
		func(f *DesignFigure) int { return f.figure.Port }).
		when(func(f *DesignFigure) bool { return f.figure.Limit.Quantity == limits.ReturnLoss }),
	textAttr("outcome", "pass, fail or undecided", func(f *DesignFigure) string { return f.figure.Outcome.String() }),
	textAttr("why", "why it is not decided", func(f *DesignFigure) string { return f.figure.Why }),
)
