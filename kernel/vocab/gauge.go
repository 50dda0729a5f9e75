package vocab

import (
	"fmt"
	"math"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/gauge"
	"wedgework/reports/uncertainty"
	numbers "wedgework/reports/verify/text"
)

// Gauge is a gauge study as a cell holds it.
type Gauge struct {
	opaque
	study     *gauge.Study
	figure    string        // the column studied
	unit      quantity.Unit // of the readings; a plain number in leakage amplitude
	amplitude bool
}

func (g *Gauge) String() string { return "<gauge study: " + g.sentence() + ">" }

// Attr returns a field or a method.
func (g *Gauge) Attr(name string) (starlark.Value, error) { return gaugeType.attr(g, name) }

// AttrNames lists them.
func (g *Gauge) AttrNames() []string { return gaugeType.names(g) }

var gaugeType = newType("gauge", gaugeMethods,
	textAttr("sentence", "summary in one sentence", (*Gauge).sentence),
	ofGauge("mean", "mean of all readings", func(g *Gauge) float64 { return g.study.Mean }),
	ofGauge("repeatability", "standard deviation of readings repeated with nothing touched",
		func(g *Gauge) float64 { return g.study.Repeatability.Deviation() }),
	ofGauge("reconnection", "standard deviation from reconnecting the unit",
		func(g *Gauge) float64 { return g.study.Reconnection.Deviation() }).
		when(func(g *Gauge) bool { return g.study.Reconnected }),
	ofGauge("reproducibility", "standard deviation between operators, fixtures and their interactions",
		func(g *Gauge) float64 { return g.study.Reproducibility.Deviation() }),
	ofGauge("bench", "standard deviation of all these together",
		func(g *Gauge) float64 { return g.study.Total.Deviation() }),
	ofGauge("parts", "standard deviation between the units of the study",
		func(g *Gauge) float64 { return g.study.Between.Deviation() }),
	floatAttr("dof", "effective degrees of freedom of the standard deviation of the bench",
		func(g *Gauge) float64 { return g.study.Total.DOF }),
	floatAttr("study_variation", "standard deviation of the bench over that of all readings",
		func(g *Gauge) float64 { return g.study.StudyVariation(g.study.Total) }),
	floatAttr("categories", "number of groups of units that the bench can distinguish",
		func(g *Gauge) float64 { return g.study.Categories() }),
	textsAttr("pooled",
		"interactions counted with the scatter under equal conditions, because they are not significant",
		(*Gauge).pooled),
)

func ofGauge(name, summary string, get func(*Gauge) float64) attr[*Gauge] {
	return quantityAttr(name, summary, func(g *Gauge) quantity.Quantity { return g.in(get(g)) })
}

func (g *Gauge) in(v float64) quantity.Quantity {
	return quantity.Quantity{Value: significant(v, 12), Unit: g.unit}
}

func (g *Gauge) pooled() []string {
	var names []string
	for _, s := range g.study.Sources {
		if s.Pooled {
			names = append(names, s.Name)
		}
	}
	return names
}

// printed writes a standard deviation: amplitudes with the level that it means at the mean.
func (g *Gauge) printed(v float64) string {
	s := quantity.Quantity{Value: significant(v, 3), Unit: g.unit}.String()
	if g.amplitude && g.study.Mean > 0 {
		s += fmt.Sprintf(" (%.3g dB at %.1f dB)", gauge.PerLevel(v, gauge.Level(g.study.Mean)),
			gauge.Level(g.study.Mean))
	}
	return s
}

func (g *Gauge) sentence() string {
	s := g.study
	low, high := s.Total.Interval(uncertainty.Confidence)
	return fmt.Sprintf("the standard deviation of the bench is %s, interval %s to %s with %.3g effective degrees of "+
		"freedom; it accounts for %.1f %% of the standard deviation of all readings and distinguishes %s of units",
		g.printed(s.Total.Deviation()), quantity.Quantity{Value: significant(low, 2), Unit: g.unit},
		quantity.Quantity{Value: significant(high, 2), Unit: g.unit}, s.Total.DOF,
		100*s.StudyVariation(s.Total), count(int(min(s.Categories(), 1e6)), "group"))
}

// blocks are the analysis of variance, the components and the summary.
func (g *Gauge) blocks() []document.Block {
	return []document.Block{g.variance(), g.components(), document.Plain(document.Capital(g.sentence()) + ".")}
}

