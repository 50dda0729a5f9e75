package compose

import (
	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// narrative is the notebook as its author wrote it: Markdown, and what its cells displayed. The card of a
// verification is left out: the report is that card.
func narrative(s Source) []document.Section {
	var b []document.Block
	for _, c := range s.Outcome.Notebook.Cells {
		switch c.Type {
		case notebook.MarkdownCell:
			b = append(b, lower(document.Markdown(c.Source))...)
		case notebook.CodeCell:
			for _, o := range c.Outputs {
				b = append(b, shown(o)...)
			}
		}
	}
	if len(b) == 0 {
		return nil
	}
	return []document.Section{{Title: "Notebook", Level: 1, Blocks: b}}
}

// lower sets the notebook's headings one level below the section's own.
func lower(blocks []document.Block) []document.Block {
	for i, b := range blocks {
		if h, ok := b.(document.Heading); ok {
			h.Level++
			blocks[i] = h
		}
	}
	return blocks
}

func shown(o notebook.Output) []document.Block {
	switch {
	case o.Type == notebook.StreamOutput:
		return []document.Block{document.Code{Text: o.Text}}
	case len(o.Blocks) > 0:
		for _, b := range o.Blocks {
			if _, verdict := b.(document.Verdict); verdict {
				return []document.Block{document.Plain("What this verification found stands in the sections before this one.")}
			}
		}
		return o.Blocks
	}
	if text, ok := o.Data["text/plain"].(string); ok {
		return []document.Block{document.Code{Text: text}}
	}
	return nil
}

// Cautions that every report carries.
var standing = []string{
	"Invisible laser radiation: light at these wavelengths cannot be seen and can injure the eye. Work to IEC 60825-1 and IEC 60825-2 and to local rules.",
	"Strong magnets: keep them away from cardiac implants and magnetic media; they pinch and shatter.",
	"This report replaces neither qualification testing nor the judgement of a licensed or responsible person under local rules.",
}

func cautions(s Source) []document.Section {
	var b []document.Block
	seen := map[string]bool{}
	add := func(texts []string) {
		for _, t := range texts {
			if !seen[t] {
				seen[t] = true
				b = append(b, document.Caution{Text: set(t)})
			}
		}
	}
	for _, r := range s.results() {
		add(r.Cautions)
	}
	add(s.Outcome.Warnings)
	add(standing)
	return []document.Section{{Title: "Cautions", Level: 1, Blocks: b}}
}
