package uncertainty

import "slices"

// ordered holds trials of which only the tails are in order, for the ends of coverage intervals lie there and sorting
// the rest would cost more than drawing it: each of the least n-q values and of the greatest n-q stands where it would
// if all were sorted, n being how many there are and q how many an interval spans.
type ordered struct {
	values []float64
	span   int // q of JCGM 101:2008, 7.7
}

// newOrdered puts the tails of values in order, in place, for intervals of probability p. There must be no NaN.
func newOrdered(values []float64, p float64) *ordered {
	n := len(values)
	o := &ordered{values, min(int(p*float64(n)+0.5), n-1)}
	least := n - o.span
	if 2*least >= n { // the tails meet
		slices.Sort(values)
		return o
	}
	part(values, least)
	part(values[least:], o.span-least)
	slices.Sort(values[:least])
	slices.Sort(values[o.span:])
	return o
}

// symmetric returns the ends of the probabilistically symmetric interval: JCGM 101:2008, 7.7.
func (o *ordered) symmetric() (low, high float64) {
	r := (len(o.values) - o.span) / 2
	return o.values[r], o.values[r+o.span]
}

// part moves the k least of values to the front, in place and in no order: quickselect (Hoare, "Algorithm 65: Find",
// Communications of the ACM 4, 321, 1961) with a pivot from a sample, where the k-th is to be expected.
func part(values []float64, k int) {
	for lo, hi := 0, len(values); lo < k && k < hi; {
		pivot := expected(values[lo:hi], k-lo)
		i, j := lo, hi-1
		for i <= j {
			for values[i] < pivot {
				i++
			}
			for values[j] > pivot {
				j--
			}
			if i <= j {
				values[i], values[j] = values[j], values[i]
				i++
				j--
			}
		}
		// Now values[lo:j+1] <= pivot <= values[i:hi], and any between equal it.
		switch {
		case k <= j:
			hi = j + 1
		case k >= i:
			lo = i
		default:
			return
		}
	}
}

// expected guesses the k-th of values from a sample of them.
func expected(values []float64, k int) float64 {
	var sample [31]float64
	n := min(len(sample), len(values))
	for i := range n {
		sample[i] = values[i*len(values)/n]
	}
	slices.Sort(sample[:n])
	return sample[min(k*n/len(values), n-1)]
}
