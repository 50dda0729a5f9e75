package changes

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// Cell is a cell of the notebook that is not as it was. Numbers count from 1; 0 is for a cell that was not there, or is
// no longer.
type Cell struct {
	Was   int      `json:"was"`
	Is    int      `json:"is"`
	Lines []string `json:"lines"` // the cell with what was before: "- " and "+ " before what went and what came
}

// Cells compares the sources of two notebooks, cell by cell and line by line. Outputs are not compared: their figures
// are those of the record.
func Cells(was, is []byte) ([]Cell, error) {
	a, err := sources(was)
	if err != nil {
		return nil, fmt.Errorf("the old notebook: %w", err)
	}
	b, err := sources(is)
	if err != nil {
		return nil, fmt.Errorf("the new notebook: %w", err)
	}
	var all []Cell
	for _, g := range gaps(a, b) {
		all = append(all, paired(a, b, g)...)
	}
	return all, nil
}

func sources(data []byte) ([]string, error) {
	nb, err := notebook.Read(data)
	if err != nil {
		return nil, err
	}
	all := make([]string, len(nb.Cells))
	for i, c := range nb.Cells {
		all[i] = string(c.Type) + "\n" + strings.TrimRight(c.Source, "\n")
	}
	return all, nil
}

// gap is a stretch in which two lists differ.
type gap struct{ a0, a1, b0, b1 int }

// mostLines bounds the table that a comparison needs; what is longer is one gap. It is a choice.
const mostLines = 4e6

// gaps are the stretches between what two lists have in common in the same order, as much of it as there can be.
func gaps(a, b []string) []gap {
	from := 0
	for from < len(a) && from < len(b) && a[from] == b[from] {
		from++
	}
	na, nb := len(a), len(b)
	for na > from && nb > from && a[na-1] == b[nb-1] {
		na, nb = na-1, nb-1
	}
	if (na-from)*(nb-from) > mostLines {
		return []gap{{from, na, from, nb}}
	}
	// common[i][j] is how much a[i:] and b[j:] have in common
	w := nb - from + 1
	common := make([]int32, (na-from+1)*w)
	for i := na - from - 1; i >= 0; i-- {
		for j := nb - from - 1; j >= 0; j-- {
			if a[from+i] == b[from+j] {
				common[i*w+j] = common[(i+1)*w+j+1] + 1
			} else {
				common[i*w+j] = max(common[(i+1)*w+j], common[i*w+j+1])
			}
		}
	}
	var all []gap
	i, j := from, from
	for i < na || j < nb {
		g := gap{a0: i, b0: j}
		for i < na || j < nb {
			if i < na && j < nb && a[i] == b[j] {
				break
			}
			if j >= nb || i < na && common[(i-from+1)*w+j-from] >= common[(i-from)*w+j-from+1] {
				i++
			} else {
				j++
			}
		}
		g.a1, g.b1 = i, j
		all = append(all, g)
		for i < na && j < nb && a[i] == b[j] {
			i, j = i+1, j+1
		}
	}
	return all
}

// paired holds the cells of a gap against each other in their order, as far as they look alike.
func paired(a, b []string, g gap) []Cell {
	var all []Cell
	i := g.a0
	for j := g.b0; j < g.b1; j++ {
		at := slices.IndexFunc(a[i:g.a1], func(s string) bool { return alike(s, b[j]) })
		if at < 0 {
			all = append(all, Cell{Is: j + 1, Lines: marked("+ ", b[j])})
			continue
		}
		for ; at > 0; at-- {
			all = append(all, Cell{Was: i + 1, Lines: marked("- ", a[i])})
			i++
		}
		all = append(all, Cell{i + 1, j + 1, difference(a[i], b[j])})
		i++
	}
	for ; i < g.a1; i++ {
		all = append(all, Cell{Was: i + 1, Lines: marked("- ", a[i])})
	}
	return all
}

// alike reports whether two cells are of one kind and share a third of their words and numbers, which is a choice.
func alike(a, b string) bool {
	apart := func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '_' }
	x, y := strings.FieldsFunc(a, apart), strings.FieldsFunc(b, apart)
	if x[0] != y[0] {
		return false
	}
	count := map[string]int{}
	for _, w := range x[1:] {
		count[w]++
	}
	shared := 0
	for _, w := range y[1:] {
		if count[w] > 0 {
			count[w]--
			shared++
		}
	}
	return 3*shared >= max(len(x), len(y))-1
}

// lines are those of a cell, without the one that says its kind.
func lines(cell string) []string { return strings.Split(cell, "\n")[1:] }

func marked(mark, cell string) []string {
	all := lines(cell)
	for i := range all {
		all[i] = mark + all[i]
	}
	return all
}

// difference is the new cell with the lines that went, and two lines around each change.
func difference(was, is string) []string {
	const around = 2
	a, b := lines(was), lines(is)
	var all []string
	shown := 0 // lines of b that stand already
	context := func(from, to int) {
		if from > shown {
			all = append(all, "  ...")
		}
		for k := max(from, shown); k < to; k++ {
			all = append(all, "  "+b[k])
		}
		shown = max(shown, to)
	}
	parts := gaps(a, b)
	for n, g := range parts {
		context(max(shown, g.b0-around), g.b0)
		for _, l := range a[g.a0:g.a1] {
			all = append(all, "- "+l)
		}
		for _, l := range b[g.b0:g.b1] {
			all = append(all, "+ "+l)
		}
		shown = g.b1
		next := len(b)
		if n+1 < len(parts) {
			next = parts[n+1].b0
		}
		context(shown, min(shown+around, next))
	}
	if shown < len(b) {
		all = append(all, "  ...")
	}
	return all
}

// called names a cell by its number.
func (c Cell) called() string {
	switch {
	case c.Was == 0:
		return fmt.Sprintf("Cell %d, new", c.Is)
	case c.Is == 0:
		return fmt.Sprintf("Cell %d of the old notebook, removed", c.Was)
	case c.Was != c.Is:
		return fmt.Sprintf("Cell %d, was cell %d", c.Is, c.Was)
	}
	return fmt.Sprintf("Cell %d", c.Is)
}

// cellBlocks shows each cell as a difference of lines.
func cellBlocks(all []Cell) []document.Block {
	var b []document.Block
	for _, c := range all {
		b = append(b, document.Heading{Level: 1, Text: c.called()}, document.Code{Text: strings.Join(c.Lines, "\n")})
	}
	return b
}
