package measured

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"wedgework/optics/quantity"
)

// Reference is a trace that powers were divided by. The error of one of its readings is an error of every loss computed
// with it: one trace under ten repeats is one error in ten readings.
type Reference struct {
	Key   string    // what makes it the same in two tables: file, sheet and column
	From  Source    // where it stands
	U     []float64 // standard uncertainty of each of its readings, dB
	Lines [][]int   // the lines of each in its file; nil for a column beside the powers
	// What is an error of the instrument that is no reading of a reference, and shared as one: its name. "" for others.
	What string
}

// division is powers over their reference, of one direction and launch state.
type division struct {
	dB  []float64
	u   []float64 // of the power alone, dB; nil where it is all
	all float64

	// By row, the reading of the references, counted through all of the table, and how much of the next one: the
	// reference is interpolated between them. -1 for none.
	first  []int32
	weight []float64

	// Errors of the instrument that the file states, by row; nil for none. drift is the size of one of them, dB.
	more  [][]share
	drift float64
	alone bool // no launch states
}

func (d *division) noise(row int) float64 {
	if d.u == nil {
		return d.all
	}
	return d.u[row]
}

// points hands on the readings of the reference that a row was divided by, and the share of each.
func (d *division) points(row int, do func(point int, share float64)) {
	switch k, w := int(d.first[row]), d.weight[row]; {
	case k < 0:
	case w == 0:
		do(k, 1)
	default:
		do(k, 1-w)
		do(k+1, w)
	}
	if d.more != nil {
		for _, s := range d.more[row] {
			do(int(s.point), float64(s.by))
		}
	}
}

// Term is one error that a reading shares with others: by how much it moves the reading, for a change of the error by
// its standard uncertainty, in dB.
type Term struct {
	Error int // counts the errors of the table, from 0 to SharedErrors
	Move  float64
}

// SharedErrors returns how many errors the readings of the table can share: those of the readings of its references.
func (t *Table) SharedErrors() int {
	n := 0
	for _, r := range t.References {
		n += len(r.U)
	}
	return n
}

// reference returns a reading of the references, counted through all of the table.
func (t *Table) reference(number int) (r *Reference, point int) {
	for i := range t.References {
		if r = &t.References[i]; number < len(r.U) {
			return r, number
		}
		number -= len(r.U)
	}
	panic("measured: no such reading of a reference")
}

// SharedError says what an error is: the reading of the reference that it is of.
func (t *Table) SharedError(number int) string {
	r, k := t.reference(number)
	if r.What != "" {
		return r.What + ", " + r.From.File.Name
	}
	what := "noise of the reference in " + r.From.File.Name
	if r.Lines != nil {
		what += ", " + placeOf(r.From.Sheet, r.Lines[k][0], 0)
	}
	return what
}

// Shared returns the errors that a reading shares with others. They are part of its standard uncertainty in U: the
// covariance of two readings is the sum of the products of what the same error moves in both, and what is left of U is
// the reading's own. Nil for figures that were not computed from powers.
func (t *Table) Shared(figure string, row int) []Term {
	d, four := t.divisionsOf(figure)
	if d == nil {
		return nil
	}
	var terms []Term
	for k, slope := range slopes(figure, d, four, row) {
		d[k].points(row, func(point int, share float64) {
			r, n := t.reference(point)
			move := -slope * share * r.U[n]
			if at := slices.IndexFunc(terms, func(o Term) bool { return o.Error == point }); at >= 0 {
				terms[at].Move += move
			} else if move != 0 {
				terms = append(terms, Term{point, move})
			}
		})
	}
	const rounding = 1e-12 // dB: what one reference for all four states leaves of a PDL
	return slices.DeleteFunc(terms, func(o Term) bool { return math.Abs(o.Move) < rounding })
}

