package vocab

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/reports/verify"
)

// questionKind accepts what further readings can be about.
var questionKind = Kind{`a path such as "rotator1.angle", or a decision such as v.limits[0]`, "",
	func(v starlark.Value) (bool, string) {
		_, isDecision := v.(*Decision)
		_, isText := v.(starlark.String)
		return isDecision || isText, ""
	}}

var _ = Register(Word{
	Name:    "next_readings",
	Summary: "which isolation readings to take next, so that an open question is decided soonest",
	Params: []Param{
		{Name: "verification", Kind: verificationsKind,
			Doc: "the unit as far as it was measured; for several units, one plan for all of them"},
		{Name: "question", Kind: questionKind,
			Doc: "path of a fitted parameter, whose uncertainty is to be reduced; or an undecided limit, one of .limits"},
		{Name: "readings", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(24),
			Doc: "largest number of readings"},
		{Name: "wavelength", Kind: wavelengthKind.orSweep(), Mode: Keyword, Optional: true,
			Doc: "wavelengths at which readings can be taken; default: 41 from the first to the last one measured"},
		{Name: "temperature", Kind: temperatureKind.orSweep(), Mode: Keyword, Optional: true,
			Doc: "temperatures of the sweeps, more than 2 K apart; default: those measured"},
		{Name: "repeats", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(4),
			Doc: "largest number of readings at one wavelength and temperature"},
		{Name: "sweeps", Kind: wholeKind, Mode: Keyword, Optional: true,
			Doc: "largest number of temperatures; default: any"},
		{Name: "target", Kind: anyKind.of("expanded uncertainty", "0.04*deg"), Mode: Keyword, Optional: true,
			Doc: "expanded uncertainty of the parameter that is enough; default: whatever decides its tolerance; without " +
				"a tolerance all readings are used"},
		{Name: "chance", Kind: ratioKind.of("probability", "90*percent"), Mode: Keyword, Default: of(90, "percent"),
			Doc: "probability with which the readings are to decide the tolerance or the limit"},
	},
	Returns: "next readings with .places, .count, .before and .after (expanded uncertainties), .chance, .enough and " +
		".sentence; empty if the question is decided already",
	Errors: "the parameter was not fitted, the fit does not agree with the readings, the limit is undecided for " +
		"another reason than its uncertainty, temperatures are too close together, or the places are more than 4000",
	Example: exampleStack + `v = verify(s, measured("sweep", default="unit.csv"),
           fit=["rotator1.angle", "rotator1.extinction", "rotator1.per_nm"],
           uncertainty=budget(repeatability=0.05*dB, wavelength=0.02*nm, temperature=0.5*kelvin))
next_readings(v, "rotator1.angle", readings=6).after`,
	Source: "c-optimal design (V. V. Fedorov, Theory of Optimal Experiments, Academic Press 1972) with the errors " +
		"of the budget; chance of a decision by JCGM 106 with the distribution of the next estimate",
	Detail: "Readings at a temperature that was measured count as part of that sweep and share its errors of " +
		"wavelength and temperature; a new temperature brings new ones. For a parameter, the plan is the smallest " +
		"number of readings that is expected to be enough, placed by a c-optimal design about the fitted model. For a " +
		"limit, readings are added near the extreme in doubling numbers until a verification with expected readings " +
		"decides; none are proposed if errors common to all readings of a sweep already prevent a decision. A " +
		"parameter that the readings cannot distinguish from others stands for their sum.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		items := []starlark.Value{a.Get("verification")}
		if list, ok := elements(items[0]); ok {
			items = list
		}
		if len(items) == 0 {
			return nil, errors.New("verification has no unit")
		}
		q, err := questionOf(a, items)
		if err != nil {
			return nil, err
		}
		ctx, work := counting(t, "next readings, curves computed")
		defer work.End()
		return session.Await(ctx, func() (starlark.Value, error) { return nextReadings(ctx, a, items, q) })
	},
})

// questionOf reads the question but for its subject.
func questionOf(a Args, items []starlark.Value) (verify.Question, error) {
	var q verify.Question
	var err error
	if q.Readings, err = a.whole("readings", 1, 1000); err != nil {
		return q, err
	}
	if q.Repeats, err = a.whole("repeats", 1, 1000); err != nil {
		return q, err
	}
	if a.Has("sweeps") {
		if q.Sweeps, err = a.whole("sweeps", 1, 100); err != nil {
			return q, err
		}
	}
	if q.Chance = a.SI("chance"); q.Chance <= 0 || q.Chance >= 1 {
		return q, a.refuse("chance", "above 0 and below 100 %")
	}
	if a.Has("target") {
		target, ok := toQuantity(a.Get("target"))
		if !ok || target.Absolute() || !(target.SI() > 0) {
			return q, a.refuse("target", "a positive uncertainty such as 0.04*deg")
		}
		q.Target = target.SI()
	}
	first, last := measuredRange(items)
	if a.Has("wavelength") {
		_, ls := points(a.Get("wavelength"))
		for _, l := range ls {
			q.Wavelengths = append(q.Wavelengths, quantity.Length(l))
		}
	} else {
		const n = 41
		for k := range n {
			q.Wavelengths = append(q.Wavelengths, first+(last-first)*quantity.Length(k)/(n-1))
		}
		q.Wavelengths = slices.Compact(q.Wavelengths)
	}
	if a.Has("temperature") {
		_, ts := points(a.Get("temperature"))
		for _, t := range ts {
			q.Temperatures = append(q.Temperatures, quantity.Temperature(t))
		}
		return q, nil
	}
	for _, run := range items[0].(*Verification).result.Runs {
		q.Temperatures = append(q.Temperatures, run.Temperature)
	}
	return q, nil
}

// measuredRange is from the first to the last wavelength of all readings.
func measuredRange(items []starlark.Value) (first, last quantity.Length) {
	runs := items[0].(*Verification).result.Runs
	first, last = runs[0].Low, runs[0].High
	for _, item := range items {
		for _, run := range item.(*Verification).result.Runs {
			first, last = min(first, run.Low), max(last, run.High)
		}
	}
	return first, last
}

// nextReadings plans readings about a parameter or a limit.
func nextReadings(ctx context.Context, a Args, items []starlark.Value, q verify.Question) (starlark.Value, error) {
	n := &NextReadings{opaque: opaque{"next_readings"}}
	for _, item := range items {
		n.of = append(n.of, item.(*Verification))
	}
	var err error
	if path, ok := starlark.AsString(a.Get("question")); ok {
		var specs []verify.Spec
		for _, v := range n.of {
			specs = append(specs, v.spec)
		}
		q.Path = path
		n.plan, err = verify.Next(ctx, specs, q)
		return n, err
	}
	if len(n.of) > 1 {
		return nil, errors.New("the readings for a limit are planned for one unit at a time")
	}
	if q.Target > 0 {
		return nil, errors.New("target= is for parameters: for a limit give chance=")
	}
	v, wanted := n.of[0], a.Get("question").(*Decision).decision.Limit
	for i := range v.result.Decisions {
		if fmt.Sprint(v.result.Decisions[i].Limit) == fmt.Sprint(wanted) {
			n.limit = true
			n.plan, err = verify.NextForLimit(ctx, v.spec, i, q)
			return n, err
		}
	}
	return nil, errors.New("question is not one of the limits of this verification: give one of its .limits")
}
