package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/gauge"
	"wedgework/reports/lot"
	"wedgework/reports/uncertainty"
)

var _ = Register(Word{
	Name:    "check_standard",
	Summary: "bias and drift of a bench, by a reference part that is read from time to time",
	Params: []Param{
		{Name: "values", Kind: listOf(acting, "a list of readings such as [30.02*dB, 30.05*dB, 29.98*dB]"),
			Doc: "what the bench read of the reference part, three readings or more"},
		{Name: "reference", Kind: acting, Mode: Keyword, Doc: "value of the reference part, from its certificate"},
		{Name: "uncertainty", Kind: acting.notNegative(), Mode: Keyword,
			Doc: "standard uncertainty of the value of the reference part"},
		{Name: "times", Kind: listOf(textKind, `a list of dates such as ["2026-11-02", "2026-11-09"]`), Mode: Keyword,
			Optional: true, Doc: "date or time of each reading (ISO 8601); default: evenly spaced, in the order given"},
	},
	Returns: "a check standard with .bias, .bias_uncertainty (expanded), .biased, .drift per day (without times=, " +
		"per reading), .drift_uncertainty, .drifts, .signals of the control chart, .steps and .sentence",
	Errors: "there are fewer than three readings; readings, reference and uncertainty differ in dimension; a date " +
		"cannot be read, or all are the same",
	Example: `check_standard([30.05*dB, 30.02*dB, 30.09*dB, 30.04*dB], reference=30*dB, uncertainty=0.02*dB).sentence`,
	Source:  "JCGM 100:2008, 4.2 and G.4; control chart by ISO 7870-2",
	Detail: "If the readings drift, .bias is the bias at the last reading, by a straight line; otherwise the bias " +
		"of their mean. The drift is significant if it exceeds its expanded uncertainty.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		return session.Await(session.ContextOf(t), func() (starlark.Value, error) { return checkStandard(a) })
	},
})

func checkStandard(a Args) (starlark.Value, error) {
	reference := a.Quantity("reference")
	c := &CheckStandard{opaque: opaque{"check_standard"}, unit: reference.Unit}
	u, err := a.Quantity("uncertainty").In(reference.Unit)
	if err != nil {
		return nil, fmt.Errorf("uncertainty: %w", err)
	}
	items, _ := elements(a.Get("values"))
	var values, times []float64
	for i, item := range items {
		q, _ := toQuantity(item)
		in, err := q.In(reference.Unit)
		if err != nil {
			return nil, fmt.Errorf("values, item %d: %w", i+1, err)
		}
		values = append(values, in.Value)
		c.names = append(c.names, fmt.Sprint(i+1))
	}
	if dates, ok := elements(a.Get("times")); ok {
		c.dated = true
		c.names = textItems(dates)
		for i, name := range c.names {
			at, ok := lot.ParseWhen(name)
			if !ok {
				return nil, fmt.Errorf("times, item %d: %q is no date such as 2026-11-25", i+1, shorten(name))
			}
			times = append(times, float64(at.Unix())/86400)
		}
	}
	c.s, err = gauge.NewStandard(values, times, uncertainty.Estimate{Value: reference.Value, Standard: u.Value})
	if err != nil {
		return nil, err
	}
	if c.dated {
		c.names = inOrder(c.names, times)
	}
	return c, nil
}

// inOrder puts names in the order of their times.
func inOrder(names []string, times []float64) []string {
	order := gauge.Order(times)
	sorted := make([]string, len(names))
	for k, i := range order {
		sorted[k] = names[i]
	}
	return sorted
}

// CheckStandard is a check standard as a cell holds it.
type CheckStandard struct {
	opaque
	s     *gauge.Standard
	unit  quantity.Unit
	names []string // of the readings, in their order
	dated bool
}

func (c *CheckStandard) String() string { return "<check standard: " + c.sentence() + ">" }

// Attr returns a field.
func (c *CheckStandard) Attr(name string) (starlark.Value, error) { return standardType.attr(c, name) }

// AttrNames lists them.
func (c *CheckStandard) AttrNames() []string { return standardType.names(c) }

var standardType = newType("check_standard", methodSet[*CheckStandard]{},
	ofStandard("bias", "reading less reference, in force at the last reading",
		func(c *CheckStandard) float64 { return c.s.InForce().Value }),
	ofStandard("bias_uncertainty", "expanded uncertainty of the bias", (*CheckStandard).expanded),
	boolAttr("biased", "whether the bias exceeds its expanded uncertainty",
		func(c *CheckStandard) bool { return c.s.Biased() }),
	ofStandard("drift", "trend per day, or without times per reading",
		func(c *CheckStandard) float64 { return c.s.Drift.Slope }),
	ofStandard("drift_uncertainty", "expanded uncertainty of the trend",
		func(c *CheckStandard) float64 { return c.s.Drift.U }),
	boolAttr("drifts", "whether the trend exceeds its expanded uncertainty",
		func(c *CheckStandard) bool { return c.s.Drifts() }),
	textsAttr("signals", "rules of the control chart that are violated, a sentence each",
		func(c *CheckStandard) []string { return c.s.Chart.Words(c.names) }),
	textsAttr("steps", "where the level of the readings changes, a sentence each", (*CheckStandard).steps),
	textAttr("sentence", "summary in one sentence", (*CheckStandard).sentence),
)

func ofStandard(name, summary string, get func(*CheckStandard) float64) attr[*CheckStandard] {
	return quantityAttr(name, summary, func(c *CheckStandard) quantity.Quantity { return c.in(get(c), 12) })
}

func (c *CheckStandard) in(v float64, digits int) quantity.Quantity {
	return quantity.Quantity{Value: significant(v, digits), Unit: c.unit}
}

func (c *CheckStandard) expanded() float64 {
	u, _ := c.s.InForce().Expanded()
	return u
}

func (c *CheckStandard) steps() []string {
	var all []string
	for _, s := range c.s.Changes {
		all = append(all, fmt.Sprintf("from %s on, the mean is %s; before, it was %s", c.names[s.At],
			c.in(s.After, 5), c.in(s.Before, 5)))
	}
	return all
}

func (c *CheckStandard) per() string {
	if c.dated {
		return "a day"
	}
	return "a reading"
}

func (c *CheckStandard) sentence() string {
	b := c.s.InForce()
	s := fmt.Sprintf("%s: bias %s ± %s", count(len(c.s.Values), "reading"), c.in(b.Value, 3), c.in(c.expanded(), 2))
	if c.s.Biased() {
		s += ", more than its expanded uncertainty"
	} else {
		s += ", within its expanded uncertainty"
	}
	s += fmt.Sprintf("; drift %s ± %s %s", c.in(c.s.Drift.Slope, 3), c.in(c.s.Drift.U, 2), c.per())
	if c.s.Drifts() {
		return s + ", significant"
	}
	return s + ", not significant"
}

func (c *CheckStandard) blocks() []document.Block {
	b := []document.Block{document.Plain("Check standard, " + c.sentence() + ".")}
	var texts []string
	texts = append(texts, c.s.Chart.Words(c.names)...)
	texts = append(texts, c.steps()...)
	if c.s.Biased() {
		texts = append(texts, "the bench is biased: correct the readings, or add the bias to the budget")
	}
	return append(b, cautions(texts)...)
}