// Own returns the standard uncertainty of a reading that it shares with no other; NaN where none is known.
func (t *Table) Own(figure string, row int) float64 {
	if t.U[figure] == nil {
		return missing
	}
	square := t.U[figure][row] * t.U[figure][row]
	for _, s := range t.Shared(figure, row) {
		square -= s.Move * s.Move
	}
	return math.Sqrt(max(0, square))
}

// divisionsOf returns the powers over reference that a figure follows from, one or those of four states; nil for
// others.
func (t *Table) divisionsOf(figure string) (d []*division, four bool) {
	direction := forward
	switch figure {
	case Isolation, IsolationMean, BackwardPDL:
		direction = backward
	case InsertionLoss, InsertionLossMin, InsertionLossMax, PDL:
	default:
		return nil, false
	}
	if d := t.fourOf(direction); d != nil {
		return d, true
	}
	if one := t.divided[direction]; one != nil && (figure == Isolation || figure == InsertionLoss) {
		return []*division{one}, false
	}
	return nil, false
}

// fourOf returns the powers of four states over reference, nil where there are none.
func (t *Table) fourOf(direction string) []*division {
	var d []*division
	for _, s := range states {
		one := t.divided[direction+" "+s]
		if one == nil {
			return nil
		}
		d = append(d, one)
	}
	return d
}

// slopes returns by how much a figure moves with each power over reference, dB by dB.
func slopes(figure string, d []*division, four bool, row int) []float64 {
	if !four {
		return []float64{-1}
	}
	s := transmissions(d, row).slopes(figure)
	return s[:]
}

// standard returns the standard uncertainty of a figure: of the powers themselves and of their references.
func (t *Table) standard(figure string, d []*division, slope []float64, row int) float64 {
	sum := 0.0
	for k := range d {
		sum += slope[k] * slope[k] * d[k].noise(row) * d[k].noise(row)
	}
	for _, s := range t.Shared(figure, row) {
		sum += s.Move * s.Move
	}
	return math.Sqrt(sum)
}

// mergeReferences gives a table that two were put together in one list of references, each once, and their divisions.
func (t *Table) mergeReferences(a, b *Table) {
	if a.divided == nil && b.divided == nil {
		return
	}
	t.References = slices.Clone(a.References)
	to := make([]int32, 0, b.SharedErrors()) // where the readings of b's references are counted now
	for _, r := range b.References {
		base, found := 0, false
		for _, o := range t.References {
			if found = o.Key == r.Key && slices.Equal(o.U, r.U); found {
				break
			}
			base += len(o.U)
		}
		if !found {
			t.References = append(t.References, r)
		}
		for k := range r.U {
			to = append(to, int32(base+k))
		}
	}
	t.divided = map[string]*division{}
	for _, of := range []map[string]*division{a.divided, b.divided} {
		for name := range of {
			t.divided[name] = joined(a.divided[name], b.divided[name], a.Rows(), b.Rows(), to)
		}
	}
}

// joined puts the rows of one division under those of another; nil stands for rows without.
func joined(a, b *division, na, nb int, to []int32) *division {
	j := &division{}
	for _, d := range []*division{a, b} {
		if d != nil {
			j.alone, j.drift = d.alone, max(j.drift, d.drift)
			if d.more != nil {
				j.more = make([][]share, 0, na+nb)
			}
		}
	}
	add := func(d *division, n int, to []int32) {
		for i := range n {
			if j.more != nil {
				j.more = append(j.more, d.sharesOf(i, to))
			}
			if d == nil || d.first[i] < 0 {
				j.dB, j.u, j.first, j.weight = append(j.dB, missing), append(j.u, 0), append(j.first, -1),
					append(j.weight, 0)
				continue
			}
			k := d.first[i]
			if to != nil {
				k = to[k]
			}
			j.dB, j.u, j.first, j.weight = append(j.dB, d.dB[i]), append(j.u, d.noise(i)), append(j.first, k),
				append(j.weight, d.weight[i])
		}
	}
	add(a, na, nil)
	add(b, nb, to)
	return j
}

