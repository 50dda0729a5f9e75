package vocab

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/figure"
)

// The names by which cells choose colours, markers and lines.
var (
	colorNames = map[string]figure.Color{"blue": figure.Blue, "vermillion": figure.Vermillion, "green": figure.Green,
		"purple": figure.Purple, "orange": figure.Orange, "sky blue": figure.SkyBlue, "black": figure.Black,
		"grey": figure.Grey}
	markerNames = map[string]figure.Marker{"none": figure.NoMarker, "circle": figure.Circle, "square": figure.Square,
		"triangle": figure.Triangle, "diamond": figure.Diamond, "cross": figure.Cross, "plus": figure.Plus}
	lineNames = map[string]figure.Line{"none": figure.NoLine, "solid": figure.Solid, "dashed": figure.Dashed,
		"dotted": figure.Dotted, "dash-dotted": figure.DashDotted, "long-dashed": figure.LongDashed}
)

// namesOfLooks are those of a map, in the order of its values.
func namesOfLooks[V figure.Color | figure.Marker | figure.Line](m map[string]V) []string {
	return slices.SortedFunc(maps.Keys(m), func(a, b string) int { return int(m[a]) - int(m[b]) })
}

// eachOf accepts one of a few words, or a list of them with one for each curve.
func eachOf(words ...string) Kind {
	one := choice(words...)
	list := listOf(one, "a list")
	return Kind{one.Want + ", or a list with one for each curve", "", func(v starlark.Value) (bool, string) {
		if _, ok := v.(starlark.String); ok {
			return one.accept(v)
		}
		return list.accept(v)
	}}
}

// The ways in which plot() shows values.
const (
	asLines     = "lines"
	asPoints    = "points"
	asHistogram = "histogram"
	asMap       = "map"
	asContour   = "contour"
)

// chartParams are the parameters of plot() and panel().
var chartParams = []Param{
	{Name: "things", Kind: anyKind, Mode: Many,
		Doc: "series, grids, responses over a sweep, measured data, verifications, trials and their figures, limits; " +
			"or a dict of these by label"},
	{Name: "figure", Kind: choice(figureNames...), Mode: Keyword, Optional: true,
		Doc: "the figure of responses and measured data; default: isolation (backward), insertion loss (forward)"},
	{Name: "kind", Kind: choice(asLines, asPoints, asHistogram, asMap, asContour), Mode: Keyword, Optional: true,
		Doc: "how values are shown: as lines, points or a histogram, a grid also as a map of colours or as contour " +
			"lines; default: a histogram of trials and their figures, lines of all else"},
	{Name: "against", Kind: anyKind, Mode: Keyword, Optional: true,
		Doc: "what to plot the things against, point by point: a series on the same axis, a list of as many values, " +
			"or another figure of the same trials"},
	{Name: "labels", Kind: listOf(textKind, "a list of texts"), Mode: Keyword, Optional: true,
		Doc: "labels of the curves, in order"},
	{Name: "title", Kind: textKind, Mode: Keyword, Optional: true,
		Doc: "the caption, above a panel its title; default of a caption: the quantities of the axes"},
	{Name: "x", Kind: rangeKind, Mode: Keyword, Optional: true,
		Doc: "ends of the horizontal axis, such as (1530*nm, 1570*nm)"},
	{Name: "y", Kind: rangeKind, Mode: Keyword, Optional: true,
		Doc: "ends of the vertical axis, such as (20*dB, 60*dB)"},
	{Name: "z", Kind: rangeKind, Mode: Keyword, Optional: true, Doc: "ends of the colours of a map"},
	{Name: "log", Kind: eachOf("x", "y", "xy", "right"), Mode: Keyword, Optional: true,
		Doc: "which axes are logarithmic"},
	{Name: "right", Kind: anyKind, Mode: Keyword, Optional: true,
		Doc: "things that belong to a second vertical axis, at the right: one, a list, or a dict by label"},
	{Name: "right_y", Kind: rangeKind, Mode: Keyword, Optional: true, Doc: "ends of the axis at the right"},
	{Name: "notes", Kind: Kind{`a dict such as {"peak": (1550*nm, 42*dB)}`, "", is[*starlark.Dict]}, Mode: Keyword,
		Optional: true, Doc: "notes by their text: a point (x, y), which gets a ring; or one coordinate, which gets " +
			"a dashed line across, as in 1550*nm or (None, 42*dB)"},
	{Name: "colour", Kind: eachOf(namesOfLooks(colorNames)...), Mode: Keyword, Optional: true,
		Doc: "colours of the curves"},
	{Name: "marker", Kind: eachOf(namesOfLooks(markerNames)...), Mode: Keyword, Optional: true,
		Doc: "markers of the points"},
	{Name: "line", Kind: eachOf(namesOfLooks(lineNames)...), Mode: Keyword, Optional: true,
		Doc: "patterns of the lines"},
	{Name: "bins", Kind: wholeKind, Mode: Keyword, Optional: true,
		Doc: "bins of a histogram, 1 to 200; default: the root of the number of values, 8 to 30"},
	{Name: "levels", Kind: Kind{"a list of quantities such as [30*dB, 35*dB], or a whole number", "",
		func(v starlark.Value) (bool, string) {
			if _, ok := v.(starlark.Int); ok {
				return true, ""
			}
			return listOf(Kind{"a quantity or number", "", isNumeric}, "a list of quantities").accept(v)
		}}, Mode: Keyword, Optional: true,
		Doc: "values of the contour lines of a grid, or about how many; a map has none unless they are given"},
}

