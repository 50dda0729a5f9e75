package session

import "strings"

// nearest returns the candidate that x most likely was meant to be, or "" when none is close. Case and
// underscores do not count; a pair of letters swapped counts as one slip. Among equals the first in
// order wins, so that candidates should be sorted.
func nearest(x string, candidates []string) string {
	best, least := "", 0
	a := fold(x)
	for _, c := range candidates {
		if c == x {
			continue
		}
		b := fold(c)
		d := slips(a, b)
		allowed := max(1, max(len(a), len(b))/3) // of letters; math is not a slip for hash
		if len(b) < 5 {
			allowed = 1
		}
		if d > allowed || d >= max(len(a), len(b)) {
			continue
		}
		if best == "" || d < least {
			best, least = c, d
		}
	}
	return best
}

func fold(s string) []rune {
	return []rune(strings.ToLower(strings.ReplaceAll(s, "_", "")))
}

// slips counts the letters to insert, drop, change or swap with their neighbour to make b of a
// (optimal string alignment).
func slips(a, b []rune) int {
	before, row := make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		next := make([]int, len(b)+1)
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
		before, row = row, next
	}
	return row[len(b)]
}

// meant is the tail of a message that offers a spelling.
func meant(prefix, name string) string {
	if name == "" {
		return ""
	}
	return " (did you mean " + prefix + name + "?)"
}
