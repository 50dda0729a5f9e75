package vocab

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
)

// wanted is a figure that a study asks of every unit, with the limit it comes from.
type wanted struct {
	figure tolerance.Figure
	limit  *limits.Limit // nil: of the conditions of the call
}

func (a wanted) name() string { return limits.Quantity(a.figure.Quantity).String() }

// where says over what the figure is the worst.
func (a wanted) where() string {
	ls, ts := a.figure.Wavelengths, a.figure.Temperatures
	return spanText(inNanometres(slices.Min(ls)),
		inNanometres(slices.Max(ls))) + ", " + spanText(inCelsius(slices.Min(ts)), inCelsius(slices.Max(ts)))
}

// in puts a figure of a study into its unit.
func (a wanted) in(v float64) quantity.Quantity {
	if a.figure.Quantity == tolerance.DGD {
		return quantity.FromSI(v, picosecond)
	}
	return quantity.Of(v, "dB")
}

// keeps reports whether a figure meets the limit, if there is one.
func (a wanted) keeps(v float64) bool { return a.keepsBy(v, 0) }

// keepsBy reports whether a figure meets the limit by a margin, or misses it by no more than a negative one.
func (a wanted) keepsBy(v, margin float64) bool {
	return a.limit == nil || a.missedBy(v)+a.in(margin).Value <= 0
}

// missedBy is by how much a figure misses its limit, negative where it meets it, in the limit's unit: dB, a DGD in ps.
func (a wanted) missedBy(v float64) float64 {
	by := a.in(v).Value - a.limit.Value
	if a.limit.AtLeast {
		return -by
	}
	return by
}

// threshold is the limit of a figure with its unit.
func (a wanted) threshold() quantity.Quantity {
	return quantity.Quantity{Value: a.limit.Value, Unit: a.in(0).Unit}
}

// bound words the limit of a figure.
func (a wanted) bound() string {
	if a.limit == nil {
		return ""
	}
	sign := "≤ "
	if a.limit.AtLeast {
		sign = "≥ "
	}
	return sign + a.threshold().String()
}

// Trials is the outcome of units sampled within tolerances, as a cell holds it.
type Trials struct {
	opaque
	wanted  []wanted
	found   *tolerance.Outcome
	count   int
	seed    uint64
	how     string // what was done to each unit
	figures []*Distribution
	good    int // units that meet every limit; -1 without limits

	// The 95 % interval of their share. It allows for the error seen of a response surface: units that meet a limit by
	// less do not count at its lower end, units that miss it by less count at its upper end.
	low, high float64
}

func newTrials(list []wanted, found *tolerance.Outcome, count int, seed uint64, how string) *Trials {
	t := &Trials{opaque: opaque{"trials"}, wanted: list, found: found, count: count, seed: seed, how: how, good: -1}
	limited := false
	for k := range list {
		d := &Distribution{opaque: opaque{"distribution"}, wanted: list[k], paths: found.Paths, figure: k,
			nominal: found.Nominal[k],
			shares:  found.Shares(k), good: -1, units: found.Values[k], of: found}
		d.over = found.Distribution(k)
		if list[k].limit != nil {
			limited, d.good = true, found.Good[k]
		}
		t.figures = append(t.figures, d)
	}
	if !limited {
		return t
	}
	t.good = found.AllGood
	low, high := t.good, t.good
	if found.Surface { // which keeps the values of all units
		low, high = t.within(1), t.within(-1)
	}
	t.low, _ = tolerance.Yield(low, count)
	_, t.high = tolerance.Yield(high, count)
	return t
}

// within is how many units meet every limit by the error seen of a surface, or with sign -1 miss none by more.
func (t *Trials) within(sign float64) (units int) {
	for n := range t.count {
		all := true
		for k, a := range t.wanted {
			all = all && a.keepsBy(t.found.Values[k][n], sign*t.found.Off[k])
		}
		if all {
			units++
		}
	}
	return units
}

// percent writes a share with as many digits as keep it apart from none and from all.
func percent(share float64) string {
	digits := 1
	if rest := 100 * min(share, 1-share); rest > 0 && rest < 1 {
		digits += min(int(math.Ceil(-math.Log10(rest))), 8)
	}
	return fmt.Sprintf("%.*f %%", digits, 100*share)
}

func (t *Trials) sentence() string {
	if t.good < 0 {
		return count(t.count, "unit") + " sampled"
	}
	return fmt.Sprintf("%d of %s meet every limit: %s (95 %% interval %s to %s)",
		t.good, count(t.count, "unit"), percent(float64(t.good)/float64(t.count)), percent(t.low), percent(t.high))
}

func (t *Trials) String() string { return "<trials: " + t.sentence() + ">" }

