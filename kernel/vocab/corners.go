package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
)

// Corners is the worst case over tolerances, as a cell holds it.
type Corners struct {
	opaque
	wanted []wanted
	found  *tolerance.Corners
}

func (c *Corners) String() string {
	return fmt.Sprintf("<%s of %s>", count(c.found.Count, "corner"), count(len(c.found.Paths), "tolerance"))
}

// Attr returns the worst of each figure.
func (c *Corners) Attr(name string) (starlark.Value, error) {
	switch name {
	case "count":
		return starlark.MakeInt(c.found.Count), nil
	case "figures":
		var all starlark.Tuple
		for k := range c.wanted {
			all = append(all, &Corner{opaque{"corner"}, c.wanted[k], c.found.Paths, c.found.Nominal[k], c.found.Worst[k]})
		}
		return all, nil
	case "keeps_limits":
		keeps, limited := true, false
		for k, a := range c.wanted {
			limited = limited || a.limit != nil
			keeps = keeps && a.keeps(c.found.Worst[k].Value)
		}
		if !limited {
			return starlark.None, nil
		}
		return starlark.Bool(keeps), nil
	}
	return nil, nil
}

// AttrNames lists the fields.
func (c *Corners) AttrNames() []string { return []string{"count", "figures", "keeps_limits"} }

func (c *Corners) json() any { return attributes(c) }

func (c *Corners) blocks() []document.Block {
	t := document.Table{Caption: fmt.Sprintf("Worst of %s", count(c.found.Count, "corner")), Compact: true,
		Columns: []document.Column{{Head: "figure"}, {Head: "where"}, {Head: "nominal", Align: document.Right}, {Head: "worst", Align: document.Right}, {Head: "limit"}, {Head: "met"}}}
	at := document.Table{Caption: "Parameters at which each figure is worst", Compact: true, Columns: []document.Column{{Head: "parameter"}}}
	for j, path := range c.found.Paths {
		row := []string{path}
		for k := range c.wanted {
			row = append(row, sensible(c.found.Worst[k].At[j]))
		}
		at.Rows = append(at.Rows, row)
	}
	for k, a := range c.wanted {
		kept := ""
		switch {
		case a.limit == nil:
		case a.keeps(c.found.Worst[k].Value):
			kept = "yes"
		default:
			kept = "no"
		}
		t.Rows = append(t.Rows, []string{a.name(), a.where(), sensible(a.in(c.found.Nominal[k])), sensible(a.in(c.found.Worst[k].Value)), a.bound(), kept})
		at.Columns = append(at.Columns, document.Column{Head: a.name() + ", " + a.where(), Align: document.Right})
	}
	t.Note = fmt.Sprintf("Every combination of the ends of the tolerances: half-widths of uniform tolerances, %d standard deviations of normal ones. Trials show a figure that is worst between the ends. %s", tolerance.NormalReach, worstOver(c.wanted))
	return append([]document.Block{t, at}, cautions(c.between())...)
}

// between names the figures that are worse for the nominal stack than at any corner.
func (c *Corners) between() []string {
	var said []string
	for k, a := range c.wanted {
		off := c.found.Worst[k].Value - c.found.Nominal[k]
		if a.figure.Quantity == tolerance.Isolation {
			off = -off
		}
		if off < -a.figure.Resolution() {
			said = append(said, fmt.Sprintf("%s, %s, is worse for the nominal stack than at any corner: its worst lies between the ends and is not in this table", a.name(), a.where()))
		}
	}
	return said
}

// Corner is one figure at its worst.
type Corner struct {
	opaque
	wanted  wanted
	paths   []string
	nominal float64
	corner  tolerance.Corner
}

func (c *Corner) String() string {
	return fmt.Sprintf("<%s at worst %s>", c.wanted.name(), sensible(c.wanted.in(c.corner.Value)))
}

// Attr returns a field.
func (c *Corner) Attr(name string) (starlark.Value, error) {
	switch name {
	case "name":
		return starlark.String(c.wanted.name()), nil
	case "condition":
		return starlark.String(c.wanted.where()), nil
	case "nominal":
		return fromQuantity(c.wanted.in(c.nominal)), nil
	case "worst":
		return fromQuantity(c.wanted.in(c.corner.Value)), nil
	case "keeps_limit":
		if c.wanted.limit == nil {
			return starlark.None, nil
		}
		return starlark.Bool(c.wanted.keeps(c.corner.Value)), nil
	case "at":
		return parametersDict(c.paths, c.corner.At)
	}
	return nil, nil
}

// AttrNames lists the fields.
func (c *Corner) AttrNames() []string {
	return []string{"at", "condition", "keeps_limit", "name", "nominal", "worst"}
}

func (c *Corner) json() any { return attributes(c) }

// parametersDict is what .adjusted() takes.
func parametersDict(paths []string, values []quantity.Quantity) (starlark.Value, error) {
	d := starlark.NewDict(len(paths))
	for j, path := range paths {
		if err := d.SetKey(starlark.String(path), fromQuantity(values[j])); err != nil {
			return nil, err
		}
	}
	return d, nil
}
