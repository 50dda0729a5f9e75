package compose

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
	"wedgework/reports/record"
	"wedgework/reports/review"
)

// designVerdicts are those of the designs, for the first page: of several designs each judgement is as good as that of
// the worst, and its sentence names those that do not pass.
func (s Source) designVerdicts() []document.Verdict {
	all := s.Record.Designs
	if len(all) == 1 {
		front := make([]document.Verdict, len(all[0].Verdicts))
		for i, v := range all[0].Verdicts {
			front[i] = Verdict(v)
			front[i].Sentence = inFront(v.Sentence, "see the table of limits")
		}
		return front
	}
	var front []document.Verdict
	var names []string // of designs that do not pass, by verdict
	var counts [][2]int
	for _, d := range all {
		for _, v := range d.Verdicts {
			one := Verdict(v)
			i := slices.IndexFunc(front, func(o document.Verdict) bool { return o.Subject == one.Subject })
			if i < 0 {
				i = len(front)
				front = append(front, document.Verdict{Subject: one.Subject, Outcome: one.Outcome})
				names, counts = append(names, ""), append(counts, [2]int{})
			}
			counts[i][1]++
			if one.Outcome == document.Pass {
				counts[i][0]++
			} else {
				names[i] += "; " + outcome(one.Outcome.String()) + ": " + d.Design
			}
			if worse(one.Outcome, front[i].Outcome) {
				front[i].Outcome = one.Outcome
			}
		}
	}
	for i := range front {
		front[i].Sentence = inFront(document.Passing(counts[i][0], counts[i][1], "design")+names[i], "see the tables")
	}
	return front
}

// reviews is what was found of designs: limits and figures, which are signed where no unit was measured, then pictures.
func reviews(s Source) []document.Section {
	var all []document.Section
	for i, d := range s.Record.Designs {
		title := "Design against limits"
		if len(s.Record.Designs) > 1 {
			title += ": " + d.Design
		}
		if i == 0 && len(s.units()) == 0 {
			all = append(all, front(len(d.Limits), func(rows int) []document.Block { return signed(s, d, rows) }))
		} else {
			all = append(all, document.Section{Title: title, Level: 1, Blocks: []document.Block{DesignTable(d),
				document.Plain(designNote)}})
		}
		var b []document.Block
		if d.Yield != nil {
			b = append(b, yieldBlocks(*d.Yield)...)
		}
		if f, ok := DesignFigure(s.Outcome.Reviewed[i], d); ok {
			b = append(b, f)
		}
		if len(b) > 0 {
			all = append(all, document.Section{Title: "Figures and limits of " + d.Design, Level: 1, Blocks: b})
		}
	}
	return all
}

// signed is what is signed of the first design: as many limits as have rows before the signatures.
func signed(s Source, d record.Design, rows int) []document.Block {
	table := DesignTable(d)
	whole := rows == len(d.Limits)
	var b []document.Block
	if whole {
		b = append(b, table)
	} else {
		cut := table
		cut.Rows, cut.Caption, cut.Note = nil, "", ""
		for _, i := range slices.Sorted(slices.Values(closestFirst(d.Limits)[:rows])) {
			cut.Rows = append(cut.Rows, table.Rows[i])
		}
		b = append(b, document.Plain(fmt.Sprintf("%d of %s: those not met, and the closest. The table behind the "+
			"signatures has all of them.", rows, document.Count(len(d.Limits), "limit"))), cut)
	}
	b = append(b, document.Plain("No unit has been measured: every figure on this page is that of the model."),
		signatures())
	if !whole {
		b = append(b, table)
	}
	return append(b, document.Plain(designNote))
}

// closestFirst orders limits by what a reviewer must look at: failures, what is not decided, then the smallest margin
// in parts of its limit.
func closestFirst(all []record.DesignLimit) []int {
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	rank := func(i int) (int, float64) {
		l := all[i]
		return slices.Index(worstFirst, document.OutcomeOf(l.Outcome)), l.Margin.Float() / l.Limit.Float()
	}
	slices.SortStableFunc(order, func(a, b int) int {
		ra, ma := rank(a)
		rb, mb := rank(b)
		switch {
		case ra != rb:
			return ra - rb
		case ma < mb:
			return -1
		case ma > mb:
			return 1
		}
		return 0
	})
	return order
}

// designNote explains the columns of DesignTable.
const designNote = "Computed: the extreme over the whole band and all temperatures of the limit, with the wavelength " +
	"and temperature at which it lies. Double reflections are added in power, so that their ripple is averaged. " +
	"Margin: positive if the limit is met."

// DesignTable has the limits of a design with what the design has.
func DesignTable(d record.Design) document.Table {
	t := document.Table{Caption: "Limits and computed figures", Compact: true,
		Columns: columns("No.", "Quantity", "Conditions", ">Limit", ">Computed", ">Margin", "At", "Outcome")}
	if d.Yield != nil {
		t.Columns = append(t.Columns, columns(">Yield")...)
	}
	for i, l := range d.Limits {
		row := []string{fmt.Sprint(i + 1), labelled(plainName(l.Quantity), l.Unit), brief(l.Over),
			ruleSign(l.Rule) + l.Limit.Text(), l.Computed.Or("none"), l.Margin.Signed(), place(l), l.Outcome}
		if d.Yield != nil {
			row = append(row, l.Yield.Percent())
		}
		t.Rows = append(t.Rows, row)
		if l.Why != "" {
			t.Note += fmt.Sprintf(" Limit %d: %s", i+1, document.Sentence(l.Why))
		}
	}
	t.Note = strings.TrimSpace(t.Note)
	return t
}

