package vocab

import "strings"

// Nearest returns the candidate closest in spelling to name, or "" when none is close. Case and
// underscores do not count; up to a third of the letters may be wrong, at least one and at most three:
// more than that offers words that have nothing to do with the one meant.
func Nearest(name string, candidates []string) string {
	folded := fold(name)
	limit := min(max(len(folded)/3, 1), 3)
	best := ""
	for _, c := range candidates {
		if d := distance(folded, fold(c), limit); d <= limit && (d < limit || best == "") {
			best, limit = c, d
		}
	}
	return best
}

func fold(s string) string { return strings.ToLower(strings.ReplaceAll(s, "_", "")) }

// distance is the number of insertions, deletions, substitutions and swaps of neighbours that turn a
// into b, or something over limit when it is over limit.
func distance(a, b string, limit int) int {
	if max(len(a)-len(b), len(b)-len(a)) > limit {
		return limit + 1
	}
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			d := last[j-1]
			if a[i-1] != b[j-1] {
				d++
			}
			d = min(d, last[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, before[j-2]+1)
			}
			row[j] = d
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
