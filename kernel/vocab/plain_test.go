package vocab

import (
	"regexp"
	"strings"
	"testing"
)

// avoided are turns of phrase that readers stumbled over, with what to write instead.
var avoided = []struct{ phrase, instead string }{
	{`left out|so it is when`, "default: ..., optional, or omitted"},
	{`of your own`, "user-defined"},
	{`(held|holds?) .*against|hold against`, "compared with"},
	{`\bcards?\b`, "summary"},
	{`\bshop could\b`, "cannot be made"},
	{`\b(greatest|[^t] least)\b`, "maximum, minimum"},
	{`(keeps?|breaks?) (the|a|every|each|its) (limit|bound)`, "meets the limit, does not meet it"},
	{`as (specified|diagnosed)\b`, "specified model, fitted model"},
	{`double bounces?|\bghosts? [a-z]`, "double reflections"},
	{`aligned anew|made anew`, "realigned, rebuilt"},
	{`\b(heads?) of (a|the) columns?`, "column heading"},
	{`\bthe nearest is\b`, "did you mean"},
	{`what (it|is|the|each|a)\b.*\bis\b`, "name the thing"},
	{`known for|is told|are told`, "range of a material; reported"},
	{`as the line does|on the line\b`, "in assembly"},
}

// TestPlainWords looks for such turns in everything that help, completion and inspection show.
func TestPlainWords(t *testing.T) {
	texts := map[string]string{}
	add := func(w *Word) {
		all := []string{w.Summary, w.Returns, w.Errors, w.Detail}
		for _, p := range w.Params {
			all = append(all, p.line(), p.Doc)
		}
		texts[w.title()] = strings.Join(all, "\n")
	}
	for _, name := range Names() {
		add(Lookup(name))
	}
	for _, w := range Methods() {
		add(w)
	}
	for typ := range types {
		for _, a := range Outline(typ).Attributes {
			if a.Call == nil {
				texts[typ+"."+a.Name] = a.Summary
			}
		}
	}
	for _, rule := range avoided {
		phrase := regexp.MustCompile(rule.phrase)
		for where, text := range texts {
			for line := range strings.SplitSeq(text, "\n") {
				if m := phrase.FindString(line); m != "" {
					t.Errorf("%s: %q has %q; better: %s", where, line, m, rule.instead)
				}
			}
		}
	}
	if len(texts) < 250 {
		t.Errorf("only %d texts were looked at", len(texts))
	}
}
