package pdf

import (
	"strings"

	"wedgework/reports/document"
)

// inlineTags returns the elements of the spans of a text: links, formulas with what they say on one line, and raised
// or lowered signs, which read as plain ones would make 105 of a power of ten. Plain text has none of its own. Spans
// of one link or formula have the same one.
func inlineTags(spans []document.Span) []*element {
	const scripts = document.Sub | document.Super
	tags := make([]*element, len(spans))
	var link, inner *element // of the span before
	for i, s := range spans {
		var before document.Span
		if i > 0 {
			before = spans[i-1]
		}
		switch {
		case !leads(s.Link):
			if link != nil {
				link, inner = nil, nil
			}
		case link == nil || s.Link != before.Link:
			link, inner = &element{kind: "Link"}, nil
		}
		switch script := s.Style & scripts; {
		case s.Formula != "":
			if inner == nil || s.Formula != before.Formula {
				inner = &element{kind: "Formula", alt: s.Formula, outer: link}
			}
		case script == 0:
			inner = nil
		case inner == nil || before.Formula != "" || script != before.Style&scripts:
			inner = &element{kind: "Span", actual: document.PlainText(spans[i : i+1]), outer: link}
		default:
			inner.actual = document.PlainText(spans[first(spans, i, script) : i+1])
		}
		if tags[i] = inner; inner == nil {
			tags[i] = link
		}
	}
	return tags
}

// first returns where the spans begin that are raised or lowered together, the last of them at i.
func first(spans []document.Span, i int, script document.Style) int {
	for i > 0 && spans[i-1].Style&script != 0 && spans[i-1].Formula == "" {
		i--
	}
	return i
}

// leads reports whether an address is one that a page leads to.
func leads(address string) bool {
	return document.SafeLink(address) && !strings.HasPrefix(address, "#")
}