// sharesOf returns the errors of the instrument in a row, counted as in another table.
func (d *division) sharesOf(row int, to []int32) []share {
	if d == nil || d.more == nil {
		return nil
	}
	all := slices.Clone(d.more[row])
	for k := range all {
		if to != nil {
			all[k].point = to[all[k].point]
		}
	}
	return all
}

// pick returns the given rows.
func (d *division) pick(rows []int) *division {
	return &division{dB: some(d.dB, rows), u: some(d.u, rows), all: d.all, first: some(d.first, rows),
		weight: some(d.weight, rows), more: some(d.more, rows), drift: d.drift, alone: d.alone}
}

// keyOf names a reference in every table that it occurs in.
func referenceKeyOf(from Source, column string) string {
	return fmt.Sprintf("%s/%s/%s", from.File.SHA256, from.Sheet, column)
}

// averagePowers replaces the losses of averaged rows by those of the mean powers: a mean of PDLs would keep what noise
// adds to each. The noise of the powers averages; a reference under all of them does not.
func (t *Table) averagePowers(of *Table, groups [][]int) {
	if of.divided == nil {
		return
	}
	t.divided = map[string]*division{}
	t.References = slices.Clone(of.References)
	fresh := map[*int32]*division{} // by the links they were made from, so that states keep sharing one reference
	for _, name := range slices.Sorted(maps.Keys(of.divided)) {
		d := of.divided[name]
		mean := d.averaged(groups)
		if linked := fresh[&d.first[0]]; linked != nil {
			mean.first, mean.weight = linked.first, linked.weight
		} else {
			t.relink(of, d, mean, groups)
			fresh[&d.first[0]] = mean
		}
		t.divided[name] = mean
	}
	for _, direction := range []string{forward, backward} {
		t.straighten(of, direction, groups)
		bounded := t.Bound[Isolation] != nil && direction == backward
		if !bounded { // a mean that holds a bound stays what it is
			t.compute(direction)
		}
	}
}

// averaged returns the mean powers of groups of rows, in dB, and the uncertainty of each.
func (d *division) averaged(groups [][]int) *division {
	m := &division{dB: make([]float64, len(groups)), u: make([]float64, len(groups)), drift: d.drift, alone: d.alone}
	if d.more != nil {
		m.more = make([][]share, len(groups))
	}
	for g, rows := range groups {
		if d.more != nil {
			m.more[g] = d.meanShares(rows)
		}
		sum, square, n := 0.0, 0.0, 0.0
		for _, i := range rows {
			if v := quantity.Ratio(d.dB[i]); v == v {
				sum += v
				square += v * v * d.noise(i) * d.noise(i)
				n++
			}
		}
		m.dB[g] = missing
		if n > 0 {
			m.dB[g], m.u[g] = quantity.Decibels(sum/n), math.Sqrt(square)/sum
		}
	}
	return m
}

// relink says what the means were divided by: what all rows of a group were, else a reading that is the mean of theirs.
func (t *Table) relink(of *Table, d, mean *division, groups [][]int) {
	mean.first, mean.weight = make([]int32, len(groups)), make([]float64, len(groups))
	own := Reference{Key: fmt.Sprintf("means/%p", d), From: Source{of.File, of.Sheet}}
	base := int32(t.SharedErrors())
	for g, rows := range groups {
		i := rows[0]
		mean.first[g], mean.weight[g] = d.first[i], d.weight[i]
		if !slices.ContainsFunc(rows, func(j int) bool {
			return d.first[j] != d.first[i] ||
				d.weight[j] != d.weight[i]
		}) {
			continue
		}
		sum := 0.0
		for _, j := range rows {
			u := of.referenceNoise(d, j)
			sum += u * u
		}
		mean.first[g], mean.weight[g] = base+int32(len(own.U)), 0
		own.U = append(own.U, math.Sqrt(sum)/float64(len(rows)))
	}
	if own.U != nil {
		t.References = append(t.References, own)
	}
}
