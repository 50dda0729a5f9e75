package vocab

import (
	"fmt"
	"strings"
	"sync"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
)

// Outline tells completion and inspection what values of a type have. It is meant for session.Config.
func Outline(typ string) *session.Outline { return allOutlines()[typ] }

var allOutlines = sync.OnceValue(func() map[string]*session.Outline {
	all := map[string]*session.Outline{}
	for typ, t := range types {
		all[typ] = t.outline(typ)
	}
	all["grid"] = all["series"]
	return all
})

// Describe returns what inspection shows of the word: all that Help tells, as blocks.
func (w *Word) Describe(int) []document.Block {
	blocks := []document.Block{document.Code{Text: w.Signature()}, document.Plain(w.Summary)}
	for text := range strings.SplitSeq(w.Detail, "\n") {
		if text != "" {
			blocks = append(blocks, document.Plain(text))
		}
	}
	var args []document.Field
	for _, p := range w.Params {
		head, rest, _ := strings.Cut(p.line(), ": ")
		args = append(args, document.Field{Name: head, Value: p.Doc + "\n" + rest})
	}
	if args != nil {
		blocks = append(blocks, document.Fields{Caption: "Arguments", Rows: args})
	}
	var rest []document.Field
	for _, f := range []document.Field{{Name: "Returns", Value: w.Returns}, {Name: "Errors",
		Value: w.Errors}, {Name: "Source", Value: w.Source}} {
		if f.Value != "" {
			rest = append(rest, f)
		}
	}
	if rest != nil {
		blocks = append(blocks, document.Fields{Rows: rest})
	}
	return append(blocks, document.Fields{Caption: "Example"}, document.Code{Text: w.Example})
}

// Describe tells of a value as its card does; with detail, of its attributes too. It is meant for
// session.Config.
func Describe(v starlark.Value, detail int) []document.Block {
	blocks := []document.Block{document.Code{Text: v.Type() + ": " + session.Text(v, 200)}}
	if s, ok := v.(shower); ok {
		blocks = s.blocks()
	}
	h, ok := v.(starlark.HasAttrs)
	if detail == 0 || !ok {
		return blocks
	}
	out := Outline(v.Type())
	var rows []document.Field
	for _, name := range h.AttrNames() {
		row := document.Field{Name: "." + name}
		if out != nil {
			for _, a := range out.Attributes {
				if a.Name == name {
					row.Value = a.Summary
					if a.Call != nil {
						row.Name += "(...)"
					}
				}
			}
		}
		rows = append(rows, row)
	}
	if rows != nil {
		blocks = append(blocks, document.Fields{Caption: fmt.Sprintf("Attributes of %s", article(v.Type())),
			Rows: rows})
	}
	return blocks
}
