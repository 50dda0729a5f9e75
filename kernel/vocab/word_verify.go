package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/stack"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
)

// ModelHost is a Host that wants the model of each verification as well, to print its numbers and the
// sources of its materials. Model is called before Verified.
type ModelHost interface {
	Host
	Model(*stack.Stack)
}

var _ = Register(Word{
	Name:    "verify",
	Summary: "compares readings with a model and limits, and looks for the cause of any difference",
	Params: []Param{
		{Name: "stack", Kind: stackKind, Doc: "the specified model"},
		{Name: "data", Kind: measuredKind, Doc: "the readings; for a lot, each unit is verified"},
		{Name: "limits", Kind: limitsKind, Mode: Keyword, Optional: true,
			Doc: "requirements; without them, conformity is undecided"},
		{Name: "uncertainty", Kind: budgetKind, Mode: Keyword, Optional: true,
			Doc: "uncertainty budget of the measurement; columns u(NAME) of the file are used as well"},
		{Name: "tolerances", Kind: dictKind.of("dict", `{"rotator1.angle": normal(0.3*deg)}`), Mode: Keyword,
			Optional: true,
			Doc:      "how far parameters may differ from the specified values, by path"},
		{Name: "fit", Kind: listOf(textKind.of("path",
			`"rotator1.angle"`), `a list of paths such as ["rotator1.angle"]`), Mode: Keyword, Optional: true,
			Doc: "paths of the parameters that may explain a difference; default: none is fitted"},
		{Name: "loss_at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"),
			Doc: "vacuum wavelength at which the insertion loss is compared"},
		{Name: "max_gap", Kind: wavelengthKind, Mode: Keyword, Optional: true,
			Doc: "widest spacing of readings within the band of a limit; beyond it the limit is undecided and data " +
				"quality fails; default: 2 nm"},
		{Name: "smooth", Kind: wavelengthKind, Mode: Keyword, Optional: true,
			Doc: "shortest scale on which the curve through the readings may follow them, before its extreme is " +
				"compared with a limit; default: as the readings require"},
		retestParam,
	},
	Returns: "a verification with .agreement, .conformity, .quality, .fitted, .diagnosis, .causes, .limits, " +
		".outliers and .passes; for a lot, a list of them, for lot()",
	Errors: "a path is not a parameter of the stack, the file has no readings, or a wavelength is outside the range " +
		"of a material",
	Example: exampleStack + `d = measured("sweep", default="unit.csv")
v = verify(s, d, limits=limits(isolation=at_least(30*dB), over=sweep(1540*nm, 1560*nm, 1*nm)),
           uncertainty=budget(repeatability=0.05*dB, wavelength=0.02*nm, temperature=0.5*kelvin, floor=62*dB),
           tolerances={"rotator1.angle": normal(0.3*deg)}, fit=["rotator1.angle"])
v.agreement.outcome`,
	Source: "E_n by ISO 13528, decisions by ISO 14253-1 and JCGM 106, uncertainty by JCGM 100",
	Detail: "There are three separate verdicts: agreement of readings and model, conformity to the limits, and " +
		"quality of the data.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		host, err := hostOf(t)
		if err != nil {
			return nil, err
		}
		if err := takeRetest(host, a); err != nil {
			return nil, err
		}
		spec, err := verifySpec(a)
		if err != nil {
			return nil, err
		}
		if d, ok := host.(Demanding); ok {
			spec.Require = d.Demanded()
		}
		model := arg[*Stack](a, "stack")
		var all []starlark.Value
		for _, table := range arg[*Measured](a, "data").tables {
			if err := model.about(t, table.Wavelength, table.Temperature); err != nil {
				return nil, err
			}
			if spec.Readings, err = verify.FromTable(table); err != nil {
				return nil, err
			}
			r, err := verifyTable(t, spec, table)
			if err != nil {
				return nil, err
			}
			if m, ok := host.(ModelHost); ok {
				m.Model(model.stack)
			}
			host.Verified(r)
			all = append(all, &Verification{opaque{"verification"}, r, spec})
		}
		if len(all) == 1 {
			return all[0], nil
		}
		return starlark.NewList(all), nil
	},
})

// verifySpec reads everything but the readings.
func verifySpec(a Args) (verify.Spec, error) {
	s := arg[*Stack](a, "stack")
	spec := verify.Spec{Model: verify.ForStack(s.stack), LossAt: a.Length("loss_at")}
	if l := arg[*Limits](a, "limits"); l != nil {
		spec.Limits = append(limits.Limits{}, l.list...)
	}
	if b := arg[*Budget](a, "uncertainty"); b != nil {
		spec.Budget = uncertainty.Budget{Contributions: b.budget.Contributions, Floor: b.budget.Floor}
	}
	if a.Has("max_gap") {
		spec.MaxGap = a.Length("max_gap")
	}
	if a.Has("smooth") {
		spec.Smooth = a.Length("smooth")
	}
	var err error
	if spec.Tolerances, err = s.tolerances(arg[*starlark.Dict](a, "tolerances")); err != nil {
		return spec, err
	}
	paths, _ := elements(a.Get("fit"))
	for _, p := range paths {
		path, _ := starlark.AsString(p)
		value, err := s.stack.Parameter(path)
		if err != nil {
			return spec, s.known(path, value) // names the nearest path
		}
		spec.Fit = append(spec.Fit, path)
	}
	return spec, nil
}

func verifyTable(t *starlark.Thread, spec verify.Spec, table *measured.Table) (*verify.Result, error) {
	ctx, work := counting(t, "verification, curves computed")
	defer work.End()
	r, err := session.Apart(t, func() (*verify.Result, error) { return verify.Run(ctx, spec) })
	if err != nil {
		return nil, fmt.Errorf("%s%s: %w", table.File.Name, unitText(table), err)
	}
	return r, nil
}