// place words where an extreme lies.
func place(l record.DesignLimit) string {
	at := l.Wavelength.Text() + record.Tie + "nm, " + l.Temperature.Text() + record.Tie + "°C"
	if l.Port > 0 {
		at += fmt.Sprintf(", port %d", l.Port)
	}
	return at
}

// yieldBlocks say what tolerances make of a design.
func yieldBlocks(y record.Yield) []document.Block {
	share := record.Decimal(float64(y.Good)/float64(y.Units), record.Ratio)
	text := fmt.Sprintf("%d of %s sampled within the tolerances meet every limit: %s (95 %% interval %s to %s).",
		y.Good, document.Count(y.Units, "unit"), share.Percent(), y.Low.Percent(), y.High.Percent())
	if y.Required != "" {
		text += fmt.Sprintf(" At least %s is required.", y.Required.Percent())
	}
	text += fmt.Sprintf(" Each unit: %s. Seed %d.", y.Each, y.Seed)
	t := document.Table{Caption: "Tolerances", Compact: true, Columns: columns("Parameter", "Tolerance")}
	for _, f := range y.Tolerances {
		t.Rows = append(t.Rows, []string{f.Name, f.Value})
	}
	return []document.Block{document.Plain(text), t}
}

// DesignFigure draws the figures of a design over wavelength with their limits and the places where they are worst; ok
// is false where no limit has a band.
func DesignFigure(r *review.Result, d record.Design) (f document.Figure, ok bool) {
	p := figure.Panels{Columns: 2}
	var results []string
	for i, c := range r.Curves {
		if i > 0 && r.Curves[i-1].Quantity == c.Quantity {
			continue
		}
		p.Charts = append(p.Charts, designChart(r, c.Quantity))
	}
	if len(p.Charts) == 0 {
		return f, false
	}
	for _, l := range d.Limits {
		name := extreme(record.Limit{Rule: l.Rule, Quantity: l.Quantity})
		results = append(results, fmt.Sprintf("%s %s %s at %s (%s), limit %s %s %s: %s.", name, l.Computed.Or("none"),
			l.Unit, place(l), brief(l.Over), l.Rule, l.Limit.Text(), l.Unit, outcome(l.Outcome)))
	}
	p.Columns = min(p.Columns, len(p.Charts))
	f = p.Figure("Computed figures of " + d.Design + " against wavelength at the temperatures of the limits. Limits " +
		"are drawn where they apply; circles mark the extremes.")
	f.Height = vg.Length(20+62*((len(p.Charts)+p.Columns-1)/p.Columns)) * vg.Millimeter
	return worded(f, document.Count(len(p.Charts), "panel")+", one a quantity, over wavelength", results), true
}

// designChart is the panel of one quantity.
func designChart(r *review.Result, q limits.Quantity) figure.Chart {
	c := figure.Chart{Title: document.Capital(q.String()), X: figure.Axis{Label: "wavelength", Unit: "nm"},
		Y: figure.Axis{Label: q.String(), Unit: q.Unit()}}
	low, high := math.Inf(1), math.Inf(-1)
	see := func(v float64) {
		if !math.IsNaN(v) {
			low, high = min(low, v), max(high, v)
		}
	}
	for _, curve := range r.Curves {
		if curve.Quantity != q {
			continue
		}
		one := figure.Series{Label: celsius(curve.Temperature)}
		for k, l := range curve.Wavelengths {
			one.X, one.Y = append(one.X, nanometres(l)), append(one.Y, curve.Values[k])
			see(curve.Values[k])
		}
		c.Series = append(c.Series, one)
	}
	worst := figure.Series{Label: "extreme", Marker: figure.Circle, Line: figure.NoLine, Color: figure.Black}
	for _, f := range r.Figures {
		if f.Limit.Quantity != q {
			continue
		}
		if !math.IsNaN(f.Value) {
			worst.X, worst.Y = append(worst.X, nanometres(f.Wavelength)), append(worst.Y, f.Value)
			see(f.Value)
		}
		line := figure.Limit{At: f.Limit.Value, Forbid: figure.Forbidden(f.Limit.AtLeast),
			Label: fmt.Sprintf("%s%s %s", ruleSign(f.Limit.Side()), record.InUnit(f.Limit.Value, q.Unit()).Text(),
				q.Unit())}
		line.From, line.To = nanometres(f.Limit.Low), nanometres(f.Limit.High)
		if f.Limit.High == f.Limit.Low && len(c.Series[0].X) > 0 { // a stroke that is seen
			x := c.Series[0].X
			half := (x[len(x)-1] - x[0]) / 40
			line.From, line.To = line.From-half, line.To+half
		}
		c.Limits = append(c.Limits, line)
		see(f.Limit.Value)
	}
	if len(worst.X) > 0 {
		c.Series = append(c.Series, worst)
	}
	room := max(high-low, 1e-3) * 0.12
	c.Y.Min, c.Y.Max = low-room, high+room
	return c
}
