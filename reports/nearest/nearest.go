// Package nearest finds the name that a misspelt one was most likely meant to be, for the hints of error messages. It
// knows nothing of what the names stand for.
package nearest

import "unicode"

// To returns the candidate closest in spelling to name, or "" when none is close; name itself does not count. Case,
// underscores and spaces do not count either, and two neighbours swapped are one slip. Up to a third of the letters may
// be wrong, at least one and at most three: more than that offers names that have nothing to do with the one meant.
// Among equals the first wins, so that candidates should be in an order that does not change.
func To(name string, candidates []string) string {
	const longest = 200 // bytes of a name; a text that came in its place is near none
	if len(name) > longest {
		return ""
	}
	a := fold(name)
	limit := min(max(len(a)/3, 1), 3)
	best := ""
	for _, c := range candidates {
		b := fold(c)
		if c == name || max(len(a)-len(b), len(b)-len(a)) > limit {
			continue
		}
		d := slips(a, b)
		if d > limit || d >= max(len(a), len(b)) || best != "" && d == limit {
			continue
		}
		best, limit = c, d
	}
	return best
}

// fold leaves out what does not count. It is called for every name of a vocabulary at a time.
func fold(s string) []rune {
	folded := make([]rune, 0, len(s))
	for _, r := range s {
		if r != '_' && r != ' ' {
			folded = append(folded, unicode.ToLower(r))
		}
	}
	return folded
}

// slips counts the letters to insert, drop, change or swap with their neighbour to make b of a (optimal string
// alignment).
func slips(a, b []rune) int {
	before, row, next := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		next[0] = i
		for j := 1; j <= len(b); j++ {
			change := row[j-1]
			if a[i-1] != b[j-1] {
				change++
			}
			next[j] = min(change, row[j]+1, next[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				next[j] = min(next[j], before[j-2]+1)
			}
		}
		before, row, next = row, next, before
	}
	return row[len(b)]
}
