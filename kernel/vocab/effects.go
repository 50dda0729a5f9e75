package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/tolerance"
	"wedgework/reports/document"
)

// Effects is how much of the variance of each figure the tolerances cause, as a cell holds it.
type Effects struct {
	opaque
	wanted []wanted
	found  *tolerance.Effects
}

var effectsMethod = method[*Stack]{Word{
	Name:    "effects",
	Summary: "how much of the spread of each figure each tolerance causes, by itself and together with others",
	Params: append([]Param{
		{Name: "n", Kind: wholeKind, Doc: "number of rows; each takes one unit for every tolerance and two more"},
		tolerancesParam,
	}, append(overParams[:len(overParams):len(overParams)],
		Param{Name: "seed", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(1),
			Doc: "the same seed gives the same units"}, heldParam)...),
	Returns: "effects with .figures, each with .first and .total, shares of its variance by path",
	Errors:  "a path is not a parameter of the stack, wavelength= and limits= are both missing, or n is below 2",
	Detail: "The first-order effect of a tolerance is its share of the variance by itself; the total effect includes " +
		"its interactions with the other tolerances. A tolerance with a small total effect can be relaxed. Each " +
		"share comes with its standard error.",
	Example: exampleStack + `s.effects(500, {"rotator1.angle": normal(0.3*deg), "wedge2.axis": uniform(0.5*deg)},
    wavelength=1550*nm)`,
	Source: "A. Saltelli et al., Computer Physics Communications 181, 259 (2010); M. J. W. Jansen, Computer Physics " +
		"Communications 117, 35 (1999)",
}, func(s *Stack, t *starlark.Thread, a Args) (starlark.Value, error) { return s.effects(t, a) }}

func (s *Stack) effects(t *starlark.Thread, a Args) (starlark.Value, error) {
	study, list, err := s.sampled(t, a, 2, mostTrials)
	if err != nil {
		return nil, err
	}
	ctx, work := working(t, "effects of "+count(len(study.Tolerances), "tolerance"))
	defer work.End()
	study.Progress = work.At
	return apart(t, ctx, func() (starlark.Value, error) {
		found, err := study.Effects(ctx, study.Trials)
		if err != nil {
			return nil, err
		}
		return &Effects{opaque{"effects"}, list, found}, nil
	})
}

func (e *Effects) String() string {
	return fmt.Sprintf("<effects of %s, %s>", count(len(e.found.Paths), "tolerance"), count(e.found.Units, "unit"))
}

// Attr returns a field or a method.
func (e *Effects) Attr(name string) (starlark.Value, error) { return effectsType.attr(e, name) }

// AttrNames lists them.
func (e *Effects) AttrNames() []string { return effectsType.names(e) }

var effectsType = newType("effects", methodSet[*Effects]{},
	intAttr("count", "number of units that were evaluated", func(e *Effects) int { return e.found.Units }),
	tupleAttr("figures", "the effects on each figure", func(e *Effects) []*Effect {
		all := make([]*Effect, len(e.wanted))
		for k, a := range e.wanted {
			all[k] = &Effect{opaque{"effect"}, a, e.found.Paths, e.found.First[k], e.found.Total[k]}
		}
		return all
	}),
)

func (e *Effects) blocks() []document.Block {
	var blocks []document.Block
	for k, a := range e.wanted {
		t := document.Table{Caption: fmt.Sprintf("Effects on %s, %s", a.name(), a.where()), Compact: true,
			Columns: []document.Column{{Head: "parameter"}, {Head: "first-order effect", Align: document.Right},
				{Head: "st. error", Align: document.Right}, {Head: "total effect", Align: document.Right},
				{Head: "st. error", Align: document.Right}}}
		for j, path := range e.found.Paths {
			first, total := e.found.First[k][j], e.found.Total[k][j]
			t.Rows = append(t.Rows, []string{path, inPercent(first.Value), inPercent(first.Error),
				inPercent(total.Value), inPercent(total.Error)})
		}
		t.Note = "Shares of the variance over the units. First-order: by the tolerance itself. Total: with its " +
			"interactions with the others."
		blocks = append(blocks, t)
	}
	return blocks
}

func inPercent(share float64) string { return fmt.Sprintf("%.1f %%", 100*share) }

// Effect is the effects of the tolerances on one figure.
type Effect struct {
	opaque
	wanted       wanted
	paths        []string
	first, total []tolerance.Share
}

func (e *Effect) String() string {
	return fmt.Sprintf("<effects of %s on %s>", count(len(e.paths), "tolerance"), e.wanted.name())
}

// Attr returns a field or a method.
func (e *Effect) Attr(name string) (starlark.Value, error) { return effectType.attr(e, name) }

// AttrNames lists them.
func (e *Effect) AttrNames() []string { return effectType.names(e) }

var effectType = newType("effect", methodSet[*Effect]{},
	textAttr("name", "the figure", func(e *Effect) string { return e.wanted.name() }),
	textAttr("condition", "wavelengths and temperatures over which the worst is taken",
		func(e *Effect) string { return e.wanted.where() }),
	valueAttr("first", "dict", "share of the variance that each tolerance causes by itself, by path",
		func(e *Effect) (starlark.Value, error) { return sharesOf(e.paths, e.first) }),
	valueAttr("total", "dict", "share of the variance that each tolerance causes in all, by path",
		func(e *Effect) (starlark.Value, error) { return sharesOf(e.paths, e.total) }),
)

func sharesOf(paths []string, shares []tolerance.Share) (starlark.Value, error) {
	all := make([]starlark.Value, len(shares))
	for j, s := range shares {
		all[j] = starlark.Float(s.Value)
	}
	return dictOf(paths, all)
}
