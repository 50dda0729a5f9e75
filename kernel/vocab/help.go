package vocab

import (
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/topics"
)

// Help returns the text that help, inspection and the command line show: signature, every parameter
// with its unit and default, what comes back, when it is refused, and an example that runs.
func (w *Word) Help() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n    %s\n", w.Signature(), w.Summary)
	if w.Detail != "" {
		fmt.Fprintf(&b, "\n%s\n", indent(wrap(w.Detail, 92), "    "))
	}
	for i, p := range w.Params {
		if i == 0 {
			b.WriteString("\nArguments\n")
		}
		fmt.Fprintf(&b, "    %s\n%s\n", p.line(), indent(wrap(p.Doc, 88), "        "))
	}
	section := func(head, text string) {
		if text != "" {
			fmt.Fprintf(&b, "\n%s\n%s\n", head, indent(text, "    "))
		}
	}
	section("Returns", wrap(w.Returns, 92))
	section("Errors", wrap(w.Errors, 92))
	section("Example", w.Example)
	section("Source", wrap(w.Source, 92))
	return b.String()
}

// Signature returns the call with its defaults: wedge(crystal, apex=, ..., azimuth=0*deg).
func (w *Word) Signature() string {
	if w.Value != nil {
		return w.title()
	}
	var parts []string
	for _, p := range w.Params {
		switch {
		case p.Mode == Many:
			parts = append(parts, "*"+p.Name)
		case p.Mode == Others:
			parts = append(parts, "**"+p.Name)
		case p.Default != nil:
			parts = append(parts, p.Name+"="+spelled(p.Default))
		case p.Optional || p.Mode == Keyword:
			parts = append(parts, p.Name+"=")
		default:
			parts = append(parts, p.Name)
		}
	}
	return w.title() + "(" + strings.Join(parts, ", ") + ")"
}

// line heads the help of one parameter: "apex (deg): an angle such as 13*deg; default 0*deg".
func (p Param) line() string {
	s := p.Name
	if p.Kind.Unit != "" {
		s += " (" + p.Kind.Unit + ")"
	}
	s += ": " + p.Kind.Want
	switch {
	case p.Mode == Many:
		s += "; any number"
	case p.Mode == Others:
		s += "; any number, under names you choose"
	case p.Default != nil:
		s += "; default " + spelled(p.Default)
	case p.Optional:
		s += "; optional"
	}
	if p.Mode == Keyword {
		s += "; keyword only"
	}
	return s
}

// HelpOf returns the help text of what a cell holds: a word, a unit, a method, a function with its doc
// string, or the methods of a value.
func HelpOf(v starlark.Value) (string, bool) {
	switch v := v.(type) {
	case *callable:
		return v.Doc(), true
	case Unit:
		if w := Lookup(v.Name()); w != nil {
			return w.Help(), true
		}
		return "the unit " + v.String() + "\n", true
	case *starlark.Function:
		if doc := v.Doc(); doc != "" {
			return v.Name() + "\n\n" + indent(strings.TrimSpace(doc), "    ") + "\n", true
		}
		return v.Name() + "\n\n    a function without a docstring\n", true
	case starlark.HasAttrs:
		return article(v.Type()) + " has " + strings.Join(v.AttrNames(), ", ") + "\n", true
	}
	return "", false
}

// Overview lists every word with its summary, sorted, then the units and the topics.
func Overview() string {
	var words, names, pages []string
	for _, name := range Names() {
		w := Lookup(name)
		if _, unit := units[name]; unit {
			names = append(names, name)
			continue
		}
		words = append(words, fmt.Sprintf("%-16s %s", name, w.Summary))
	}
	for _, t := range topics.All() {
		pages = append(pages, fmt.Sprintf("%-16s %s", t.Name, t.Summary))
	}
	return strings.Join(words, "\n") + "\n\nunits: " + strings.Join(names, ", ") + "\n\ntopics:\n" +
		strings.Join(pages, "\n") + "\n"
}

func indent(s, by string) string {
	return by + strings.ReplaceAll(s, "\n", "\n"+by)
}

// wrap breaks paragraphs at words; lines that begin with a space are kept as they are.
func wrap(s string, width int) string {
	var out []string
	for line := range strings.SplitSeq(s, "\n") {
		if strings.HasPrefix(line, " ") {
			out = append(out, line)
			continue
		}
		row := ""
		for _, w := range strings.Fields(line) {
			if row != "" && len(row)+1+len(w) > width {
				out, row = append(out, row), ""
			}
			if row != "" {
				row += " "
			}
			row += w
		}
		out = append(out, row)
	}
	return strings.Join(out, "\n")
}
