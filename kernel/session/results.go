package session

import (
	"errors"
	"fmt"
	"slices"
	"sync"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
)

// mostResults is how many results are kept under their numbers (a choice: what is older is seldom wanted, and may be
// large).
const mostResults = 100

// results are the values that cells have shown at their end, by the number that stands beside them: Out[3].
type results struct {
	mu      sync.Mutex
	numbers []int // in the order of the cells
	values  map[int]starlark.Value
}

var (
	_ starlark.Mapping = (*results)(nil)
	_ Describer        = (*results)(nil)
)

func newResults() *results { return &results{values: map[int]starlark.Value{}} }

func (r *results) String() string        { return fmt.Sprintf("<results of %d cells>", len(r.numbers)) }
func (r *results) Type() string          { return "results" }
func (r *results) Freeze()               {}
func (r *results) Truth() starlark.Bool  { return true }
func (r *results) Hash() (uint32, error) { return 0, errors.New("unhashable: results") }

// Describe tells of the results.
func (r *results) Describe(int) []document.Block {
	return []document.Block{document.Code{Text: "Out[number]"},
		document.Plain("the value that a cell has shown at its end, by the number beside it; _ is the last one")}
}

// keep keeps the result of a cell.
func (r *results) keep(number int, v starlark.Value) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if _, there := r.values[number]; there {
		r.numbers = slices.DeleteFunc(r.numbers, func(n int) bool { return n == number })
	}
	r.numbers, r.values[number] = append(r.numbers, number), v
	if len(r.numbers) > mostResults {
		delete(r.values, r.numbers[0])
		r.numbers = r.numbers[1:]
	}
}

// Get returns the result of the cell of a number.
func (r *results) Get(key starlark.Value) (starlark.Value, bool, error) {
	number, err := starlark.AsInt32(key)
	if err != nil {
		return nil, false, fmt.Errorf("Out needs the number of a cell, as in Out[3], got %s", key.Type())
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	v, ok := r.values[number]
	if !ok {
		have := "no cell has shown one yet"
		if n := len(r.numbers); n > 0 {
			have = fmt.Sprintf("the last is Out[%d]", r.numbers[n-1])
		}
		return nil, false,
			fmt.Errorf("there is no Out[%d]: that cell has no result, or it is more than %d results ago; %s",
				number, mostResults, have)
	}
	return v, true, nil
}
