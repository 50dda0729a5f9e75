package publish

import (
	"regexp"
	"slices"
	"sync"

	"wedgework/reports/changes"
	"wedgework/reports/notebook"
)

// sameFigures reports whether every figure and every outcome that a report printed is printed by the one made now, in
// the record and in what the cells show. Words may differ, and figures may have come to those that were printed.
func (s *Standing) sameFigures(json, executed []byte) bool {
	if s.json == nil || s.notebook == nil {
		return false
	}
	all, err := changes.Of(s.json, json)
	if err != nil || slices.ContainsFunc(all, figureChanged) {
		return false
	}
	was, err := shown(s.notebook)
	if err != nil {
		return false
	}
	is, err := shown(executed)
	return err == nil && slices.Equal(was, is)
}

// apart are the parts of a record that say how a report was made and not what it found out.
var apart = []string{"program", "executed", "number", "supersedes", "constants"}

func figureChanged(c changes.Change) bool {
	if slices.Contains(apart, c.Path[0]) {
		return false
	}
	last := c.Path[len(c.Path)-1]
	switch {
	case slices.Contains(c.Path, "cautions"), last == "outcome", slices.Contains(c.Path, "verdicts") &&
		last != "sentence":
		return true
	case c.Was == "": // it was not printed
		return false
	}
	return !slices.Equal(numerals(c.Was), numerals(c.Is))
}

var numeral = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`[-−+]?\d+(?:\.\d+)?`) })

func numerals(text string) []string { return numeral().FindAllString(text, -1) }

// shown lists the numerals that the cells of a notebook show, cell by cell.
func shown(data []byte) ([]string, error) {
	nb, err := notebook.Read(data)
	if err != nil {
		return nil, err
	}
	var all []string
	for _, c := range nb.Cells {
		for _, o := range c.Outputs {
			text, _ := o.Data["text/plain"].(string)
			all = append(append(all, numerals(o.Text+" "+text)...), "")
		}
	}
	return all, nil
}
