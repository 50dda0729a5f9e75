package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/lot"
)

var _ = Register(Word{
	Name:    "datasheet",
	Summary: "typical and guaranteed values of a design or a lot, from trials and limits",
	Params: []Param{
		{Name: "of", Kind: Kind{"trials, as from s.trials(...), or a lot", "", func(v starlark.Value) (bool, string) {
			switch v.(type) {
			case *Trials, *Lot:
				return true, ""
			}
			return false, ""
		}}, Doc: "trials of a design, or a lot of measured units"},
		{Name: "title", Kind: textKind, Mode: Keyword, Default: starlark.String("Data sheet"), Doc: "the heading"},
	},
	Returns: "a data sheet: shown at the end of a cell, or by display(), as a table and a figure, which a report " +
		"carries as a section of its notebook",
	Errors: "there are no figures",
	Example: exampleStack + "lim = limits(isolation=at_least(30*dB), insertion_loss=at_most(0.6*dB), " +
		"over=sweep(1545*nm, 1555*nm, 5*nm))\n" +
		"datasheet(s.trials(500, {\"rotator1.angle\": normal(0.3*deg)}, limits=lim), title=\"HA-1550\")",
	Detail: "Trials: typical is the median of the units. Guaranteed is the limit, to which every unit is tested, " +
		"with the share of units that meet it; without a limit it is the value that 99 % of the units keep. Lot: " +
		"typical is the mean. Guaranteed is the limit if the tolerance interval meets it, otherwise the end of that " +
		"interval.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		d := &Datasheet{opaque: opaque{"datasheet"}, title: a.Text("title")}
		switch v := a.Get("of").(type) {
		case *Trials:
			d.ofTrials(v)
		case *Lot:
			if err := d.ofLot(v); err != nil {
				return nil, err
			}
		}
		if len(d.rows) == 0 {
			return nil, errors.New("there are no figures: give trials with limits or wavelengths, or a lot that was " +
				"verified")
		}
		return d, nil
	},
})

// Datasheet is the table and the figure of a data sheet.
type Datasheet struct {
	opaque
	title  string
	rows   []sheetRow
	note   string
	figure document.Figure
}

// sheetRow is a figure with its values; share is that of the units that meet a limit, -1 where nobody knows.
type sheetRow struct {
	name, where         string
	typical, guaranteed quantity.Quantity
	least               bool // the guaranteed value is the least that it can be
	share               float64
	from                string
}

func (d *Datasheet) String() string {
	return fmt.Sprintf("<datasheet %s: %s>", d.title, count(len(d.rows), "figure"))
}

// Attr returns a field.
func (d *Datasheet) Attr(name string) (starlark.Value, error) { return datasheetType.attr(d, name) }

// AttrNames lists them.
func (d *Datasheet) AttrNames() []string { return datasheetType.names(d) }

var datasheetType = newType("datasheet", methodSet[*Datasheet]{},
	textAttr("title", "the heading", func(d *Datasheet) string { return d.title }),
	tupleAttr("names", "the figures", func(d *Datasheet) (all []starlark.Value) {
		for _, r := range d.rows {
			all = append(all, starlark.String(r.name))
		}
		return all
	}),
	tupleAttr("typical", "typical value of each", func(d *Datasheet) (all []starlark.Value) {
		for _, r := range d.rows {
			all = append(all, fromQuantity(r.typical))
		}
		return all
	}),
	tupleAttr("guaranteed", "guaranteed value of each", func(d *Datasheet) (all []starlark.Value) {
		for _, r := range d.rows {
			all = append(all, fromQuantity(r.guaranteed))
		}
		return all
	}),
)

// ofTrials takes the figures of a design.
func (d *Datasheet) ofTrials(t *Trials) {
	const kept = 0.99
	for _, one := range t.figures {
		r := sheetRow{name: one.wanted.name(), where: one.wanted.where(), typical: one.in(one.over.Quantile(0.5)),
			least: one.wanted.figure.Least(), share: -1, from: "99 % of the units"}
		p := kept
		if r.least {
			p = 1 - kept
		}
		r.guaranteed = one.in(one.over.Quantile(p))
		if l := one.wanted.limit; l != nil {
			r.guaranteed, r.least, r.from = one.wanted.threshold(), l.AtLeast, "limit"
			r.share = float64(one.good) / float64(one.over.Count)
		}
		d.rows = append(d.rows, r)
	}
	d.note = fmt.Sprintf("Typical: median of %s. Guaranteed by a limit: every unit is tested to it, and the share of "+
		"the units that meet it is stated. %s", count(t.count, "unit"), worstOver(t.wanted))
	d.figure = t.histograms()
	if p, ok := d.figure.Drawing.(figure.Panels); !ok || len(p.Charts) == 0 {
		d.figure = document.Figure{}
	}
}

