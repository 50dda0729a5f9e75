package vocab

import (
	"errors"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
)

var figureNames = func() []string {
	var names []string
	for _, f := range responseFigures {
		names = append(names, f.name)
	}
	return append(names, "return_loss")
}()

var _ = Register(Word{
	Name:    "plot",
	Summary: "plots curves, readings and limits on one pair of axes",
	Params: []Param{
		{Name: "things", Kind: anyKind, Mode: Many,
			Doc: "series, grids, responses over a sweep, measured data, verifications, limits; or a dict of these by " +
				"label"},
		{Name: "figure", Kind: choice(figureNames...), Mode: Keyword, Optional: true,
			Doc: "the figure of responses and measured data; default: isolation (backward), insertion loss (forward)"},
		{Name: "labels", Kind: listOf(textKind, "a list of texts"), Mode: Keyword, Optional: true,
			Doc: "labels of the curves, in order"},
		{Name: "title", Kind: textKind, Mode: Keyword, Optional: true,
			Doc: "the caption; default: the quantities of the axes"},
		{Name: "x", Kind: rangeKind, Mode: Keyword, Optional: true,
			Doc: "ends of the horizontal axis, such as (1530*nm, 1570*nm)"},
		{Name: "y", Kind: rangeKind, Mode: Keyword, Optional: true,
			Doc: "ends of the vertical axis, such as (20*dB, 60*dB)"},
	},
	Returns: "None; the figure is an output of the cell",
	Errors:  "there is nothing to plot, the axes differ, or there are more than 12 curves",
	Example: exampleStack + "x = sweep(1530*nm, 1565*nm, 1*nm)\nplot(s.backward(x), " +
		"limits(isolation=at_least(30*dB), over=x), title=\"isolation of the design\")",
	Detail: "A grid is plotted as one curve per temperature. Bars on readings are expanded uncertainties (k = 2), if " +
		"the file states standard uncertainties. " +
		"A reading that is a lower bound is plotted as an arrow that starts at the bound. For a verification, the " +
		"fixture floor is subtracted from the isolation.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		f, err := plotted(a)
		if err != nil {
			return nil, err
		}
		return starlark.None, show(t, session.Shown{Blocks: []document.Block{f}})
	},
})

// rangeKind is the two ends of an axis.
var rangeKind = Kind{"two quantities such as (1530*nm, 1570*nm)", "", func(v starlark.Value) (bool, string) {
	items, ok := elements(v)
	if !ok || len(items) != 2 {
		return false, ""
	}
	lo, okLo := toQuantity(items[0])
	hi, okHi := toQuantity(items[1])
	if !okLo || !okHi {
		return false, ""
	}
	if c, err := quantity.Compare(lo, hi); err != nil || c >= 0 {
		return false, "got two in falling order"
	}
	return true, ""
}}

func plotted(a Args) (document.Figure, error) {
	all, lims, err := gather(a.Many(), a.Text("figure"))
	if err != nil {
		return document.Figure{}, err
	}
	if err := relabel(all, a); err != nil {
		return document.Figure{}, err
	}
	tellApart(all)
	c, err := session.Await(a.ctx, func() (figure.Chart, error) { return chart(all) })
	if err != nil {
		return document.Figure{}, err
	}
	c.Limits = limitLines(lims, limitFigure(a.Text("figure"), all), all[0].x.unit)
	if len(lims) > 0 && len(c.Limits) == 0 {
		return document.Figure{}, fmt.Errorf("none of the limits is for the plotted figure, %s", all[0].y.name)
	}
	if err := bound(&c.X, a, "x", all[0].x.unit); err != nil {
		return document.Figure{}, err
	}
	if err := bound(&c.Y, a, "y", all[0].y.unit); err != nil {
		return document.Figure{}, err
	}
	caption := a.Text("title")
	if caption == "" {
		caption = capital(c.Y.Label) + " over " + c.X.Label
	}
	return session.Await(a.ctx, func() (document.Figure, error) { return c.Figure(caption), nil })
}

// gather sorts the arguments into traces and limits. The values of a dict take its keys as labels.
func gather(things starlark.Tuple, choice string) ([]trace, limits.Limits, error) {
	var all []trace
	var lims limits.Limits
	add := func(label string, v starlark.Value) error {
		if l, ok := v.(*Limits); ok {
			lims = append(lims, l.list...)
			return nil
		}
		list, err := traces(v, choice)
		if err != nil {
			return err
		}
		for i := range list {
			switch {
			case label != "" && len(list) == 1:
				list[i].label = label
			case label != "":
				list[i].label = joined(label, list[i].label)
			}
		}
		all = append(all, list...)
		return nil
	}
	for _, v := range things {
		if d, ok := v.(*starlark.Dict); ok {
			for _, kv := range d.Items() {
				label, ok := starlark.AsString(kv[0])
				if !ok {
					return nil, nil, fmt.Errorf("the keys of a dict are labels, got %s", describe(kv[0]))
				}
				if err := add(label, kv[1]); err != nil {
					return nil, nil, err
				}
			}
			continue
		}
		if err := add("", v); err != nil {
			return nil, nil, err
		}
	}
	switch {
	case len(all) == 0:
		return nil, nil, errors.New("there is nothing to plot: give a series, a response over a sweep or measured data")
	case len(all) > mostTraces:
		return nil, nil, fmt.Errorf("%d curves are too many to distinguish (limit %d): select some, as in .at(23*degC)",
			len(all), mostTraces)
	}
	return all, lims, nil
}

// tellApart numbers curves that have a label in common, and sets minus signs.
func tellApart(all []trace) {
	count := map[string]int{}
	for _, t := range all {
		count[t.label]++
	}
	seen := map[string]int{}
	for i, t := range all {
		if t.label == "" {
			continue
		}
		seen[t.label]++
		if count[t.label] > 1 {
			all[i].label = fmt.Sprintf("%s (%d)", t.label, seen[t.label])
		}
		all[i].label = document.Signs(all[i].label)
	}
}

func relabel(all []trace, a Args) error {
	if !a.Has("labels") {
		return nil
	}
	labels, _ := elements(a.Get("labels"))
	if len(labels) != len(all) {
		return fmt.Errorf("labels= must have a label for each of %s, got %d", count(len(all), "curve"), len(labels))
	}
	for i, l := range labels {
		all[i].label, _ = starlark.AsString(l)
	}
	return nil
}

// limitFigure is the figure whose limits apply to a plot.
func limitFigure(choice string, all []trace) string {
	_, name := measuredColumn(choice)
	if choice != "" {
		return name
	}
	for _, q := range limits.Quantities {
		if strings.HasSuffix(all[0].y.name, q.String()) {
			return string(q)
		}
	}
	if all[0].y.unit.Dimension() != quantity.OfLevel {
		return ""
	}
	return name // an unnamed level, which the limits may be meant for
}

// bound sets the ends of an axis that the call gives.
func bound(axis *figure.Axis, a Args, name string, unit quantity.Unit) error {
	if !a.Has(name) {
		return nil
	}
	items, _ := elements(a.Get(name))
	for i, end := range []*float64{&axis.Min, &axis.Max} {
		q, _ := toQuantity(items[i])
		r, err := q.In(unit)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		*end = r.Value
	}
	return nil
}
