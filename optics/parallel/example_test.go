package parallel_test

import (
	"fmt"
	"math"

	"wedgework/optics/parallel"
)

// Every index writes to its own place, so that the outcome does not depend on the number of processors.
func ExampleEach() {
	squares := make([]float64, 5)
	err := parallel.Each(len(squares), func(i int) error {
		squares[i] = float64(i * i)
		return nil
	})
	fmt.Println(squares, err)
	// Output: [0 1 4 9 16] <nil>
}

// A worker keeps a buffer from one index to the next.
func ExampleShare() {
	norms := make([]float64, 3)
	parallel.Share(2, len(norms), func(next func() (int, bool)) {
		buffer := make([]float64, 2)
		for i, ok := next(); ok; i, ok = next() {
			buffer[0], buffer[1] = 3*float64(i), 4*float64(i)
			norms[i] = math.Hypot(buffer[0], buffer[1])
		}
	})
	fmt.Println(norms)
	// Output: [0 5 10]
}
