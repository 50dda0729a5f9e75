package html

import "wedgework/reports/document"

// inOrder returns sections whose headings skip no level: readers that listen to a page move from heading to heading,
// and take a gap for something that they have missed. The title of the page is level 1, a section of level 1 the next.
func inOrder(sections []document.Section) []document.Section {
	out := make([]document.Section, len(sections))
	last := 0
	for i, s := range sections {
		s.Level = min(max(s.Level, 1), last+1)
		last = s.Level
		h := headings{least: s.Level + 2, last: s.Level + 1}
		s.Blocks = h.settle(s.Lowered(1))
		out[i] = s
	}
	return out
}

// headings follows the levels in a section.
type headings struct{ least, last int }

func (h *headings) settle(blocks []document.Block) []document.Block {
	out := make([]document.Block, len(blocks))
	for i, b := range blocks {
		switch x := b.(type) {
		case document.Heading:
			x.Level = min(max(x.Level, h.least), h.last+1, 6)
			h.last = x.Level
			b = x
		case document.Quote:
			x.Blocks = h.settle(x.Blocks)
			b = x
		case document.List:
			items := make([][]document.Block, len(x.Items))
			for k, item := range x.Items {
				items[k] = h.settle(item)
			}
			x.Items = items
			b = x
		}
		out[i] = b
	}
	return out
}
