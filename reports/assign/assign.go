// Package assign pairs rows with columns at the least total cost: the linear assignment problem, with the prices that
// prove the optimum.
//
// The method is that of R. Jonker and A. Volgenant, Computing 38, 325 (1987): rows bid for their cheapest columns,
// which become dearer, and rows that are left over find the shortest augmenting path. Rows may be fewer than columns;
// the prices of columns that stay free are then zero (D. F. Crouse, IEEE Trans. Aerosp. Electron. Syst. 52, 1679
// (2016)).
package assign

import (
	"context"
	"fmt"
	"math"
)

// Most bounds the entries of a cost matrix: 128 MiB of them. It is a choice.
const Most = 1 << 24

// Costs is a matrix of what it costs to pair each row with each column, row by row.
type Costs struct {
	Rows, Columns int
	Each          []float64
}

// At is the cost of a pair.
func (c Costs) At(row, column int) float64 { return c.Each[row*c.Columns+column] }

// row is the costs of a row.
func (c Costs) row(i int) []float64 { return c.Each[i*c.Columns : (i+1)*c.Columns] }

// Pairing is an assignment of the least total cost.
type Pairing struct {
	Column []int     // of each row, all different
	Prices []float64 // of each column, zero or less; they prove the optimum, see Bound
	Total  float64
}

// Solve pairs every row with a column of its own. An error is the context's, that of more rows than columns, or of a
// cost that is not a finite number.
func Solve(ctx context.Context, c Costs) (*Pairing, error) {
	if c.Rows < 1 || c.Rows > c.Columns || c.Columns > Most/c.Rows || len(c.Each) != c.Rows*c.Columns {
		return nil, fmt.Errorf("%d rows, %d columns, %d costs: expected at least one row, no fewer columns than rows "+
			"and a cost for each pair, at most %d", c.Rows, c.Columns, len(c.Each), Most)
	}
	for k, v := range c.Each {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("the cost of row %d and column %d is %g, expected a finite number", k/c.Columns,
				k%c.Columns, v)
		}
	}
	s := &solver{Costs: c, column: make([]int, c.Rows), row: make([]int, c.Columns),
		price: make([]float64, c.Columns)}
	for i := range s.column {
		s.column[i] = -1
	}
	for j := range s.row {
		s.row[j] = -1
	}
	free, err := s.bid(ctx)
	if err != nil {
		return nil, err
	}
	s.roomy()
	for _, i := range free {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		s.augment(i)
	}
	p := &Pairing{Column: s.column, Prices: s.price}
	for i, j := range s.column {
		p.Total += c.At(i, j)
	}
	return p, nil
}

// Bound is a total that no pairing can fall below, whatever the prices are, if none is above zero: of any pairing, the
// costs are those less prices, of which each row has at least its least, and prices of different columns, of which all
// together are no more than those of some (duality of linear programs). Prices for which it equals a pairing's total
// prove that pairing.
func Bound(c Costs, prices []float64) float64 {
	total := 0.0
	for _, v := range prices {
		if v > 0 {
			return math.Inf(-1)
		}
		total += v
	}
	for i := range c.Rows {
		least := math.Inf(1)
		for j, v := range c.row(i) {
			least = min(least, v-prices[j])
		}
		total += least
	}
	return total
}

// solver is a pairing under way; -1 is none.
type solver struct {
	Costs
	column, row []int
	price       []float64

	distance   []float64 // of each column from the row that looks for one
	before     []int     // row by which a column is reached
	todo, near []int
}

// rounds is how often rows that were outbid bid again before paths are looked for.
const rounds = 2

// bid lets every row take its cheapest column, which becomes dearer by what the second cheapest costs more; who had it
// bids again. It returns the rows that are left.
func (s *solver) bid(ctx context.Context) ([]int, error) {
	free := make([]int, s.Rows)
	for i := range free {
		free[i] = i
	}
	for range rounds {
		var outbid []int
		// A row that is outbid bids at once, which ends: prices only fall, by a least amount; but it may take long.
		budget := 8 * s.Rows
		for len(free) > 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			i := free[len(free)-1]
			free = free[:len(free)-1]
			j, second, step := s.cheapest(i)
			if step > 0 {
				s.price[j] -= step
			} else if s.row[j] >= 0 && second >= 0 {
				j = second
			}
			loser := s.row[j]
			if loser >= 0 && step <= 0 {
				outbid = append(outbid, i) // a tie: taking it would only go round
				continue
			}
			s.row[j], s.column[i] = i, j
			if loser < 0 {
				continue
			}
			s.column[loser] = -1
			if budget--; budget > 0 {
				free = append(free, loser)
			} else {
				outbid = append(outbid, loser)
			}
		}
		free = outbid
	}
	return free, nil
}

// cheapest returns a row's cheapest column at the prices, the second cheapest and by how much that is dearer.
func (s *solver) cheapest(i int) (first, second int, step float64) {
	least, next := math.Inf(1), math.Inf(1)
	first, second = -1, -1
	for j, v := range s.Costs.row(i) {
		switch v -= s.price[j]; {
		case v < least:
			next, second = least, first
			least, first = v, j
		case v < next:
			next, second = v, j
		}
	}
	if second < 0 {
		return first, second, 0
	}
	return first, second, next - least
}

func (s *solver) roomy() {
	s.distance, s.before = make([]float64, s.Columns), make([]int, s.Columns)
	s.todo, s.near = make([]int, 0, s.Columns), make([]int, 0, s.Columns)
}

// augment finds the shortest path from a free row to a free column along pairs that are taken, in costs less prices,
// and turns it over (E. W. Dijkstra, Numerische Mathematik 1, 269 (1959)).
func (s *solver) augment(from int) {
	s.todo, s.near = s.todo[:0], s.near[:0]
	costs := s.Costs.row(from)
	nearest, at := math.Inf(1), 0 // of what is still to be reached, and where it stands in todo
	for j := range s.Columns {
		d := costs[j] - s.price[j]
		s.distance[j], s.before[j] = d, from
		s.todo = append(s.todo, j)
		if d < nearest || d == nearest && s.row[j] < 0 {
			nearest, at = d, j
		}
	}
	var end int
	var reach float64
	for {
		j := s.todo[at]
		s.todo[at] = s.todo[len(s.todo)-1]
		s.todo = s.todo[:len(s.todo)-1]
		reach = s.distance[j]
		if s.row[j] < 0 {
			end = j
			break
		}
		s.near = append(s.near, j)
		i := s.row[j]
		costs := s.Costs.row(i)
		further := reach - (costs[j] - s.price[j]) // reduced costs of a pair that is taken are the row's least
		nearest, at = math.Inf(1), 0
		for n, k := range s.todo {
			d := s.distance[k]
			if c := costs[k] - s.price[k] + further; c < d {
				d = c
				s.distance[k], s.before[k] = c, i
			}
			if d < nearest || d == nearest && s.row[k] < 0 {
				nearest, at = d, n
			}
		}
	}
	for _, j := range s.near {
		s.price[j] += s.distance[j] - reach
	}
	for j := end; ; {
		i := s.before[j]
		s.row[j] = i
		s.column[i], j = j, s.column[i]
		if i == from {
			return
		}
	}
}
