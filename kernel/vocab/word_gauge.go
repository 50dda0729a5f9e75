package vocab

import (
	"context"
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/reports/gauge"
)

// exampleGauge is a study for the examples.
const exampleGauge = `g = gauge(rows("gauge.csv"), figure="isolation")
`

// rowsKind accepts the rows of a table: a list of dicts by column.
var rowsKind = listOf(instance[*starlark.Dict]("a row such as {\"unit\": \"1\", \"isolation\": 38.2*dB}"),
	`a list of rows such as rows("gauge.csv")`)

var _ = Register(Word{
	Name:    "gauge",
	Summary: "gauge repeatability and reproducibility study: how much of the scatter comes from the bench",
	Params: []Param{
		{Name: "readings", Kind: rowsKind,
			Doc: "a row for each reading, with columns for the unit (unit or part), for the conditions, for the figure"},
		{Name: "figure", Kind: textKind.of("column", `"isolation"`), Doc: "column of the figure to study"},
		{Name: "conditions", Kind: listOf(textKind, `a list of columns such as ["operator", "fixture"]`), Mode: Keyword,
			Optional: true, Doc: "columns of the conditions that were varied, at most three; default: the " +
				"columns operator, fixture and bench, as far as they exist"},
		{Name: "reconnection", Kind: textKind.of("column", `"reconnection"`), Mode: Keyword, Optional: true,
			Doc: "column that numbers the connections of a unit; default: reconnection, if it is there"},
		{Name: "scale", Kind: choice("amplitude", "value"), Mode: Keyword, Optional: true,
			Doc: "amplitude: leakage amplitude 10^(−A/20), in which the errors of a bench are of one size at every " +
				"isolation; value: the figure as it is; default: amplitude for isolation and return_loss"},
		{Name: "pool", Kind: ratioKind, Mode: Keyword, Default: of(5, "percent"),
			Doc: "significance above which an interaction counts with the scatter under equal conditions; 100 %: none does"},
	},
	Returns: "a gauge study with .repeatability, .reconnection, .reproducibility, .bench, .parts, .categories and " +
		".sentence; .contribution() for budget(), .against() for a limit",
	Errors: "a column is missing; the study is not balanced, with as many readings of every unit under all " +
		"conditions; there are fewer than two units, two levels of a condition, or two readings of each",
	Example: exampleGauge + "g.bench",
	Source: "analysis of variance, crossed, all factors random (H. Scheffé, The Analysis of Variance, Wiley 1959); " +
		"effective degrees of freedom after Satterthwaite (1946)",
	Detail: "A part is a unit. What is neither the unit nor a condition nor a reconnection is a repeated reading. " +
		"Variances that come out negative are set to zero. When every connection is read once, repeatability " +
		"includes reconnection.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		ctx := session.ContextOf(t)
		return session.Await(ctx, func() (starlark.Value, error) { return gaugeOf(ctx, a) })
	},
})

// gaugeOf reads the rows and analyses them.
func gaugeOf(ctx context.Context, a Args) (starlark.Value, error) {
	items, _ := elements(a.Get("readings"))
	if len(items) == 0 {
		return nil, errors.New("readings has no rows")
	}
	first := items[0].(*starlark.Dict)
	g := &Gauge{opaque: opaque{"gauge"}, figure: a.Text("figure")}
	d := gauge.Design{Pool: a.SI("pool"), Conditions: variedColumns(a, first)}
	connection := "reconnection"
	if a.Has("reconnection") {
		connection = a.Text("reconnection")
	}
	d.Reconnected = a.Has("reconnection") || hasColumn(first, connection)
	part := "unit"
	if hasColumn(first, "part") {
		part = "part"
	}
	g.amplitude = g.figure == "isolation" || g.figure == "return_loss"
	if a.Has("scale") {
		g.amplitude = a.Text("scale") == "amplitude"
	}
	var readings []gauge.Reading
	for i, item := range items {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		r, err := g.reading(item.(*starlark.Dict), i, part, connection, d)
		if err != nil {
			return nil, fmt.Errorf("row %d: %w", i+1, err)
		}
		readings = append(readings, r)
	}
	var err error
	g.study, err = gauge.New(readings, d)
	if err != nil {
		return nil, err
	}
	return g, nil
}

// variedColumns lists the columns of what was varied.
func variedColumns(a Args, first *starlark.Dict) []string {
	if a.Has("conditions") {
		items, _ := elements(a.Get("conditions"))
		return textItems(items)
	}
	var names []string
	for _, name := range []string{"operator", "fixture", "bench"} {
		if hasColumn(first, name) {
			names = append(names, name)
		}
	}
	return names
}

// textItems reads a list of texts.
func textItems(items []starlark.Value) []string {
	all := make([]string, len(items))
	for i, v := range items {
		all[i], _ = starlark.AsString(v)
	}
	return all
}

func hasColumn(row *starlark.Dict, name string) bool {
	_, found, err := row.Get(starlark.String(name))
	return err == nil && found
}

// column returns a field of a row.
func column(row *starlark.Dict, name string) (starlark.Value, error) {
	v, found, err := row.Get(starlark.String(name))
	if err != nil || !found {
		return nil, fmt.Errorf("there is no column %s", name)
	}
	return v, nil
}

// columnText returns a field as the text that tells its row from others.
func columnText(row *starlark.Dict, name string) (string, error) {
	v, err := column(row, name)
	if err != nil {
		return "", err
	}
	if v == starlark.None {
		return "", fmt.Errorf("%s is empty", name)
	}
	return plainText(v), nil
}

func (g *Gauge) reading(row *starlark.Dict, i int, part, connection string, d gauge.Design) (gauge.Reading, error) {
	var r gauge.Reading
	var err error
	if r.Part, err = columnText(row, part); err != nil {
		return r, err
	}
	for _, name := range d.Conditions {
		level, err := columnText(row, name)
		if err != nil {
			return r, err
		}
		r.Conditions = append(r.Conditions, level)
	}
	if d.Reconnected {
		if r.Connection, err = columnText(row, connection); err != nil {
			return r, err
		}
	}
	v, err := column(row, g.figure)
	if err != nil {
		return r, err
	}
	q, ok := toQuantity(v)
	switch {
	case !ok || q.Absolute():
		return r, fmt.Errorf("%s must be a quantity such as 38.2*dB or a number, got %s", g.figure, describe(v))
	case g.amplitude && q.Dimension() != quantity.OfLevel:
		return r, fmt.Errorf("%s must be a level such as 38.2*dB to be studied in leakage amplitude, got %s", g.figure,
			describe(v))
	case g.amplitude:
		r.Value = gauge.Amplitude(q.Value)
		return r, nil
	}
	if i == 0 {
		g.unit = q.Unit
	}
	in, err := q.In(g.unit)
	r.Value = in.Value
	return r, err
}