func (g *Gauge) variance() document.Table {
	s := g.study
	right := document.Right
	t := document.Table{
		Caption: "Gauge study, analysis of variance: " + g.what(),
		Columns: []document.Column{{Head: "source"}, {Head: "degrees of freedom", Align: right},
			{Head: "sum of squares", Align: right}, {Head: "mean square", Align: right}, {Head: "F", Align: right},
			{Head: "p", Align: right}},
		Note: fmt.Sprintf("%s, %s; %s of a unit under the same conditions, %s of each.",
			count(len(s.Parts), "unit"), g.conditions(), count(s.Connections, "connection"),
			count(s.Repeats, "reading")),
	}
	for _, src := range s.Sources {
		name, f, p := src.Name, "–", "–"
		if !math.IsNaN(src.F) {
			f, p = fmt.Sprintf("%.4g", src.F), numbers.PValue(src.PValue)
		}
		if src.Pooled {
			name += " (pooled)"
		}
		t.Rows = append(t.Rows, []string{name, fmt.Sprintf("%.0f", src.DOF), fmt.Sprintf("%.5g", src.Squares),
			fmt.Sprintf("%.5g", src.Mean), f, p})
	}
	if len(g.pooled()) > 0 {
		with := "repeatability"
		if s.Connections > 1 {
			with = "reconnection"
		}
		t.Note += fmt.Sprintf(" Pooled: not significant at %g %%, counted as %s.", 100*s.Pool, with)
	}
	return t
}

func (g *Gauge) what() string {
	s := figureLabel(g.figure)
	if g.amplitude {
		return s + " in leakage amplitude"
	}
	return s
}

func (g *Gauge) conditions() string {
	var all []string
	for i, name := range g.study.Conditions {
		all = append(all, count(len(g.study.Levels[i]), name))
	}
	if len(all) == 0 {
		return "one set of conditions"
	}
	return strings.Join(all, ", ")
}

func (g *Gauge) components() document.Table {
	s := g.study
	right := document.Right
	unit := Unit{g.unit}.String()
	head := "standard deviation"
	if unit != "" && g.unit.Dimension() != quantity.Plain {
		head += " [" + unit + "]"
	}
	t := document.Table{
		Caption: "Gauge study, components of variance",
		Columns: []document.Column{{Head: "component"}, {Head: "variance", Align: right},
			{Head: head, Align: right}, {Head: "share of variance [%]", Align: right},
			{Head: "share of standard deviation [%]", Align: right}, {Head: "degrees of freedom", Align: right}},
		Note: "Shares of standard deviation do not add up. Bench: all components but the units.",
	}
	row := func(c gauge.Component) {
		dof := "–"
		if c.DOF > 0 {
			dof = fmt.Sprintf("%.3g", c.DOF)
		}
		t.Rows = append(t.Rows, []string{c.Name, fmt.Sprintf("%.4g", c.Variance), fmt.Sprintf("%.4g", c.Deviation()),
			fmt.Sprintf("%.2f", 100*s.Contribution(c)), fmt.Sprintf("%.1f", 100*s.StudyVariation(c)), dof})
	}
	negative := false
	for _, c := range s.Components {
		row(c)
		negative = negative || c.Raw < 0
	}
	row(s.Total)
	if negative {
		t.Note += " A negative estimate is set to zero: the variance is too small to be seen in this study."
	}
	return t
}

// part returns a component of the bench by the name that methods take.
func (g *Gauge) part(of string) gauge.Component {
	switch of {
	case "repeatability":
		return g.study.Repeatability
	case "reconnection":
		return g.study.Reconnection
	case "reproducibility":
		return g.study.Reproducibility
	}
	return g.study.Total
}

// sharedBy is which readings of one file have the error of a component in common.
var sharedBy = map[string]uncertainty.Shared{"repeatability": uncertainty.ByPoint, "reconnection": uncertainty.ByAll,
	"reproducibility": uncertainty.ByAll, "bench": uncertainty.ByAll}

var gaugeMethods = newMethods("gauge",
	method[*Gauge]{Word{
		Name:    "contribution",
		Summary: "a component of the study as a contribution to an uncertainty budget",
		Params: []Param{
			{Name: "of", Kind: choice("repeatability", "reconnection", "reproducibility", "bench"),
				Doc: "which component; common to: repeatability, one reading; the others, all readings"},
			{Name: "at", Kind: levelKind.of("level", "30*dB").positive(), Optional: true,
				Doc: "for a study in leakage amplitude, the isolation at which the contribution is stated in dB, " +
					"such as the limit"},
		},
		Returns: "a contribution for budget(), with the effective degrees of freedom of the study",
		Errors:  "the component is zero; at= is missing for a study in leakage amplitude, or given for another",
		Example: exampleGauge + `budget(repeatability={"isolation": g.contribution("repeatability", at=30*dB)},
    reconnection=g.contribution("reconnection", at=30*dB))`,
		Source: "JCGM 100:2008, 4.2 and G.4",
	}, contributionOf},
	method[*Gauge]{Word{
		Name:    "against",
		Summary: "whether the bench is fine enough for a limit",
		Params: []Param{{Name: "limit", Kind: instance[*Bound]("a limit such as at_least(30*dB)"),
			Doc: "limit of the figure; the other end of the tolerance is its natural bound, zero leakage or zero loss"}},
		Returns: "a suitability with .fit (suitable up to 10 % of the tolerance, marginal up to 30 %, else too " +
			"coarse), .ratio, .guard_band, .undecided and .sentence",
		Errors:  "the limit is of another dimension, or not on the side on which the figure has no natural bound",
		Example: exampleGauge + `g.against(at_least(30*dB)).sentence`,
		Detail: "The ratio is six standard deviations of the bench over the tolerance. The guard band is the " +
			"expanded uncertainty by the bench alone, to which the other contributions of the budget add. The share " +
			"of units that would remain undecided assumes units like those of the study, normally distributed.",
	}, againstLimit},
)