// Attr returns a field or a method.
func (t *Trials) Attr(name string) (starlark.Value, error) { return trialsType.attr(t, name) }

// AttrNames lists them.
func (t *Trials) AttrNames() []string { return trialsType.names(t) }

var trialsType = newType("trials", methodSet[*Trials]{},
	intAttr("count", "number of sampled units", func(t *Trials) int { return t.count }),
	textAttr("sentence", "yield in a sentence", (*Trials).sentence),
	floatAttr("good", "yield: share of the units that meet every limit; None without limits", func(t *Trials) float64 {
		return float64(t.good) / float64(t.count)
	}).when((*Trials).limited),
	floatAttr("good_low", "lower end of the 95 % interval of the yield",
		func(t *Trials) float64 { return t.low }).when((*Trials).limited),
	floatAttr("good_high", "upper end of the 95 % interval of the yield",
		func(t *Trials) float64 { return t.high }).when((*Trials).limited),
	tupleAttr("figures", "distribution of each figure over the units",
		func(t *Trials) []*Distribution { return t.figures }),
)

func (t *Trials) limited() bool { return t.good >= 0 }

// cautions says which parameters were sampled at their bound, and where assembly did not reach its peak.
func (t *Trials) cautions() []string {
	var said []string
	for j, share := range t.found.Bounded {
		if share > 0 {
			said = append(said, fmt.Sprintf("the tolerance of %s extends below zero: %s of the units are sampled at "+
				"zero",
				t.found.Paths[j], percent(share)))
		}
	}
	if t.found.Rising {
		said = append(said, "in some units the figure still rises at 10 deg, the largest turn tried: the peak lies "+
			"beyond")
	}
	return said
}

// worstOver says what the figures of a study are the worst over, and how closely limits are looked at: only of what the
// limits really span.
func worstOver(list []wanted) string {
	said := "Each figure is the worst over its wavelengths and temperatures and over polarization."
	var bands, ranges bool
	for _, a := range list {
		if l := a.limit; l != nil {
			bands, ranges = bands || l.High > l.Low, ranges || l.TemperatureHigh > l.TemperatureLow
		}
	}
	var at []string
	if bands {
		at = append(at, fmt.Sprintf("%d wavelengths of its band", bandPoints))
	}
	if ranges {
		at = append(at, fmt.Sprintf("%d temperatures of its range", rangePoints))
	}
	if len(at) == 0 {
		return said
	}
	return said + " A limit is checked at " + strings.Join(at, " and ") + ", the ends included."
}

// mostPanels is how many histograms are drawn beside each other.
const mostPanels = 6

func (t *Trials) blocks() []document.Block {
	drawn := "each computed with the full model"
	switch {
	case t.found.Exact:
		drawn += fmt.Sprintf("; %s traced ray by ray as a check differ by at most %s", count(t.found.Proofs, "unit"),
			t.off())
		if t.found.Left > 0 {
			drawn += fmt.Sprintf("; %s outside what is computed together were traced so too", count(t.found.Left,
				"unit"))
		}
	case t.found.Surface:
		drawn = fmt.Sprintf("from a second-order response surface; %s computed with the full model differ from it by "+
			"at most %s", count(t.found.Proofs, "unit"), t.off())
	}
	rows := []document.Field{{Name: "units", Value: fmt.Sprintf("%d, %s", t.count, drawn)}, {Name: "each unit",
		Value: t.how}, {Name: "seed", Value: fmt.Sprint(t.seed)}}
	if t.good >= 0 {
		rows = append(rows, document.Field{Name: "yield", Value: t.sentence()})
	}
	table := document.Table{Caption: "Figures of the units",
		Compact: true, Columns: []document.Column{{Head: "figure"}, {Head: "where"}}}
	for _, head := range []string{"nominal", "mean", "st. dev.", "1 %", "5 %", "50 %", "95 %", "99 %"} {
		table.Columns = append(table.Columns, document.Column{Head: head, Align: document.Right})
	}
	if t.good >= 0 {
		table.Columns = append(table.Columns, document.Column{Head: "limit"}, document.Column{Head: "yield",
			Align: document.Right})
	}
	for _, d := range t.figures {
		one := d.wanted.in(0)
		text := func(v float64) string {
			q := d.wanted.in(v)
			return quantity.Quantity{Value: q.Value}.Text(levelDigits(q.Value))
		}
		row := []string{d.wanted.name() + " (" + one.Unit.Symbol() + ")",
			d.wanted.where(), text(d.nominal), text(d.over.Mean), text(d.over.Deviation)}
		for _, p := range []float64{0.01, 0.05, 0.5, 0.95, 0.99} {
			row = append(row, text(d.over.Quantile(p)))
		}
		if t.good >= 0 {
			yield := ""
			if d.good >= 0 {
				yield = percent(float64(d.good) / float64(t.count))
			}
			row = append(row, d.wanted.bound(), yield)
		}
		table.Rows = append(table.Rows, row)
	}
	table.Note = worstOver(t.wanted) + " The column n % gives the value that n % of the units lie below."
	blocks := []document.Block{fields("Trials", rows...), table}
	blocks = append(blocks, cautions(t.cautions())...)
	if slices.ContainsFunc(t.figures, (*Distribution).spreads) {
		if t.figures[0].shares != nil {
			blocks = append(blocks, t.sharesTable())
		}
		blocks = append(blocks, t.histograms())
	}
	return blocks
}

