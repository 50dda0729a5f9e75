package vocab

import (
	"errors"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

var _ = Register(Word{
	Name:    "text",
	Summary: "shows Markdown with values in it: headings, lists, tables and formulas, in notebook and report",
	Params: []Param{
		{Name: "template", Kind: textKind.of("text", `"Least isolation is {}"`),
			Doc: "Markdown; each {} is replaced by the next value, {name} by the value of that name"},
		{Name: "values", Kind: anyKind, Mode: Many, Doc: "values for {}, in order"},
		{Name: "digits", Kind: wholeKind, Mode: Keyword, Optional: true,
			Doc: "decimals of every number, 0 to 15; default: two for levels, otherwise five significant digits"},
		{Name: "named", Kind: anyKind, Mode: Others, Doc: "values for {name}"},
	},
	Returns: "None; the text is an output of the cell",
	Errors:  "there are more or fewer values than {} in the text, or a named value is not used",
	Example: "text(\"Least isolation is {}, with $\\\\theta = 45^\\\\circ$ at {place}\", 34.71*dB, place=1550*nm)",
	Detail: "Formulas stand between dollar signs. Braces of formulas stay: only {} and the names of values are " +
		"replaced. A value is shown as a text, whatever signs it has.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		source, err := filledIn(a)
		if err != nil {
			return nil, err
		}
		blocks, err := session.Await(a.ctx, func() ([]document.Block, error) {
			blocks, warnings := document.Markdown(source, nil)
			if len(warnings) > 0 {
				return nil, errors.New(warnings[0])
			}
			return blocks, nil
		})
		if err != nil {
			return nil, err
		}
		o := notebook.Output{Type: notebook.DisplayOutput, Blocks: blocks}
		if o.Data, err = session.Bundle(t, blocks); err != nil {
			return nil, err
		}
		o.Data["text/markdown"] = source
		return starlark.None, session.Emit(t, o)
	},
})

// filledIn is the template with the values in their places.
func filledIn(a Args) (string, error) {
	digits := -1
	if a.Has("digits") {
		var err error
		if digits, err = a.whole("digits", 0, 15); err != nil {
			return "", err
		}
	}
	parts := strings.Split(a.Text("template"), "{}")
	if n := len(a.Many()); n != len(parts)-1 {
		return "", fmt.Errorf("the text has %s of {}, got %s", count(len(parts)-1, "place"), count(n, "value"))
	}
	used := map[string]bool{}
	var b strings.Builder
	for i, part := range parts {
		if i > 0 {
			b.WriteString(inMarkdown(a.Many()[i-1], digits))
		}
		b.WriteString(named(part, a.Others(), digits, used))
		if b.Len() > mostText {
			return "", fmt.Errorf("the text is longer than the limit of %d bytes", mostText)
		}
	}
	for _, kv := range a.Others() {
		if name, _ := starlark.AsString(kv[0]); !used[name] {
			return "", fmt.Errorf("the text has no {%s}", name)
		}
	}
	return b.String(), nil
}

// named replaces {name} by the values of a call, from left to right.
func named(part string, values []starlark.Tuple, digits int, used map[string]bool) string {
	var b strings.Builder
	for {
		open := strings.IndexByte(part, '{')
		end := strings.IndexByte(part[max(open, 0):], '}') + max(open, 0)
		if open < 0 || end < open {
			b.WriteString(part)
			return b.String()
		}
		replaced := false
		for _, kv := range values {
			if name, _ := starlark.AsString(kv[0]); name == part[open+1:end] {
				b.WriteString(part[:open] + inMarkdown(kv[1], digits))
				used[name], replaced = true, true
			}
		}
		if replaced {
			part = part[end+1:]
			continue
		}
		b.WriteString(part[:open+1])
		part = part[open+1:]
	}
}

// inMarkdown is a value as text that Markdown shows as it is.
func inMarkdown(v starlark.Value, digits int) string {
	if q, ok := toQuantity(v); ok {
		return document.Signs(valueText(q, digits))
	}
	var b strings.Builder
	for _, r := range plainText(v) {
		if strings.ContainsRune("\\`*_[]<>$#|~!&", r) {
			b.WriteByte('\\')
		}
		if r == '\n' || r == '\r' {
			r = ' '
		}
		b.WriteRune(r)
	}
	return b.String()
}

func valueText(q quantity.Quantity, digits int) string {
	if digits >= 0 {
		return q.Text(digits)
	}
	return sensible(q)
}
