package vocab

import (
	"errors"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
)

var _ = Register(Word{
	Name:    "merge",
	Summary: "joins the shards of trials",
	Params: []Param{{Name: "shards", Kind: listOf(instance[*Trials]("trials"),
		"a list of trials, each with its own shard="),
		Doc: "neighbouring parts of the same trials, in any order"}},
	Returns: "trials of all these units: counts, percentiles, moments and worst units are exactly the same as " +
		"of trials in one run",
	Errors: "the parts differ in stack, tolerances, limits, n or seed, are not neighbours, or were not computed " +
		"together by the fast program",
	Example: exampleStack + `merge([s.trials(1000, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm, shard=k, shards=2)
       for k in [1, 2]])`,
	Source: "sums and counts in whole numbers, which add exactly",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		items, _ := elements(a.Get("shards"))
		if len(items) == 0 {
			return nil, errors.New("shards= is empty")
		}
		var parts []*Trials
		for _, v := range items {
			parts = append(parts, v.(*Trials))
		}
		return session.Await(a.ctx, func() (starlark.Value, error) {
			slices.SortStableFunc(parts, func(t, u *Trials) int { return t.found.First() - u.found.First() })
			all := parts[0]
			found := all.found
			for _, t := range parts[1:] {
				var err error
				if err = a.ctx.Err(); err == nil {
					found, err = found.Merge(t.found)
				}
				if err != nil {
					return nil, err
				}
			}
			return newTrials(all.wanted, found, found.Units, all.seed, all.how), nil
		})
	},
})