// off words the largest difference seen from units computed one by one, for each quantity.
func (t *Trials) off() string {
	var names []string
	most := map[string]quantity.Quantity{}
	for k, a := range t.wanted {
		off := a.in(t.found.Off[k])
		if before, ok := most[a.name()]; !ok {
			names = append(names, a.name())
		} else if off.Value < before.Value {
			continue
		}
		most[a.name()] = off
	}
	for k, name := range names {
		off := most[name]
		off.Value = max(significant(off.Value, 2), 1e-4) // of no more interest
		names[k] = fmt.Sprintf("%s (%s)", off, name)
	}
	return strings.Join(names, ", ")
}

// sharesTable gives the shares of variance of each figure by tolerance.
func (t *Trials) sharesTable() document.Table {
	table := document.Table{Caption: "Shares of variance by tolerance",
		Compact: true, Columns: []document.Column{{Head: "parameter"}}}
	var spread []*Distribution
	for _, d := range t.figures {
		if d.spreads() {
			spread = append(spread, d)
			table.Columns = append(table.Columns,
				document.Column{Head: d.wanted.name() + ", " + document.Brief(d.wanted.where()), Align: document.Right})
		}
	}
	for j, path := range t.found.Paths {
		row := []string{path}
		for _, d := range spread {
			row = append(row, fmt.Sprintf("%.0f %%", 100*d.shares[j]))
		}
		table.Rows = append(table.Rows, row)
	}
	chance := fmt.Sprintf("With %s, a tolerance without effect shows a share of up to %.2g %% by chance.",
		count(t.count, "unit"), 100*t.found.Chance())
	if t.found.Correlated() {
		table.Note = "Tolerances are correlated: the share of one includes what comes with it from others, so that " +
			"shares need not add up to 100 %. " + chance
		return table
	}
	row := []string{"interactions"}
	for _, d := range spread {
		rest := 1.0
		for _, s := range d.shares {
			rest -= s
		}
		row = append(row, fmt.Sprintf("%.0f %%", 100*max(rest, 0)))
	}
	table.Rows = append(table.Rows, row)
	table.Note = "Interactions: the variance that no single tolerance explains. " + chance
	return table
}

// histograms shows how the figures that spread do so, the first few of them.
func (t *Trials) histograms() document.Figure {
	p := figure.Panels{Columns: 2}
	for _, d := range t.figures {
		if d.spreads() && len(p.Charts) < mostPanels {
			p.Charts = append(p.Charts, d.histogram())
		}
	}
	p.Columns = min(p.Columns, len(p.Charts))
	return p.Figure(fmt.Sprintf("Distribution of each figure over %s.", count(t.count, "unit")))
}

// histogram shows the distribution of a figure over the units, and its limit.
func (d *Distribution) histogram() figure.Chart {
	unit := d.wanted.in(0).Unit.Symbol()
	c := figure.Chart{Title: document.Signs(d.wanted.name() + ", " + document.Brief(d.wanted.where())),
		X: figure.Axis{Label: d.wanted.name(), Unit: unit}, Y: figure.Axis{Label: "units", Unit: "%"}}
	values := make([]float64, len(d.over.Sorted))
	for i, v := range d.over.Sorted {
		values[i] = d.wanted.in(v).Value
	}
	bars, outline, err := figure.Histogram(values, slices.Min(values), slices.Max(values), figure.BinsFor(len(values)))
	if err != nil { // it spreads, so that there are values and they differ
		return c
	}
	bars.Color, outline.Color = figure.Blue, figure.Blue
	c.Y.Max = 1.1 * slices.Max(bars.High)
	c.Bands, c.Series = []figure.Band{bars}, []figure.Series{outline}
	if l := d.wanted.limit; l != nil {
		c.Limits = []figure.Limit{{Label: "limit " + d.wanted.threshold().String(),
			At: l.Value, Vertical: true, Forbid: figure.Forbidden(l.AtLeast)}}
	}
	return c
}