func contributionOf(g *Gauge, _ *starlark.Thread, a Args) (starlark.Value, error) {
	of := a.Text("of")
	c := g.part(of)
	if c.Variance == 0 {
		return nil, fmt.Errorf("the %s is zero in this study: leave the contribution out of the budget", of)
	}
	value := g.in(c.Deviation())
	switch {
	case g.amplitude && !a.Has("at"):
		return nil, fmt.Errorf("the study is in leakage amplitude: at= is missing, the isolation at which the " +
			"contribution is stated in dB, such as at=30*dB")
	case !g.amplitude && a.Has("at"):
		return nil, fmt.Errorf("at= is for studies in leakage amplitude; this one is in %s", Unit{g.unit})
	case g.amplitude:
		value = quantity.Of(gauge.PerLevel(c.Deviation(), a.SI("at")), "dB")
	}
	value.Value = significant(value.Value, 3)
	line := uncertainty.Contribution{Value: value, Distribution: uncertainty.Normal, DOF: c.DOF, Shared: sharedBy[of]}
	if line.DOF >= 1 && line.DOF < 1e6 {
		line.Distribution = uncertainty.Student
	}
	line.DOF = max(line.DOF, 1)
	return &Contribution{opaque{"contribution"}, line}, nil
}

func againstLimit(g *Gauge, _ *starlark.Thread, a Args) (starlark.Value, error) {
	b := arg[*Bound](a, "limit")
	upper := b.value
	if g.amplitude {
		if !b.atLeast || b.value.Dimension() != quantity.OfLevel {
			return nil, a.refuse("limit", "a lower limit of the isolation such as at_least(30*dB)")
		}
		upper = quantity.Quantity{Value: gauge.Amplitude(b.value.Value)}
	} else if b.atLeast {
		return nil, a.refuse("limit", "an upper limit such as at_most(0.6*dB): below it, zero is the natural bound; "+
			"study a figure with a lower limit in leakage amplitude")
	}
	in, err := upper.In(g.unit)
	if err != nil {
		return nil, fmt.Errorf("limit: %w", err)
	}
	if !(in.Value > 0) {
		return nil, a.refuse("limit", "a limit above zero")
	}
	return &Suitability{opaque{"suitability"}, g, b, g.study.Against(0, in.Value)}, nil
}

// Suitability is a bench beside a limit, as a cell holds it.
type Suitability struct {
	opaque
	of    *Gauge
	limit *Bound
	s     gauge.Suitability
}

func (s *Suitability) String() string { return "<suitability: " + s.sentence() + ">" }

// Attr returns a field.
func (s *Suitability) Attr(name string) (starlark.Value, error) { return suitabilityType.attr(s, name) }

// AttrNames lists them.
func (s *Suitability) AttrNames() []string { return suitabilityType.names(s) }

var suitabilityType = newType("suitability", methodSet[*Suitability]{},
	textAttr("fit", "suitable, marginal or too coarse", func(s *Suitability) string { return string(s.s.Fit) }),
	floatAttr("ratio", "six standard deviations of the bench over the tolerance",
		func(s *Suitability) float64 { return s.s.Ratio }),
	quantityAttr("guard_band", "expanded uncertainty of one reading at the limit, by the bench alone",
		(*Suitability).guard),
	floatAttr("undecided", "expected share of units like those of the study that one reading leaves undecided",
		func(s *Suitability) float64 { return s.s.Undecided }),
	textAttr("sentence", "summary in one sentence", (*Suitability).sentence),
)

// guard is the guard band in the unit of the limit.
func (s *Suitability) guard() quantity.Quantity {
	if s.of.amplitude {
		return quantity.Of(significant(gauge.PerLevel(s.s.Guard, s.limit.value.Value), 3), "dB")
	}
	return quantity.Quantity{Value: significant(s.s.Guard, 3), Unit: s.of.unit}
}

func (s *Suitability) sentence() string {
	what := figureLabel(s.of.figure) + " " + boundText(s.limit.atLeast) + " " + s.limit.value.String()
	verdict := map[gauge.Fit]string{gauge.Fine: "is suitable for", gauge.Marginal: "is marginal for",
		gauge.Coarse: "is too coarse for"}[s.s.Fit]
	return fmt.Sprintf("the bench %s the limit %s: six standard deviations are %.1f %% of the tolerance, its guard "+
		"band alone is %s, and %.1f %% of units like those of the study would remain undecided", verdict, what,
		100*s.s.Ratio, s.guard(), 100*s.s.Undecided)
}

func (s *Suitability) blocks() []document.Block {
	text := document.Capital(s.sentence()) + "."
	if s.s.Fit == gauge.Coarse {
		return []document.Block{document.Caution{Text: text}}
	}
	return []document.Block{document.Plain(text)}
}
