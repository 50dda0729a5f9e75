package document

import "fmt"

// Passing words how many of several things pass: "all 12 units pass", "1 of 12 units passes"; one thing alone passes or
// does not.
func Passing(pass, all int, thing string) string {
	switch {
	case all == 1 && pass == 1:
		return "the " + thing + " passes"
	case all == 1:
		return "the " + thing + " does not pass"
	case pass == all:
		return fmt.Sprintf("all %d %ss pass", all, thing)
	case pass == 0:
		return fmt.Sprintf("none of %d %ss passes", all, thing)
	case pass == 1:
		return fmt.Sprintf("1 of %d %ss passes", all, thing)
	}
	return fmt.Sprintf("%d of %d %ss pass", pass, all, thing)
}

// Count words a number of things: "1 row", "2 rows".
func Count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
