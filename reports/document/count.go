package document

import "fmt"

// Count words a number of things: "1 row", "2 rows".
func Count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
