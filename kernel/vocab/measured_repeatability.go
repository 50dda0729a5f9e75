package vocab

import (
	"fmt"
	"maps"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
)

// repeatable are the columns of which readings may scatter, by the quantity that limits are set on.
var repeatable = map[string]string{
	string(limits.Isolation): measured.Isolation, string(limits.InsertionLoss): measured.InsertionLoss,
	string(limits.PDL): measured.PDL, string(limits.ReturnLoss): measured.ReturnLoss,
	string(limits.DGD): measured.DGD, string(limits.InsertionLossSlow): measured.InsertionLossSlow,
	string(limits.InsertionLossFast): measured.InsertionLossFast, string(limits.ExtinctionRatio): measured.ExtinctionRatio,
}

// repeatability evaluates what was read more than once.
var repeatability = method[*Measured]{Word{
	Name:    "repeatability",
	Summary: "standard deviation of a single reading, from the repeated readings of the file (type A)",
	Params: []Param{
		{Name: "figure", Kind: choice(slices.Sorted(maps.Keys(repeatable))...),
			Default: starlark.String(limits.Isolation), Doc: "the figure"},
	},
	Returns: "a contribution for repeatability= of budget(), in dB, of a DGD in ps, with its degrees of freedom",
	Errors:  "the file has no repeated readings at any wavelength and temperature",
	Example: `budget(repeatability=measured("sweep", default="repeats.csv").repeatability())`,
	Source:  "JCGM 100:2008, 4.2.4: the standard deviation pooled over all points, each about its own mean",
}, func(m *Measured, _ *starlark.Thread, a Args) (starlark.Value, error) {
	t, err := m.one()
	if err != nil {
		return nil, err
	}
	column := repeatable[a.Text("figure")]
	readings := t.Figure(column)
	if readings == nil {
		return nil, fmt.Errorf("%s has no column %s", t.File.Name, column)
	}
	var groups [][]float64
	for _, r := range t.Runs() {
		for k, row := range r.Rows {
			if k == 0 || t.Wavelength[row] != t.Wavelength[r.Rows[k-1]] {
				groups = append(groups, nil)
			}
			last := &groups[len(groups)-1]
			if v := readings[row]; v == v { // measured
				*last = append(*last, v)
			}
		}
	}
	e, err := uncertainty.Pooled(groups)
	if err != nil {
		return nil, fmt.Errorf("%s: %w at one wavelength and temperature", t.File.Name, err)
	}
	unit := quantity.MustNamed(limits.Quantity(a.Text("figure")).Unit())
	return &Contribution{opaque{"contribution"}, uncertainty.Contribution{
		Value:        quantity.Attach(significant(quantity.FromSI(e.Standard, unit).Value, 3), unit),
		Distribution: uncertainty.Student, DOF: e.DOF, Shared: uncertainty.ByPoint}}, nil
}}
