package vocab

import (
	"fmt"
	"slices"

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

// Attr returns a field or a method.
func (c *Corners) Attr(name string) (starlark.Value, error) { return cornersType.attr(c, name) }

// AttrNames lists them.
func (c *Corners) AttrNames() []string { return cornersType.names(c) }

var cornersType = newType("corners", methodSet[*Corners]{},
	intAttr("count", "number of corners", func(c *Corners) int { return c.found.Count }),
	tupleAttr("figures", "each figure at its worst", func(c *Corners) []*Corner {
		all := make([]*Corner, len(c.wanted))
		for k := range c.wanted {
			all[k] = &Corner{opaque{"corner"}, c.wanted[k], c.found.Paths, c.found.Nominal[k], c.found.Worst[k]}
		}
		return all
	}),
	boolAttr("keeps_limits", "whether the worst meets every limit; None without limits", func(c *Corners) bool {
		for k, a := range c.wanted {
			if !a.keeps(c.found.Worst[k].Value) {
				return false
			}
		}
		return true
	}).when(func(c *Corners) bool {
		return slices.ContainsFunc(c.wanted, func(a wanted) bool { return a.limit != nil })
	}),
)

func (c *Corners) blocks() []document.Block {
	t := document.Table{Caption: fmt.Sprintf("Worst of %s", count(c.found.Count, "corner")), Compact: true,
		Columns: []document.Column{{Head: "figure"}, {Head: "where"}, {Head: "nominal", Align: document.Right},
			{Head: "worst", Align: document.Right}, {Head: "limit"}, {Head: "met"}}}
	at := document.Table{Caption: "Parameters at which each figure is worst",
		Compact: true, Columns: []document.Column{{Head: "parameter"}}}
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
		t.Rows = append(t.Rows, []string{a.name(), a.where(), sensible(a.in(c.found.Nominal[k])),
			sensible(a.in(c.found.Worst[k].Value)), a.bound(), kept})
		at.Columns = append(at.Columns, document.Column{Head: a.name() + ", " + a.where(), Align: document.Right})
	}
	t.Note = fmt.Sprintf("Every combination of the ends of the tolerances: half-widths of uniform tolerances, %d "+
		"standard deviations of normal ones. Trials show a figure that is worst between the ends. %s",
		tolerance.NormalReach, worstOver(c.wanted))
	return append([]document.Block{t, at}, cautions(c.between())...)
}

// between names the figures that are worse for the nominal stack than at any corner.
func (c *Corners) between() []string {
	var said []string
	for k, a := range c.wanted {
		off := c.found.Worst[k].Value - c.found.Nominal[k]
		if a.figure.Least() {
			off = -off
		}
		if off < -a.figure.Resolution() {
			said = append(said, fmt.Sprintf("%s, %s, is worse for the nominal stack than at any corner: its worst "+
				"lies between the ends and is not in this table", a.name(), a.where()))
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

// Attr returns a field or a method.
func (c *Corner) Attr(name string) (starlark.Value, error) { return cornerType.attr(c, name) }

// AttrNames lists them.
func (c *Corner) AttrNames() []string { return cornerType.names(c) }

var cornerType = newType("corner", methodSet[*Corner]{},
	textAttr("name", "the figure", func(c *Corner) string { return c.wanted.name() }),
	textAttr("condition", "wavelengths and temperatures over which the worst is taken",
		func(c *Corner) string { return c.wanted.where() }),
	quantityAttr("nominal", "its value for the nominal stack",
		func(c *Corner) quantity.Quantity { return c.wanted.in(c.nominal) }),
	quantityAttr("worst", "its worst value", func(c *Corner) quantity.Quantity { return c.wanted.in(c.corner.Value) }),
	valueAttr("at", "dict", "the parameters at which it is worst, by path", func(c *Corner) (starlark.Value, error) {
		return parametersDict(c.paths, c.corner.At)
	}),
	boolAttr("keeps_limit", "whether the worst meets the limit; None without a limit", func(c *Corner) bool {
		return c.wanted.keeps(c.corner.Value)
	}).when(func(c *Corner) bool { return c.wanted.limit != nil }),
)

// parametersDict is what .adjusted() takes.
func parametersDict(paths []string, values []quantity.Quantity) (starlark.Value, error) {
	all := make([]starlark.Value, len(values))
	for j, q := range values {
		all[j] = fromQuantity(q)
	}
	return dictOf(paths, all)
}
