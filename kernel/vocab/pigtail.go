package vocab

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// pigtailParams are how a pair of collimators takes polarization-maintaining fibres.
var pigtailParams = []Param{
	{Name: "axis", Kind: bothEnds(angleKind, "an angle such as 0*deg, or two in a list such as [0*deg, 45*deg]"),
		Mode: Keyword, Optional: true,
		Doc: "azimuth of the key of polarization-maintaining fibres, from +x towards +y: of both, or [launching, " +
			"receiving]; default: ordinary fibres"},
	{Name: "extinction", Kind: bothEnds(levelKind.positive(),
		"a positive level such as 30*dB, or two in a list such as [30*dB, 28*dB]"), Mode: Keyword, Optional: true,
		Doc: "extinction ratio of the fibres alone: of both, or [launching, receiving]; default: perfect fibres"},
	{Name: "key", Kind: bothEnds(choice("slow", "fast"), `"slow", "fast", or two in a list such as ["slow", "fast"]`),
		Mode: Keyword, Default: starlark.String("slow"),
		Doc: "fibre axis that the key marks: of both, or [launching, receiving]"},
	{Name: "launch", Kind: choice("slow", "fast"), Mode: Keyword, Default: starlark.String("slow"),
		Doc: "fibre axis along which light is launched, and along which it is to leave"},
}

// bothEnds accepts one value for both ends of a stack, or a list of two.
func bothEnds(k Kind, want string) Kind {
	list := listOf(k, want)
	return Kind{want, k.Unit, func(v starlark.Value) (bool, string) {
		switch v.(type) {
		case starlark.Tuple, *starlark.List:
			if n := starlark.Len(v); n != 2 {
				return false, fmt.Sprintf("got %s, not 2", count(n, "value"))
			}
			return list.accept(v)
		}
		return k.accept(v)
	}}
}

// eachEnd returns the values of an argument of that kind, nil where there is none.
func eachEnd(a Args, name string) []starlark.Value {
	v := a.Get(name)
	if items, list := elements(v); list {
		return items
	}
	if !a.Has(name) {
		return nil
	}
	return []starlark.Value{v, v}
}

// pigtailsOf reads the fibres of a collimator.
func pigtailsOf(a Args) (p element.Pigtails, err error) {
	if !a.Has("axis") {
		for _, name := range []string{"extinction", "key", "launch"} {
			if a.Given(name) {
				return p, errors.New(name + "= is for polarization-maintaining fibres: give axis= too")
			}
		}
		return p, nil
	}
	p.Launch = element.FibreAxis(a.Text("launch"))
	axes, ratios, keys := eachEnd(a, "axis"), eachEnd(a, "extinction"), eachEnd(a, "key")
	for i := range p.Ends {
		axis, _ := toQuantity(axes[i])
		key, _ := starlark.AsString(keys[i])
		p.Ends[i] = element.Pigtail{Axis: quantity.Angle(axis.SI()), Key: element.FibreAxis(key),
			Extinction: math.Inf(1)}
		if ratios != nil {
			q, _ := toQuantity(ratios[i])
			p.Ends[i].Extinction = quantity.Ratio(q.SI())
		}
	}
	return p, nil
}

// pigtailText words one of two fibres: "key at 45 deg, marks the slow axis, extinction 30 dB".
func pigtailText(p *element.Pigtails, end int) string {
	e := p.Ends[end]
	key := e.Key
	if key == "" {
		key = element.SlowAxis
	}
	parts := []string{fmt.Sprintf("key at %s, marks the %s axis",
		written(quantity.FromSI(float64(e.Axis), degree)), key)}
	if !math.IsInf(e.Extinction, 1) {
		parts = append(parts, "extinction "+written(quantity.Of(quantity.Decibels(e.Extinction), "dB")))
	}
	return strings.Join(append(parts, fmt.Sprintf("light along the %s axis", p.Launched())), ", ")
}
