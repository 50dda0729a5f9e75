package compose

import (
	"fmt"
	"slices"

	"wedgework/reports/document"
	"wedgework/reports/drawing"
	"wedgework/reports/rerun"
)

// design draws the stacks that were verified or reviewed, unless the notebook has drawn one itself: then the author's
// choice of wavelength and place stands.
func design(s Source) []document.Section {
	if s.drawn() {
		return nil
	}
	var b []document.Block
	for i, v := range s.Outcome.Verified {
		m := v.Model
		if m == nil || slices.ContainsFunc(s.Outcome.Verified[:i],
			func(w rerun.Verification) bool { return w.Model == m }) {
			continue // units of one lot share their model
		}
		d, err := drawing.New(m, m.Spec().AlignAt, m.Spec().AlignTemperature)
		if err != nil {
			b = append(b, document.Plain(document.Sentence(fmt.Sprintf("the design of unit %s could not be drawn: %v",
				v.Result.Unit, err))))
			continue
		}
		b = append(b, d.Rays(), d.Ends())
	}
	for _, r := range s.Outcome.Reviewed {
		d, err := drawing.New(r.Stack, r.Stack.Spec().AlignAt, r.Stack.Spec().AlignTemperature)
		if err != nil {
			b = append(b, document.Plain(document.Sentence(fmt.Sprintf("%s could not be drawn: %v", r.Name, err))))
			continue
		}
		b = append(b, d.Rays(), d.Ends())
	}
	if len(b) == 0 {
		return nil
	}
	return []document.Section{{Title: "Design", Level: 1, Blocks: b}}
}

// drawn reports whether a cell of the notebook has drawn a stack.
func (s Source) drawn() bool {
	for _, c := range s.Outcome.Notebook.Cells {
		for _, o := range c.Outputs {
			if slices.ContainsFunc(o.Blocks, drawing.Is) {
				return true
			}
		}
	}
	return false
}
