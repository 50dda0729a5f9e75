package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/figure"
	"wedgework/reports/limits"
)

// Panel is one pair of axes with what is plotted on them, to stand beside others.
type Panel struct {
	opaque
	chart   figure.Chart
	caption string
}

func (p *Panel) String() string { return "<panel: " + p.caption + ">" }

func (p *Panel) blocks() []document.Block { return []document.Block{p.chart.Figure(p.caption)} }

// panelOf plots the things of a call on one pair of axes.
func panelOf(a Args) (*Panel, error) {
	kind := a.Text("kind")
	if kind == "" {
		kind = asLines
		if len(a.Many()) > 0 && spread(a.Many()[0]) {
			kind = asHistogram
		}
	}
	made := map[string]func(Args) (figure.Chart, string, error){
		asLines: curves, asPoints: curves, asHistogram: histogram, asMap: gridChart, asContour: gridChart,
	}[kind]
	if a.Has("against") {
		if kind != asLines && kind != asPoints && a.Has("kind") {
			return nil, fmt.Errorf("against= and kind=%q exclude each other", kind)
		}
		made = scatter
	}
	for _, only := range []struct{ param, kind, other string }{
		{"bins", asHistogram, asHistogram}, {"levels", asMap, asContour}, {"z", asMap, asMap},
	} {
		if a.Has(only.param) && (kind != only.kind && kind != only.other || a.Has("against")) {
			return nil, fmt.Errorf("%s= belongs to kind=%q", only.param, only.kind)
		}
	}
	c, caption, err := made(a)
	if err != nil {
		return nil, err
	}
	if a.Has("title") {
		caption = a.Text("title")
	}
	p := &Panel{opaque{"panel"}, c, document.Signs(caption)}
	_, err = session.Await(a.ctx, func() (struct{}, error) {
		return struct{}{}, figure.Panels{Charts: []figure.Chart{c}}.Check()
	})
	return p, err
}

// curves plots lines or points.
func curves(a Args) (figure.Chart, string, error) {
	all, lims, err := gather(a.Many(), a.Text("figure"))
	if err != nil {
		return figure.Chart{}, "", err
	}
	if a.Has("right") {
		right, more, err := gather(listed(a.Get("right")), "")
		if err != nil {
			return figure.Chart{}, "", fmt.Errorf("right=: %w", err)
		}
		for i := range right {
			right[i].right = true
		}
		all, lims = append(all, right...), append(lims, more...)
	}
	if err := few(all); err != nil {
		return figure.Chart{}, "", err
	}
	if err := relabel(all, a); err != nil {
		return figure.Chart{}, "", err
	}
	if a.Text("kind") == asPoints {
		for i := range all {
			all[i].marker, all[i].dash = figure.MarkerAt(i), figure.NoLine
		}
	}
	return laidOut(all, lims, a)
}

// listed is the things of right=.
func listed(v starlark.Value) starlark.Tuple {
	if items, ok := elements(v); ok {
		return items
	}
	return starlark.Tuple{v}
}

// few refuses more curves than can be told apart.
func few(all []trace) error {
	rows, others := 0, 0
	for _, t := range all {
		if t.row != nil {
			rows++
		} else {
			others++
		}
	}
	switch {
	case others > mostTraces:
		return fmt.Errorf("%d curves are too many to distinguish (limit %d): select some, as in .at(23*degC)", others,
			mostTraces)
	case rows > mostRowTraces:
		return fmt.Errorf("%d rows of a grid are too many curves (limit %d): select some, as in y[::10], or write "+
			"kind=%q", rows, mostRowTraces, asMap)
	}
	return nil
}

// laidOut makes the chart of traces, with limits, notes and axes as the call asks.
func laidOut(all []trace, lims limits.Limits, a Args) (figure.Chart, string, error) {
	if err := looks(all, a); err != nil {
		return figure.Chart{}, "", err
	}
	tellApart(all)
	c, err := session.Await(a.ctx, func() (figure.Chart, error) { return chart(all) })
	if err != nil {
		return c, "", err
	}
	first := all[0]
	c.Limits = limitLines(lims, limitFigure(a.Text("figure"), all), first.x.unit)
	for i, t := range all {
		if t.right {
			on := limitLines(lims, limitFigure("", all[i:]), first.x.unit)
			for k := range on {
				on[k].Right = true
			}
			if limitFigure("", all[i:]) != limitFigure(a.Text("figure"), all) {
				c.Limits = append(c.Limits, on...)
			}
			if err := bound(&c.Right, a, "right_y", t.y.unit); err != nil {
				return c, "", err
			}
			break
		}
	}
	if len(lims) > 0 && len(c.Limits) == 0 {
		return c, "", fmt.Errorf("none of the limits is for the plotted figure, %s", first.y.name)
	}
	if a.Has("right_y") && c.Right.Label == "" {
		return c, "", errors.New("right_y= without anything on the right axis: give it with right=")
	}
	if err := bound(&c.X, a, "x", first.x.unit); err != nil {
		return c, "", err
	}
	if err := bound(&c.Y, a, "y", first.y.unit); err != nil {
		return c, "", err
	}
	if c.Notes, err = notesOf(a, first.x.unit, first.y.unit); err != nil {
		return c, "", err
	}
	if err := scales(&c, a); err != nil {
		return c, "", err
	}
	caption := document.Capital(c.Y.Label)
	if c.Right.Label != "" && c.Right.Label != c.Y.Label {
		caption += " and " + c.Right.Label
	}
	return c, caption + " over " + c.X.Label, nil
}
