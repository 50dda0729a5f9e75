package tolerance

import (
	"errors"
	"math"
	"runtime"
	"sync"

	"wedgework/optics/parallel"
	"wedgework/optics/program"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

var (
	errTurned = errors.New("a part of each unit is turned")
	errReturn = errors.New("return losses are asked for")
	errAxes   = errors.New("figures of the axes of the fibres are asked for")
)

// exact evaluates the units of a study by a program of the stack.
type exact struct {
	*study
	units *stack.Units
	asks  [][]int // by condition: the figures that are asked there
}

// compile makes a program of the study's stack; its error says why its units are left to the stack itself.
func (w *study) compile() (*exact, error) {
	if w.Turn != nil {
		return nil, errTurned
	}
	var asked program.Asked
	var conditions []stack.Condition
	x := &exact{study: w}
	index := map[stack.Condition]int{}
	for k, f := range w.Figures {
		if f.byAxes() {
			return nil, errAxes
		}
		switch f.Quantity {
		case ReturnLoss:
			return nil, errReturn
		case Isolation, IsolationMean:
			asked.Backward = true
		case DGD:
			asked.DGD = true
		}
		for _, t := range f.Temperatures {
			for _, l := range f.Wavelengths {
				c := stack.Condition{Wavelength: l, Temperature: t}
				at, seen := index[c]
				if !seen {
					at = len(conditions)
					index[c] = at
					conditions, x.asks = append(conditions, c), append(x.asks, nil)
				}
				x.asks[at] = append(x.asks[at], k)
			}
		}
	}
	displaced := make([]float64, len(w.sample.Axes))
	for j, a := range w.sample.Axes {
		displaced[j] = a.value(w.sample.By[j].Steps(a.Displaced)[0])
	}
	var err error
	x.units, err = w.base.Units(w.sample.Paths(), displaced, conditions, w.Held, asked)
	return x, err
}

// displacements sets how far parameter j is displaced in n units from one on.
type displacements func(from, n, j int, into *program.Lane)

// oneByOne is displacements from the displacement of each.
func oneByOne(displacement func(unit, j int) float64) displacements {
	return func(from, n, j int, into *program.Lane) {
		for i := range n {
			into[i] = displacement(from+i, j)
		}
	}
}

// worker evaluates batches for one goroutine.
type worker struct {
	*exact
	batch *stack.Batch
	worst []program.Lane // by figure, as accumulated
	out   []float64      // the figures of one unit
}

func (x *exact) worker() (*worker, error) {
	b, err := x.units.Batch()
	return &worker{x, b, make([]program.Lane, len(x.Figures)), make([]float64, len(x.Figures))}, err
}

// run evaluates n units from one on, whose displacements it is told.
func (r *worker) run(from, n int, at displacements) {
	for j, a := range r.sample.Axes {
		values := &r.batch.Values[j]
		at(from, n, j, values)
		a.values(values[:n])
	}
	for k := range r.worst {
		r.worst[k].Fill(math.Inf(-1))
	}
	r.batch.Run(n, r.see)
}

// see takes what comes through at a condition, until the study ends.
func (r *worker) see(condition int, p *program.Passed) bool {
	for _, k := range r.asks[condition] {
		w := &r.worst[k]
		switch r.Figures[k].Quantity {
		case DGD:
			for i := range program.Width {
				w[i] = max(w[i], p.DGD[i])
			}
		case Isolation:
			for i := range program.Width {
				w[i] = max(w[i], p.Backward.T1[i])
			}
		case IsolationMean:
			for i := range program.Width {
				w[i] = max(w[i], (p.Backward.T1[i]+p.Backward.T2[i])/2)
			}
		case InsertionLoss:
			for i := range program.Width {
				w[i] = max(w[i], -p.Forward.T2[i])
			}
		case InsertionLossMean:
			for i := range program.Width {
				w[i] = max(w[i], -(p.Forward.T1[i]+p.Forward.T2[i])/2)
			}
		case InsertionLossMin:
			for i := range program.Width {
				w[i] = max(w[i], -p.Forward.T1[i])
			}
		default:
			for i := range program.Width {
				w[i] = max(w[i], max(p.Forward.T1[i], least)/max(p.Forward.T2[i], least))
			}
		}
	}
	return r.quiet.Err() == nil
}

// figure returns a figure of unit i: dB, a DGD in seconds.
func (r *worker) figure(k, i int) float64 {
	w := r.worst[k][i]
	switch r.Figures[k].Quantity {
	case DGD:
		return w
	case Isolation, IsolationMean:
		return -quantity.Decibels(max(w, least))
	case InsertionLoss, InsertionLossMean, InsertionLossMin:
		return -quantity.Decibels(max(-w, least))
	}
	return quantity.Decibels(w)
}

// all evaluates the units [begin, end) on all processors. Each of the goroutines asks takers once for what is told the
// figures of its units, by the index of the unit, and must not keep them. left is how many were evaluated one by one.
func (x *exact) all(begin, end int, at displacements, takers func() func(unit int, figures []float64)) (left int, err error) {
	const width = program.Width
	n := end - begin
	batches := (n + width - 1) / width
	var telling sync.Mutex
	done, first := 0, end
	failed := func(unit int, e error) {
		telling.Lock()
		defer telling.Unlock()
		if unit < first {
			first, err = unit, e
		}
	}
	parallel.Share(runtime.GOMAXPROCS(0), batches, func(next func() (int, bool)) {
		r, e := x.worker()
		if e != nil {
			failed(-1, e)
			return
		}
		telling.Lock()
		take := takers()
		telling.Unlock()
		for b, ok := next(); ok; b, ok = next() {
			from := begin + b*width
			size := min(width, end-from)
			r.run(from, size, at)
			if e := x.quiet.Err(); e != nil {
				failed(-1, e)
				return
			}
			alone := 0
			for i := range size {
				if !r.batch.Left(i) {
					for k := range x.Figures {
						r.out[k] = r.figure(k, i)
					}
					take(from+i, r.out)
					continue
				}
				alone++
				if e := x.alone(from+i, at, take); e != nil {
					failed(from+i, e)
				}
			}
			telling.Lock()
			done, left = done+size, left+alone
			if x.Progress != nil {
				x.Progress(done, n)
			}
			telling.Unlock()
		}
	})
	return left, err
}

// alone evaluates one unit with the stack itself.
func (x *exact) alone(unit int, at displacements, take func(unit int, figures []float64)) error {
	where := make([]float64, len(x.sample.Axes))
	var one program.Lane
	for j := range where {
		at(unit, 1, j, &one)
		where[j] = one[0]
	}
	values, err := x.evaluate(where)
	if err != nil {
		return err
	}
	take(unit, x.figures(values))
	return nil
}
