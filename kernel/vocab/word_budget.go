package vocab

import (
	"errors"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/reports/nearest"
	"wedgework/reports/uncertainty"
)

// budgetLines are the contributions that the vocabulary names, in the order in which budgets print them.
var budgetLines = []Param{
	{Name: "repeatability", Kind: perFigureKind(levelKind.of("level", "0.05*dB").notNegative()), Mode: Keyword,
		Optional: true,
		Doc: "standard deviation of a single reading of power (counted twice for a PDL); a dictionary states it " +
			"for each figure; common to: one reading"},
	budgetLine("power_meter", levelKind.of("level",
		"0.05*dB"), "linearity and calibration of the power meter; common to: all readings"),
	budgetLine("reference", levelKind.of("level",
		"0.03*dB"), "uncertainty of the reference trace; common to: all readings"),
	budgetLine("wavelength", lengthKind.of("length",
		"0.02*nm"), "uncertainty of the source's wavelength, acting through the slope of the curve; common to: one "+
		"measured sweep"),
	budgetLine("temperature",
		differenceKind, "uncertainty of the unit's temperature, acting through the slope of the curve; common to: "+
			"one measured sweep"),
	budgetLine("source_polarization", levelKind.of("level",
		"0.02*dB"), "residual polarization of the source; common to: one measured sweep"),
	budgetLine("resolution", levelKind.of("level", "0.005*dB"), "resolution of a reading; common to: one reading"),
}

func budgetLine(name string, k Kind, doc string) Param {
	return Param{Name: name, Kind: contributionKind(k.notNegative()), Mode: Keyword, Optional: true, Doc: doc}
}

var _ = Register(Word{
	Name:    "budget",
	Summary: "uncertainty budget of a measurement",
	Params: append(append([]Param{}, budgetLines...),
		Param{Name: "floor", Kind: levelKind.of("level", "62*dB").positive(), Mode: Keyword, Optional: true,
			Doc: "fixture floor: isolation reading with no light through the device; subtracted in power"},
		Param{Name: "floor_uncertainty", Kind: levelKind.of("level", "0.5*dB").positive(), Mode: Keyword,
			Optional: true,
			Doc: "standard uncertainty of the floor; default: its power is taken as uncertain between zero and twice " +
				"its value"},
		Param{Name: "others", Kind: contributionKind(acting), Mode: Others,
			Doc: "further contributions; common to all readings unless a contribution() states otherwise"},
	),
	Returns: "a budget for uncertainty= of verify()",
	Errors: "a contribution is negative or has a dimension that cannot act on a reading, or its name is a " +
		"misspelling of a known one",
	Example: "budget(repeatability=0.05*dB, power_meter=contribution(0.05*dB, distribution=\"rectangular\"), " +
		"wavelength=0.02*nm, temperature=0.5*kelvin, floor=62*dB)",
	Source: "JCGM 100:2008",
	Detail: "A plain value is the standard deviation of a normal distribution. Use contribution() for any other case.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		b := &Budget{opaque: opaque{"budget"}}
		for _, p := range budgetLines {
			if a.Has(p.Name) {
				b.budget.Contributions = append(b.budget.Contributions, linesOf(p.Name, a.Get(p.Name))...)
			}
		}
		for _, kv := range a.Others() {
			if near := meant(string(kv[0].(starlark.String))); near != "" {
				return nil, fmt.Errorf("unknown contribution %s=; did you mean %s=?", string(kv[0].(starlark.String)),
					near)
			}
			b.budget.Contributions = append(b.budget.Contributions, lineOf(string(kv[0].(starlark.String)), kv[1]))
		}
		if a.Has("floor") {
			b.budget.Floor = &uncertainty.Floor{Level: a.Quantity("floor"),
				Uncertainty: a.Quantity("floor_uncertainty")}
		} else if a.Has("floor_uncertainty") {
			return nil, errors.New("floor_uncertainty= needs floor=")
		}
		if len(b.budget.Contributions) == 0 && b.budget.Floor == nil {
			return nil, errors.New("a budget needs at least one contribution such as repeatability=0.05*dB")
		}
		if err := b.budget.Check(); err != nil {
			return nil, err
		}
		return b, nil
	},
})

// meant returns the parameter that a name of one's own is most likely a misspelling of, "" for none: a misspelt
// repeatability would count as one error of all readings. A second contribution of a kind may be called reference_2.
func meant(name string) string {
	names := []string{"floor", "floor_uncertainty"}
	for _, p := range budgetLines {
		names = append(names, p.Name)
	}
	near := nearest.To(name, names)
	if near == "" || strings.HasPrefix(name, near) {
		return ""
	}
	return near
}
