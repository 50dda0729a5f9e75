package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// NotUsed lists, in a few words each, all of the file that holds readings, or may hold some, of which figures that are
// compared make no use: columns that are not known, columns of other figures than the used ones, and what else Unused
// has. It leaves nothing out, for it is what a signer is told: of many rows of one kind their lines are listed.
func (t *Table) NotUsed(used []string) []string {
	var all []string
	for _, c := range t.Columns {
		switch {
		case c.Name == "":
			all = append(all, fmt.Sprintf("the column %q, which is not known", c.Head))
		case slices.Contains(figures, c.Name) && !c.Uncertainty && !slices.Contains(used, c.Name):
			n := 0
			for _, v := range t.Figure(c.Name) {
				if !math.IsNaN(v) {
					n++
				}
			}
			if n > 0 {
				all = append(all, fmt.Sprintf("the column %q, %s", c.Head, counted(n, "reading")))
			}
		}
	}
	few := t.Unused
	if len(few) > mostListed+1 {
		few = few[:mostListed]
	}
	for _, u := range few {
		all = append(all, fmt.Sprintf("%s (%s)", u.What, placeOf(t.Sheet, u.Line, 0)))
	}
	if rest := t.Unused[len(few):]; len(rest) > 0 {
		var lines []int
		for _, u := range rest {
			lines = append(lines, u.Line)
		}
		all = append(all, fmt.Sprintf("%d more rows (lines %s)", len(rest), ranges(lines)))
	}
	return all
}

// ranges words numbers, neighbours together: "5, 9 to 41".
func ranges(all []int) string {
	all = slices.Compact(slices.Sorted(slices.Values(all)))
	var parts []string
	for i := 0; i < len(all); {
		j := i
		for j+1 < len(all) && all[j+1] == all[j]+1 {
			j++
		}
		switch {
		case j == i:
			parts = append(parts, fmt.Sprint(all[i]))
		case j == i+1:
			parts = append(parts, fmt.Sprint(all[i]), fmt.Sprint(all[j]))
		default:
			parts = append(parts, fmt.Sprintf("%d to %d", all[i], all[j]))
		}
		i = j + 1
	}
	return strings.Join(parts, ", ")
}
