package vocab

import (
	"errors"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
	"wedgework/reports/job"
	"wedgework/reports/record"
)

// reportText is how the fields of a report's identification are given.
var reportText = textKind.of("text", `"HA-1550"`)

var _ = Register(Word{
	Name:    "report",
	Summary: "title, part number and revision for the report",
	Params: []Param{
		{Name: "title", Kind: reportText.of("text", `"Isolator core HA-1550"`), Mode: Keyword, Doc: "the title"},
		{Name: "part", Kind: reportText, Mode: Keyword, Default: starlark.String(""), Doc: "part number of the device"},
		{Name: "revision", Kind: reportText.of("text", `"B"`), Mode: Keyword, Default: starlark.String(""),
			Doc: "revision of the device"},
		{Name: "change", Kind: reportText.of("text", `"CR-2026-114"`), Mode: Keyword, Default: starlark.String(""),
			Doc: "number of the change-control record"},
		retestParam,
		{Name: "require", Kind: listOf(textKind.of("text", `"operator"`), `a list of texts such as ["operator", "date"]`),
			Mode: Keyword, Optional: true,
			Doc: "keys of metadata that every file of readings must state; data quality fails where one is absent"},
		{Name: "paper", Kind: textKind.of(`"a4" or "letter"`, `"letter"`), Mode: Keyword, Optional: true,
			Doc: "paper of the PDF; --paper and a plan go before it; if omitted, A4"},
		{Name: "others", Kind: reportField, Mode: Others, Doc: "further identification; underscores print as spaces"},
	},
	Returns: "None",
	Errors: "the title is empty, paper= is neither \"a4\" nor \"letter\", retest= contradicts the retest= of a " +
		"verify(), or require= comes after a verify()",
	Example: `report(title="Isolator core HA-1550", part="HA-1550", revision="B", change="CR-2026-114",
    customer_order="4711")`,
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		host, err := hostOf(t)
		if err != nil {
			return nil, err
		}
		if a.Text("title") == "" {
			return nil, a.refuse("title", "the title of the report")
		}
		h := record.Header{Title: a.Text("title"), Part: a.Text("part"), Revision: a.Text("revision"),
			Change: a.Text("change")}
		for _, kv := range a.Others() {
			h.Extra = append(h.Extra, document.Field{Name: figureLabel(string(kv[0].(starlark.String))),
				Value: plainText(kv[1])})
		}
		if err := takeRetest(host, a); err != nil {
			return nil, err
		}
		if err := demand(host, a); err != nil {
			return nil, err
		}
		if err := takePaper(host, a); err != nil {
			return nil, err
		}
		host.Report(h)
		return starlark.None, nil
	},
})

// takePaper hands the paper that a report asks for to the host; an open notebook has no pages.
func takePaper(host Host, a Args) error {
	if !a.Has("paper") {
		return nil
	}
	name := a.Text("paper")
	if err := job.CheckPaper(name); err != nil {
		return a.refuse("paper", `"a4" or "letter"`)
	}
	if p, ok := host.(PaperHost); ok {
		p.Paper(name)
	}
	return nil
}

// reportField is what prints on one line.
var reportField = Kind{"a text, a number or a quantity", "", func(v starlark.Value) (bool, string) {
	if _, ok := toQuantity(v); ok {
		return true, ""
	}
	return is[starlark.String](v)
}}

// demand hands the metadata that a report requires to the host.
func demand(host Host, a Args) error {
	if !a.Has("require") {
		return nil
	}
	items, _ := elements(a.Get("require"))
	var keys []string
	for _, v := range items {
		key, _ := starlark.AsString(v)
		if strings.TrimSpace(key) == "" {
			return a.refuse("require", "a list of keys, none of them empty")
		}
		keys = append(keys, key)
	}
	d, ok := host.(Demanding)
	if !ok {
		return errors.New("require= has no effect here: this host keeps no report")
	}
	return d.Demand(keys)
}
