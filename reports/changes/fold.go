package changes

import (
	"regexp"
	"slices"
	"strings"
	"sync"
)

// results are the groups of what follows from what was changed. A figure there that moves by one unit of its last digit
// has not changed for anybody who reads it: it was rounded, and 30.004 became 30.006. Elsewhere every digit is what
// somebody stated.
var results = []string{"Margins", "Fitted parameters", "Figures against the model", "Diagnosis", "Explanations tried",
	"Uncertainty", "Data quality", "Leak", "Lots"}

var numeral = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`[-−+]?\d+(?:\.\d+)?`) })

// lastDigit reports whether two printed values are the same but for numbers that move by one unit of their last
// decimal. Whole numbers count things and must be the same, and so must signs.
func lastDigit(was, is string) bool {
	a, b := numeral().FindAllString(was, -1), numeral().FindAllString(is, -1)
	if was == is || len(a) == 0 || len(a) != len(b) ||
		numeral().ReplaceAllString(was, "0") != numeral().ReplaceAllString(is, "0") {
		return false
	}
	for i := range a {
		if a[i] != b[i] && !neighbours(a[i], b[i]) {
			return false
		}
	}
	return true
}

func neighbours(a, b string) bool {
	if decimals(a) == 0 || decimals(a) != decimals(b) || negative(a) != negative(b) {
		return false
	}
	x, y := strings.ReplaceAll(a, "−", "-"), strings.ReplaceAll(b, "−", "-")
	d := strings.TrimLeft(Change{Was: x, Is: y}.Difference(), "+-0.")
	return d == "1"
}

func negative(s string) bool { return strings.HasPrefix(s, "-") || strings.HasPrefix(s, "−") }

// fold takes out of a group of results what moved by the last digit.
func fold(g *Group) (moved []Change) {
	if !slices.Contains(results, g.Title) {
		return nil
	}
	g.Changes = slices.DeleteFunc(g.Changes, func(c Change) bool {
		ends := c.Path[len(c.Path)-1]
		at := ends == "over" || ends == "at" // a condition, which somebody stated
		if at || !lastDigit(c.Was, c.Is) {
			return false
		}
		moved = append(moved, c)
		return true
	})
	return moved
}