func isNumeric(v starlark.Value) (bool, string) { _, ok := toQuantity(v); return ok, "" }

// looks sets what colours, markers and lines a call asks for; a single word holds for every curve.
func looks(all []trace, a Args) error {
	err := cmp.Or(
		look(all, a, "colour", colorNames, func(t *trace, v figure.Color) { t.color = v }),
		look(all, a, "marker", markerNames, func(t *trace, v figure.Marker) { t.marker = v }),
		look(all, a, "line", lineNames, func(t *trace, v figure.Line) { t.dash = v }))
	if err != nil {
		return err
	}
	for i := range all {
		if all[i].marker == figure.NoMarker && all[i].dash == figure.NoLine {
			return errors.New(`a curve with line="none" and marker="none" has nothing to see`)
		}
	}
	return nil
}

func look[V any](all []trace, a Args, name string, names map[string]V, set func(*trace, V)) error {
	if !a.Has(name) {
		return nil
	}
	if word, ok := starlark.AsString(a.Get(name)); ok {
		for i := range all {
			set(&all[i], names[word])
		}
		return nil
	}
	words, _ := elements(a.Get(name))
	if len(words) != len(all) {
		return fmt.Errorf("%s= must have one for each of %s, got %d", name, count(len(all), "curve"), len(words))
	}
	for i, w := range words {
		word, _ := starlark.AsString(w)
		set(&all[i], names[word])
	}
	return nil
}

// scales makes axes logarithmic.
func scales(c *figure.Chart, a Args) error {
	words := []starlark.Value{a.Get("log")}
	if list, ok := elements(a.Get("log")); ok {
		words = list
	}
	for _, w := range words {
		word, _ := starlark.AsString(w)
		c.X.Log = c.X.Log || strings.Contains(word, "x")
		c.Y.Log = c.Y.Log || strings.Contains(word, "y")
		c.Right.Log = c.Right.Log || word == "right"
	}
	if c.Right.Log && c.Right.Label == "" {
		return errors.New(`log="right" without anything on the right axis: give it with right=`)
	}
	return nil
}

// mostNotes bounds the notes of a panel (a choice: more would hide the data).
const mostNotes = 50

// notesOf reads notes= for axes of two units.
func notesOf(a Args, x, y quantity.Unit) ([]figure.Note, error) {
	d := arg[*starlark.Dict](a, "notes")
	if d == nil {
		return nil, nil
	}
	if d.Len() > mostNotes {
		return nil, fmt.Errorf("notes= has %d notes, more than the limit of %d", d.Len(), mostNotes)
	}
	var all []figure.Note
	for _, kv := range d.Items() {
		text, ok := starlark.AsString(kv[0])
		if !ok || len(text) > 200 {
			return nil, fmt.Errorf("notes= has a key that is no text of at most 200 bytes: %s", describe(kv[0]))
		}
		note, err := noteOf(kv[1], x, y)
		if err != nil {
			return nil, fmt.Errorf("note %q: %w", text, err)
		}
		note.Text = document.Signs(text)
		all = append(all, note)
	}
	return all, nil
}

func noteOf(v starlark.Value, x, y quantity.Unit) (figure.Note, error) {
	n := figure.Note{X: math.NaN(), Y: math.NaN()}
	if q, ok := toQuantity(v); ok {
		alongX, errX := q.In(x)
		alongY, errY := q.In(y)
		switch {
		case errX == nil && errY == nil:
			return n, errors.New("both axes have this dimension: write (x, None) or (None, y)")
		case errX == nil:
			n.X = alongX.Value
		case errY == nil:
			n.Y = alongY.Value
		default:
			return n, fmt.Errorf("%s is on neither axis", describe(v))
		}
		return n, nil
	}
	pair, ok := two(v)
	if !ok || pair[0] == starlark.None && pair[1] == starlark.None {
		return n, fmt.Errorf("expected a point such as (1550*nm, 42*dB), or one coordinate, got %s", describe(v))
	}
	for i, to := range []struct {
		at   *float64
		unit quantity.Unit
	}{{&n.X, x}, {&n.Y, y}} {
		if pair[i] == starlark.None {
			continue
		}
		q, ok := toQuantity(pair[i])
		if !ok {
			return n, fmt.Errorf("a coordinate must be a quantity, got %s", describe(pair[i]))
		}
		r, err := q.In(to.unit)
		if err != nil {
			return n, err
		}
		*to.at = r.Value
	}
	return n, nil
}
