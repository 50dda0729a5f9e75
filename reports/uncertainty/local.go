package uncertainty

import (
	"slices"

	"math"

	"gonum.org/v1/gonum/mat"
)

// sparse is an orthonormal column that is zero but at a few places, with its factor of the root.
type sparse struct {
	local
	c float64
}

func (l local) dot(a []float64) float64 {
	sum := 0.0
	for k, i := range l.at {
		sum += l.u[k] * a[i]
	}
	return sum
}

// blocks finds the roots of the local errors: errors that have readings in common, directly or through others, are a
// block, and no two blocks have any.
func (w *Whitener) blocks(all []local) error {
	for _, block := range connected(all) {
		var at []int
		for _, l := range block {
			at = append(at, l.at...)
		}
		slices.Sort(at)
		at = slices.Compact(at)
		a := mat.NewDense(len(at), len(block), nil)
		for j, l := range block {
			for k, i := range l.at {
				row, _ := slices.BinarySearch(at, i)
				a.Set(row, j, l.u[k]*w.scale[i])
			}
		}
		q, s, err := columns(a)
		if err != nil {
			return err
		}
		for j, s := range s {
			if s > 0 {
				w.own = append(w.own, sparse{local{at, mat.Col(nil, j, q)}, 1 - 1/math.Hypot(1, s)})
			}
		}
	}
	return nil
}

// connected sorts errors into blocks.
func connected(all []local) [][]local {
	block := make([]int, len(all)) // of each error, the number of an error of its block
	for k := range block {
		block[k] = k
	}
	root := func(k int) int {
		for block[k] != k {
			block[k] = block[block[k]]
			k = block[k]
		}
		return k
	}
	first := map[int]int{} // by reading, the first error that moves it
	for k, l := range all {
		for _, i := range l.at {
			if other, ok := first[i]; ok {
				block[root(k)] = root(other)
			} else {
				first[i] = k
			}
		}
	}
	at := map[int]int{}
	var blocks [][]local
	for k, l := range all {
		r := root(k)
		n, ok := at[r]
		if !ok {
			n = len(blocks)
			at[r] = n
			blocks = append(blocks, nil)
		}
		blocks[n] = append(blocks[n], l)
	}
	return blocks
}

// projectOwn is multiplication with I - Q diag(c) Q^T for the local errors, which is symmetric.
func (w *Whitener) projectOwn(r []float64) {
	for _, o := range w.own {
		f := o.c * o.dot(r)
		for k, i := range o.at {
			r[i] -= f * o.u[k]
		}
	}
}
