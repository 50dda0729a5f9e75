package vocab

import (
	"errors"
	"fmt"
	"slices"
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
	Summary: "plots curves, points, histograms, maps, readings and limits",
	Params: append(slices.Clone(chartParams),
		Param{Name: "columns", Kind: wholeKind, Mode: Keyword, Optional: true,
			Doc: "panels beside each other, 1 to 4; default: 1"},
		Param{Name: "size", Kind: pairKind, Mode: Keyword, Optional: true,
			Doc: "width and height, such as (120*mm, 80*mm); 40 mm to 400 mm; default: (170*mm, 85*mm), higher for " +
				"several rows of panels"}),
	Returns: "None; the figure is an output of the cell",
	Errors: "there is nothing to plot, the axes differ, a value is not above zero on a logarithmic axis, or there " +
		"are more than 12 curves, not counting those of a grid",
	Example: exampleStack + "x = sweep(1530*nm, 1565*nm, 1*nm)\nplot(s.backward(x), " +
		"limits(isolation=at_least(30*dB), over=x), title=\"isolation of the design\")",
	Detail: "A grid is plotted as one curve for each value of its first axis, or with kind=\"map\" or \"contour\" " +
		"over both. Curves of a grid with more than 12 rows have the colours of a scale. Its lightness rises evenly, " +
		"so that it can be read without colour too. Bars on readings are expanded uncertainties (k = 2), if the file " +
		"states standard uncertainties. A reading that is a lower bound is plotted as an arrow that starts at the " +
		"bound. For a verification, the fixture floor is subtracted from the isolation. Several panels are given as " +
		"plot(panel(...), panel(...)).",
	Source: "colours of curves: M. Okabe and K. Ito, Color Universal Design (2008); scale of colours: an even path " +
		"through OKLab, B. Ottosson (2020)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		f, err := plotted(a)
		if err != nil {
			return nil, err
		}
		return starlark.None, show(t, session.Shown{Blocks: []document.Block{f}})
	},
})

// pairKind is a width and a height.
var pairKind = Kind{"a width and a height such as (120*mm, 80*mm)", "", func(v starlark.Value) (bool, string) {
	items, ok := two(v)
	if !ok {
		return false, ""
	}
	for _, item := range items {
		if q, ok := toQuantity(item); !ok || q.Dimension() != quantity.OfLength || q.SI() < 0.04 || q.SI() > 0.4 {
			return false, "got " + describe(v) + "; each is from 40 mm to 400 mm"
		}
	}
	return true, ""
}}

// rangeKind is the two ends of an axis.
var rangeKind = Kind{"two quantities such as (1530*nm, 1570*nm)", "", func(v starlark.Value) (bool, string) {
	items, ok := two(v)
	if !ok {
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

// plotted is the figure of a call of plot(): one panel, or those that it gives.
func plotted(a Args) (document.Figure, error) {
	panels, caption, err := panelsOf(a)
	if err != nil {
		return document.Figure{}, err
	}
	if a.Has("title") {
		caption = a.Text("title")
	}
	f, err := session.Await(a.ctx, func() (document.Figure, error) {
		if err := panels.Check(); err != nil {
			return document.Figure{}, err
		}
		return panels.Figure(caption), nil
	})
	if err == nil && a.Has("size") {
		items, _ := elements(a.Get("size"))
		width, _ := toQuantity(items[0])
		height, _ := toQuantity(items[1])
		f = f.Sized(width.SI(), height.SI())
	}
	return f, err
}

// panelsOf gathers the panels of a call.
func panelsOf(a Args) (figure.Panels, string, error) {
	var all figure.Panels
	things := a.Many()
	if t, ok := first[*Trials](things); ok && len(things) == 1 && !a.Has("against") {
		f := t.histograms()
		return f.Drawing.(figure.Panels), f.Caption, nil
	}
	if _, ok := first[*Panel](things); !ok {
		if a.Has("columns") {
			return all, "", errors.New("columns= is for panels, as in plot(panel(...), panel(...), columns=2)")
		}
		p, err := panelOf(a)
		if err != nil {
			return all, "", err
		}
		all.Charts = []figure.Chart{p.chart}
		return all, p.caption, nil
	}
	for _, p := range chartParams {
		if p.Mode == Keyword && p.Name != "title" && a.Given(p.Name) {
			return all, "", fmt.Errorf("%s= belongs into the call of panel()", p.Name)
		}
	}
	if len(things) > mostPanels {
		return all, "", fmt.Errorf("%d panels are too many for one figure (limit %d)", len(things), mostPanels)
	}
	all.Columns = 1
	if a.Has("columns") {
		var err error
		if all.Columns, err = a.whole("columns", 1, 4); err != nil {
			return all, "", err
		}
	}
	caption := ""
	for i, v := range things {
		p, ok := v.(*Panel)
		if !ok {
			return all, "", fmt.Errorf("argument %d must be a panel like the first, got %s", i+1, describe(v))
		}
		all.Charts = append(all.Charts, p.chart)
		switch {
		case caption == "":
			caption = p.caption
		case caption != p.caption:
			caption += "; " + p.caption
		}
	}
	all.ShareX = all.Columns == 1 && slices.IndexFunc(all.Charts, func(c figure.Chart) bool {
		o := all.Charts[0]
		return c.X != o.X || (c.Grid != nil) != (o.Grid != nil)
	}) < 0
	return all, caption, nil
}

// first is the first of things, if it is of a type.
func first[T any](things starlark.Tuple) (one T, ok bool) {
	if len(things) > 0 {
		one, ok = things[0].(T)
	}
	return one, ok
}

// gather sorts the arguments into traces and limits. The values of a dict take its keys as labels.
func gather(things starlark.Tuple, choice string) ([]trace, limits.Limits, error) {
	var all []trace
	var lims limits.Limits
	err := eachThing(things, func(label string, v starlark.Value) error {
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
				list[i].label, list[i].told = label, true
			case label != "":
				list[i].label = joined(label, list[i].label)
			}
		}
		all = append(all, list...)
		return nil
	})
	if err == nil && len(all) == 0 {
		err = errors.New("there is nothing to plot: give a series, a response over a sweep or measured data")
	}
	return all, lims, err
}

// mostThings bounds what a plot is given, limits among it (a choice).
const mostThings = 1000

// eachThing calls f with every argument and every value of a dict, which has its key as label.
func eachThing(things starlark.Tuple, f func(label string, v starlark.Value) error) error {
	n := 0
	one := func(label string, v starlark.Value) error {
		if n++; n > mostThings {
			return fmt.Errorf("more than %d things are too many for one plot", mostThings)
		}
		return f(label, v)
	}
	for _, v := range things {
		d, ok := v.(*starlark.Dict)
		if !ok {
			if err := one("", v); err != nil {
				return err
			}
			continue
		}
		for _, kv := range d.Items() {
			label, ok := starlark.AsString(kv[0])
			if !ok {
				return fmt.Errorf("the keys of a dict are labels, got %s", describe(kv[0]))
			}
			if err := one(label, kv[1]); err != nil {
				return err
			}
		}
	}
	return nil
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
		all[i].told = true
	}
	return nil
}

// limitFigure is the figure whose limits apply to a plot.
func limitFigure(choice string, all []trace) string {
	_, name := measuredColumn(choice)
	if choice != "" {
		return name
	}
	for _, q := range limits.Figures {
		if all[0].y.name == q.String() {
			return string(q)
		}
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
