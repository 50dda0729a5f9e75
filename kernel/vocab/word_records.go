package vocab

import (
	"context"
	"fmt"
	"path"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/reports/index"
	"wedgework/reports/index/table"
	"wedgework/reports/measured"
)

var _ = Register(Word{
	Name:    "records",
	Summary: "the history of a folder of reports: every margin and fitted parameter, for statistics and plots",
	Params: []Param{
		{Name: "folder", Kind: textKind.of("path", `"reports"`),
			Doc: "folder with an index, relative to the notebook; wedgework regenerate and wedgework index write it"},
		{Name: "name", Kind: textKind.of("name", `"isolation"`), Mode: Keyword, Optional: true,
			Doc: "only this figure or parameter, such as \"isolation\" or \"rotator1.angle\""},
		{Name: "all", Kind: boolKind, Mode: Keyword, Default: starlark.False,
			Doc: "also reports that are superseded, stale or orphaned, tests of a unit that a later one replaces, and " +
				"designs that were reviewed (kind \"design\")"},
	},
	Returns: "a list with a dict for each limit and each fitted parameter of each unit: report, unit, lot, bench, " +
		"measured, kind, name, at, rule, outcome, state and condition (before or after a test, \"\" where the file " +
		"states none) as texts; value, limit, margin, uncertainty and tolerance as quantities, None where " +
		"there is none",
	Errors:  "the folder has no index, or its table has other columns",
	Example: `[r["value"] for r in records("reports", name="isolation")]`,
	Detail: "The table index-values.csv of the folder is read; it is an input of the report, which carries it. " +
		"table(), plot(), gauge() and check_standard() take what is selected from it.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		f, err := companion(t, path.Join(a.Text("folder"), table.Values))
		if err != nil {
			return nil, fmt.Errorf("%w; wedgework index %s writes it", err, a.Text("folder"))
		}
		ctx := session.ContextOf(t)
		rows, err := apart(t, ctx, func() (*measured.Rows, error) { return measured.ReadRows(ctx, f, "") })
		if err != nil {
			return nil, err
		}
		return session.Await(ctx, func() (starlark.Value, error) { return history(ctx, rows, a) })
	},
})

// The columns of the table that become texts and quantities.
var (
	historyTexts = []string{"report", "unit", "lot", "bench", "measured", "kind", "name", "at", "rule", "outcome",
		"state"}
	historySizes = []string{"value", "limit", "margin", "uncertainty", "tolerance"}
)

// history turns the rows of an index into dicts with quantities.
func history(ctx context.Context, rows *measured.Rows, a Args) (starlark.Value, error) {
	columns := map[string]measured.AnyColumn{}
	for _, c := range rows.Columns {
		columns[c.Name] = c
	}
	for _, name := range append(append([]string{"value_unit", "retested"}, historyTexts...), historySizes...) {
		if _, ok := columns[name]; !ok {
			return nil, fmt.Errorf("%s has no column %s: it is no table of an index", table.Values, name)
		}
	}
	text := func(name string, i int) string { return plainText(fieldOr(columns[name], i)) }
	var all []starlark.Value
	for i := range rows.Lines {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		counts := text("state", i) == "current" && text("retested", i) != "true" && text("kind", i) != index.OfDesign
		if !counts && !a.Bool("all") || a.Has("name") && text("name", i) != a.Text("name") {
			continue
		}
		d := starlark.NewDict(len(historyTexts) + len(historySizes) + 1)
		for _, name := range historyTexts {
			if err := d.SetKey(starlark.String(name), starlark.String(text(name, i))); err != nil {
				return nil, err
			}
		}
		condition := ""
		if _, ok := columns["condition"]; ok { // an index of an earlier program has none
			condition = text("condition", i)
		}
		if err := d.SetKey(starlark.String("condition"), starlark.String(condition)); err != nil {
			return nil, err
		}
		name := text("value_unit", i)
		unit, known := quantity.Named(name)
		if !known && name != "" {
			return nil, fmt.Errorf("%s, line %d: unknown unit %q", table.Values, rows.Lines[i], shorten(name))
		}
		for _, name := range historySizes {
			v := starlark.Value(starlark.None)
			if q, ok := toQuantity(rowField(columns[name], i)); ok {
				v = fromQuantity(quantity.Quantity{Value: q.Value, Unit: unit})
			}
			if err := d.SetKey(starlark.String(name), v); err != nil {
				return nil, err
			}
		}
		all = append(all, d)
	}
	return starlark.NewList(all), nil
}

// fieldOr is a field of a row as text; an empty one is no text.
func fieldOr(c measured.AnyColumn, i int) starlark.Value {
	if v := rowField(c, i); v != starlark.None {
		return v
	}
	return starlark.String("")
}
