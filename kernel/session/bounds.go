package session

import "fmt"

// Bounds limits what one cell may use. A zero field takes the value of DefaultBounds.
type Bounds struct {
	Steps       uint64 // steps of the interpreter
	Depth       int    // calls inside calls; checked every few hundred calls
	Output      int    // bytes printed
	Outputs     int    // outputs emitted
	Elements    int    // elements of one list, tuple or other collection made in one go
	Range       int    // elements of a range
	Text        int    // bytes of one string
	IntegerBits int    // bits of a whole number made by * or **
	Heap        int64  // bytes by which live memory of the process may grow while the cell runs
}

// DefaultBounds returns the bounds of an ordinary session. The numbers are a choice: far above what a
// notebook needs, and low enough that a slip ends in an error within seconds on a small machine.
func DefaultBounds() Bounds {
	return Bounds{
		Steps:       1 << 30, // half a minute at some 40 million steps a second
		Depth:       1000,
		Output:      4 << 20,
		Outputs:     10_000,
		Elements:    1 << 22,
		Range:       1 << 24,
		Text:        16 << 20,
		IntegerBits: 1 << 18,
		Heap:        512 << 20,
	}
}

func (b Bounds) withDefaults() Bounds {
	d := DefaultBounds()
	fill(&b.Steps, d.Steps)
	fill(&b.Depth, d.Depth)
	fill(&b.Output, d.Output)
	fill(&b.Outputs, d.Outputs)
	fill(&b.Elements, d.Elements)
	fill(&b.Range, d.Range)
	fill(&b.Text, d.Text)
	fill(&b.IntegerBits, d.IntegerBits)
	fill(&b.Heap, d.Heap)
	return b
}

func fill[T int | int64 | uint64](field *T, value T) {
	if *field == 0 {
		*field = value
	}
}

// limitError is the error of a bound that a cell ran into.
type limitError struct{ message string }

func (e *limitError) Error() string { return e.message }

func overLimit(format string, args ...any) error {
	return &limitError{fmt.Sprintf(format, args...)}
}
