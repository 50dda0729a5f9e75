package compose

import (
	"encoding/base64"
	"errors"
	"fmt"
	"net/url"
	"strings"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
	"wedgework/reports/rerun"
)

// narrative is the notebook as its author wrote it: Markdown, and what its cells displayed. The card of a
// verification is left out: the report is that card.
func (s Source) narrative() (section func(Source) []document.Section, warnings []string) {
	var b []document.Block
	for i, c := range s.Outcome.Notebook.Cells {
		switch c.Type {
		case notebook.MarkdownCell:
			blocks, unset := document.Markdown(c.Source, s.pictures(c))
			b = append(b, lower(blocks)...)
			for _, w := range unset {
				warnings = append(warnings, fmt.Sprintf("cell %d: %s", i+1, w))
			}
		case notebook.CodeCell:
			for _, o := range c.Outputs {
				b = append(b, shown(o)...)
			}
		}
	}
	return func(Source) []document.Section {
		if len(b) == 0 {
			return nil
		}
		return []document.Section{{Title: "Notebook", Level: 1, Blocks: b}}
	}, warnings
}

// pictures finds what a cell shows: a file attached to it, or one of the inputs.
func (s Source) pictures(c notebook.Cell) document.Pictures {
	return func(address string) ([]byte, error) {
		if name, ok := strings.CutPrefix(address, "attachment:"); ok {
			if plain, err := url.PathUnescape(name); err == nil {
				name = plain
			}
			return attached(c.Attachments[name])
		}
		if err := s.Outcome.Unread[address]; err != nil {
			return nil, err
		}
		path, _, err := rerun.PicturePath(address)
		if err != nil {
			return nil, err
		}
		for _, in := range s.Outcome.Inputs {
			if in.Name == path && len(in.Files) > 0 {
				return in.Files[0].Data, nil
			}
		}
		return nil, errors.New("it was not read")
	}
}

// attached decodes a picture attached to a cell, in the first form that can be shown.
func attached(bundle map[string]any) ([]byte, error) {
	if bundle == nil {
		return nil, errors.New("the cell has no such attachment")
	}
	for _, mime := range []string{"image/png", "image/jpeg", "image/gif"} {
		if text, ok := bundle[mime].(string); ok {
			return base64.StdEncoding.DecodeString(strings.Join(strings.Fields(text), ""))
		}
	}
	return nil, errors.New("the attachment is no PNG, JPEG or GIF picture")
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
				return []document.Block{document.Plain("The results of this verification are in the sections above.")}
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
	"Invisible laser radiation: light at these wavelengths cannot be seen and can injure the eye. Work to IEC " +
		"60825-1 and IEC 60825-2 and to local rules.",
	"Strong magnets: keep them away from cardiac implants and magnetic media; they pinch and shatter.",
	"This report replaces neither qualification testing nor the judgement of a licensed or responsible person under " +
		"local rules.",
}

func cautions(s Source) []document.Section {
	var b []document.Block
	seen := map[string]bool{}
	add := func(texts []string) {
		for _, t := range texts {
			if !seen[t] {
				seen[t] = true
				b = append(b, document.Caution{Text: document.Sentence(t)})
			}
		}
	}
	for _, r := range s.results() {
		add(r.Cautions)
	}
	for _, d := range s.Record.Designs {
		add(d.Cautions)
	}
	add(s.Outcome.Warnings)
	add(standing)
	return []document.Section{{Title: "Cautions", Level: 1, Blocks: b}}
}