// ofLot takes the figures of measured units.
func (d *Datasheet) ofLot(l *Lot) error {
	panels := figure.Panels{Columns: 2}
	units := 0
	for i := range l.study.Characteristics {
		c := &l.study.Characteristics[i]
		if c.Limit == nil {
			continue // a parameter, or a figure that nothing is promised of
		}
		r := sheetRow{name: c.Name, where: c.Condition, typical: c.In(c.Mean), least: c.Limit.AtLeast, share: -1}
		limit := c.In(0)
		limit.Value = c.Limit.Value
		switch {
		case c.Keeps == document.Pass:
			r.guaranteed, r.from = limit, "limit, which the tolerance interval meets"
		case c.Interval.K > 0 && r.least && c.Interval.Sides != lot.Upper:
			r.guaranteed, r.from = c.In(c.Interval.Low), "tolerance interval"
		case c.Interval.K > 0 && !r.least && c.Interval.Sides != lot.Lower:
			r.guaranteed, r.from = c.In(c.Interval.High), "tolerance interval"
		default:
			return fmt.Errorf("%s has too few units for a guaranteed value", c.Name)
		}
		d.rows = append(d.rows, r)
		units = max(units, len(c.Values))
		panels.Charts = append(panels.Charts, unitsChart(c))
	}
	d.note = fmt.Sprintf("Typical: mean of %s. Tolerance interval: of %.0f %% of all such units, with %.0f %% "+
		"confidence.",
		count(units, "measured unit"), 100*l.study.Coverage.Proportion, 100*l.study.Coverage.Confidence)
	if panels.Charts = panels.Charts[:min(len(panels.Charts), mostPanels)]; len(panels.Charts) > 0 {
		panels.Columns = min(panels.Columns, len(panels.Charts))
		d.figure = panels.Figure("Values of the measured units and their limits.")
	}
	return nil
}

// unitsChart shows the values of units in their order, with the limit.
func unitsChart(c *lot.Characteristic) figure.Chart {
	one := figure.Series{Marker: figure.Circle, Line: figure.NoLine, Color: figure.Blue}
	for i, v := range c.Values {
		one.X, one.Y = append(one.X, float64(i+1)), append(one.Y, c.In(v).Value)
	}
	return figure.Chart{Title: document.Signs(joined(c.Name, document.Brief(c.Condition))),
		X: figure.Axis{Label: "unit", Whole: true, Min: 0.5, Max: float64(len(c.Values)) + 0.5},
		Y: figure.Axis{Label: c.Name, Unit: c.In(0).Unit.Symbol()}, Series: []figure.Series{one},
		Limits: []figure.Limit{{Label: boundText(c.Limit.AtLeast) + " " + quantity.Quantity{Value: c.Limit.Value,
			Unit: c.In(0).Unit}.String(), At: c.Limit.Value, Forbid: figure.Forbidden(c.Limit.AtLeast)}}}
}

func (d *Datasheet) blocks() []document.Block {
	t := document.Table{Caption: "Typical and guaranteed values", Columns: []document.Column{{Head: "figure"},
		{Head: "conditions"}, {Head: "typical", Align: document.Right}, {Head: "guaranteed", Align: document.Right},
		{Head: "from"}}, Note: d.note}
	shares := false
	for _, r := range d.rows {
		shares = shares || r.share >= 0
	}
	if shares {
		t.Columns = append(t.Columns, document.Column{Head: "units that meet it", Align: document.Right})
	}
	for _, r := range d.rows {
		sign := "≤ "
		if r.least {
			sign = "≥ "
		}
		row := []string{r.name, r.where, sensible(r.typical), sign + sensible(r.guaranteed), r.from}
		if shares && r.share >= 0 {
			row = append(row, percent(r.share))
		} else if shares {
			row = append(row, "")
		}
		t.Rows = append(t.Rows, row)
	}
	blocks := []document.Block{document.Heading{Level: 3, Text: d.title}, t}
	if d.figure.Drawing != nil {
		blocks = append(blocks, d.figure)
	}
	return blocks
}
