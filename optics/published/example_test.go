package published_test

import (
	"fmt"
	"testing"

	"wedgework/optics/published"
)

// outside stands for a test where there is none.
type outside struct{ testing.TB }

func (outside) Helper() {}

// A test walks the rows of a file and compares each value within the tolerance that its row states.
func ExampleRows() {
	var t testing.TB = outside{}
	for _, row := range published.Rows(t, "magnets.csv")[:2] {
		fmt.Println(row[0], row[2], "mm:", published.Number(t, row[3]), row[4])
	}
	// Output:
	// ring 0 mm: -0.2943598 T
	// ring 1 mm: -0.2554757 T
}
