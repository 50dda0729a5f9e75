package tolerance

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// Study says which stack is sampled within which tolerances, and what is computed for each unit.
type Study struct {
	Stack      *stack.Stack         // the nominal stack
	Tolerances map[string]Tolerance // by parameter path; statistically independent of each other
	Figures    []Figure             // at least one
	// the receiver is fixed where the stack has it; otherwise it is realigned for each unit
	Held     bool
	Turn     *Turning              // what assembly does to each unit; nil: nothing. Not with Held
	Trials   int                   // number of units; Corners does not read it
	Seed     uint64                // the same seed gives the same units; Corners does not read it
	Progress func(done, total int) // called while units are computed one by one, never twice at once; may be nil
}

// Turning is an element turned about z until a figure peaks, the receiver realigned at every step.
type Turning struct {
	Part        string               // the element's name
	Peak        stack.Peak           // the figure that is watched
	At          quantity.Length      // vacuum wavelength, m
	Temperature quantity.Temperature // K
}

// Outcome is what a study found.
type Outcome struct {
	Paths   []string    // of the toleranced parameters, in the stack's order
	Nominal []float64   // by figure, of the stack itself, after it was turned: dB, a DGD in seconds
	Values  [][]float64 // Values[k][n] is figure k of unit n: dB, a DGD in seconds
	Surface bool        // the values come from a second-order response surface; otherwise each unit is computed

	// Exact says that units are computed by a program of the stack (stack.Units), but for Left of them, which are
	// computed one by one with the stack itself, as all are where neither Exact nor Surface is set.
	Exact  bool
	Left   int
	Proofs int       // units that were computed with the stack itself to check program or surface
	Off    []float64 // by figure, the greatest difference found there
	// by parameter, the share of the units sampled at its bound because the tolerance reaches beyond
	Bounded []float64
	// in some unit the figure that an element was turned for still rose where the reach of the turn ends
	Rising bool

	draws   [][]float64
	order   [][]int
	ordered sync.Once
}

// most bounds a study: a draw costs memory for every parameter and figure.
const most = 10_000_000

// study is one under way.
type study struct {
	Study
	base   *stack.Stack
	sample *Sample
	bounds []int // where the values of each figure end
	quiet  context.Context
	rising atomic.Bool // as in Outcome
}

func (s Study) begin(ctx context.Context) (*study, error) {
	w := &study{Study: s, base: s.Stack.WithGhosts(stack.GhostsIncoherent), sample: &Sample{}}
	w.quiet = stack.WithProgress(ctx, func(int, int) {})
	if len(s.Figures) == 0 {
		return nil, fmt.Errorf("a study needs at least one figure")
	}
	end := 0
	for _, f := range s.Figures {
		if err := f.check(); err != nil {
			return nil, err
		}
		end += f.size()
		w.bounds = append(w.bounds, end)
	}
	seen := 0
	for _, p := range s.Stack.Parameters() {
		t, ok := s.Tolerances[p.Path]
		if !ok {
			continue
		}
		seen++
		if t.Value.SI() == 0 {
			continue
		}
		if err := t.Fits(p.Path, p.Value); err != nil {
			return nil, err
		}
		a, err := NewAxis(p.Path, p.Value)
		if err != nil {
			return nil, err
		}
		w.sample.Axes, w.sample.By = append(w.sample.Axes, a), append(w.sample.By, t)
	}
	if seen < len(s.Tolerances) {
		for path := range s.Tolerances {
			if _, err := s.Stack.Parameter(path); err != nil {
				return nil, err
			}
		}
	}
	if s.Held && s.Turn != nil {
		return nil, fmt.Errorf("a part is turned with the receiver aligned at every step: the receiver cannot be " +
			"held as well")
	}
	if s.Turn != nil && !(s.Turn.Temperature > 0) {
		return nil, fmt.Errorf("%s is turned at a temperature above 0 kelvin, not at %g kelvin", s.Turn.Part,
			float64(s.Turn.Temperature))
	}
	if len(w.sample.Axes) == 0 {
		return nil, fmt.Errorf("a study needs at least one tolerance above zero")
	}
	return w, nil
}

// unit returns the stack with its parameters displaced, as it leaves the line.
func (w *study) unit(ctx context.Context, x []float64) (*stack.Stack, error) {
	s := w.base
	if x != nil {
		var err error
		if s, err = s.Adjusted(w.sample.Values(x)); err != nil {
			return nil, err
		}
		if w.Held {
			s = s.Posed(w.Stack.Pose())
		}
	}
	if t := w.Turn; t != nil {
		turned, did, err := s.Assemble(ctx, t.Part, t.Peak, t.At, t.Temperature)
		if did.Rising {
			w.rising.Store(true)
		}
		return turned, err
	}
	return s, nil
}

// evaluate returns the numbers behind all figures of a unit.
func (w *study) evaluate(x []float64) ([]float64, error) {
	s, err := w.unit(w.quiet, x)
	var all []float64
	for _, f := range w.Figures {
		if err == nil {
			var values []float64
			values, err = f.evaluate(w.quiet, s)
			all = append(all, values...)
		}
	}
	if err == nil || w.quiet.Err() != nil || x == nil {
		return all, err
	}
	return nil, w.sample.Unbuildable(x, err)
}

// figures returns the figures of the numbers behind them.
func (w *study) figures(values []float64) []float64 {
	out, from := make([]float64, len(w.Figures)), 0
	for k, f := range w.Figures {
		out[k] = f.worst(values[from:w.bounds[k]])
		from = w.bounds[k]
	}
	return out
}

// each evaluates n units one by one, on all processors, and tells how far it has come.
func (w *study) each(n int, displacement func(i int) []float64, take func(i int, figures []float64)) error {
	var telling sync.Mutex
	done := 0
	return parallel.Each(n, func(i int) error {
		if err := w.quiet.Err(); err != nil {
			return err
		}
		values, err := w.evaluate(displacement(i))
		if err != nil {
			return err
		}
		take(i, w.figures(values))
		if w.Progress != nil {
			telling.Lock()
			defer telling.Unlock()
			done++
			w.Progress(done, n)
		}
		return nil
	})
}

// Run draws the units and finds their figures. A surface passes where it differs from the full model, at 16 units
// of which 8 are the farthest from nominal, by no more than 2 % of the interval that holds 95 % of the units. Run
// ends early with the context's error. Any other error says which tolerance or figure cannot be used, or which unit
// cannot be built.
func (s Study) Run(ctx context.Context) (*Outcome, error) {
	w, err := s.begin(ctx)
	if err != nil {
		return nil, err
	}
	if n := len(w.sample.Axes); s.Trials < 1 || s.Trials*(n+len(s.Figures)) > most {
		return nil, fmt.Errorf("%d trials of %d tolerances and %d figures: expected at least 1 trial, and no more "+
			"than "+
			"%d numbers in all", s.Trials, n, len(s.Figures), most)
	}
	out := &Outcome{Paths: w.sample.Paths(), Values: make([][]float64, len(s.Figures))}
	for k := range out.Values {
		out.Values[k] = make([]float64, s.Trials)
	}
	out.draws, out.Bounded = w.draws(), w.bounded()
	w.sample.Draws = out.draws
	centre, err := w.evaluate(nil)
	if err != nil {
		return nil, err
	}
	out.Nominal = w.figures(centre)
	if x, err := w.compile(); err == nil {
		if out.Exact, err = w.runExactly(x, out); err != nil || out.Exact {
			return out, err
		}
	} else if ctx.Err() != nil {
		return nil, ctx.Err()
	} else if out.Surface, err = w.lay(centre, out); err != nil {
		return nil, err
	} else if out.Surface {
		out.Rising = w.rising.Load()
		return out, ctx.Err()
	}
	out.Proofs, out.Off, out.Left = 0, nil, 0
	err = w.each(s.Trials, func(t int) []float64 { return out.draws[t] }, func(t int, figures []float64) {
		for k, v := range figures {
			out.Values[k][t] = v
		}
	})
	if err != nil {
		return nil, err
	}
	out.Rising = w.rising.Load()
	return out, nil
}

// draws are the displacements of all units.
func (w *study) draws() [][]float64 {
	m := len(w.sample.Axes)
	stream := NewStream(w.Seed, m)
	values, draws := make([]float64, w.Trials*m), make([][]float64, w.Trials)
	parallel.Share(runtime.GOMAXPROCS(0), (w.Trials+block-1)/block, func(next func() (int, bool)) {
		for b, ok := next(); ok; b, ok = next() {
			for t := b * block; t < min((b+1)*block, w.Trials); t++ {
				draws[t] = values[t*m : (t+1)*m : (t+1)*m]
				for j, a := range w.sample.Axes {
					draws[t][j] = a.Displaced(w.sample.By[j].Quantile(stream.At(t, j)))
				}
			}
		}
	})
	return draws
}

// bounded is the share of units, by parameter, that are drawn beyond a bound of zero.
func (w *study) bounded() []float64 {
	shares := make([]float64, len(w.sample.Axes))
	for j, a := range w.sample.Axes {
		beyond := func(p float64) bool { return !a.Leak && a.At+w.sample.By[j].Quantile(p) < a.Lo }
		low, high := 0.0, 1.0
		for range 60 {
			if middle := (low + high) / 2; beyond(middle) {
				low = middle
			} else {
				high = middle
			}
		}
		shares[j] = low
	}
	return shares
}

// runExactly evaluates every unit by the program, and some of them by the stack itself as well. It reports whether the
// two agree.
func (w *study) runExactly(x *exact, out *Outcome) (agree bool, err error) {
	out.Left, err = x.all(w.Trials, func(t, j int) float64 { return out.draws[t][j] },
		func(t int, figures []float64) {
			for k, v := range figures {
				out.Values[k][t] = v
			}
		})
	if err != nil {
		return false, err
	}
	out.Proofs, out.Off = min(proofs, w.Trials), make([]float64, len(w.Figures))
	checked := make([][]float64, out.Proofs)
	which := func(n int) int { return (2*n + 1) * w.Trials / (2 * out.Proofs) }
	err = parallel.Each(out.Proofs, func(n int) error {
		values, err := w.evaluate(out.draws[which(n)])
		if err == nil {
			checked[n] = w.figures(values)
		}
		return err
	})
	if err != nil {
		return false, err
	}
	agree = true
	for n, figures := range checked {
		for k, v := range figures {
			off := math.Abs(v - out.Values[k][which(n)])
			out.Off[k] = max(out.Off[k], off)
			agree = agree && off <= w.Figures[k].allowed(v)
		}
	}
	return agree, nil
}

const (
	// proofs is how many units a surface is held against: half of them those farthest from nominal, half any.
	proofs = 16
	// block is how many units are read off a surface together.
	block = 1000
)

// lay finds the figures of all units from a surface, and reports whether it passes.
func (w *study) lay(centre []float64, out *Outcome) (bool, error) {
	if w.sample.Places()+proofs >= w.Trials {
		return false, nil // as dear as the units
	}
	q, err := w.sample.Lay(centre, w.evaluate)
	if err != nil {
		return false, err
	}
	err = parallel.Each((w.Trials+block-1)/block, func(b int) error {
		if err := w.quiet.Err(); err != nil {
			return err
		}
		points := out.draws[b*block : min((b+1)*block, w.Trials)]
		off := q.Differences(points)
		values := make([]float64, len(centre))
		for t := range points {
			for i, d := range off.RawRowView(t) {
				values[i] = centre[i] + d
			}
			for k, v := range w.figures(values) {
				out.Values[k][b*block+t] = v
			}
		}
		return nil
	})
	if err != nil {
		return false, err
	}
	which := w.proofs()
	real := make([][]float64, len(which))
	err = parallel.Each(len(which), func(n int) error {
		values, err := w.evaluate(out.draws[which[n]])
		if err != nil {
			return err
		}
		real[n] = w.figures(values)
		return nil
	})
	if err != nil {
		return false, err
	}
	out.Proofs, out.Off = len(which), make([]float64, len(w.Figures))
	for k, values := range out.Values {
		sorted := slices.Sorted(slices.Values(values))
		may := max(ProofShare*(sorted[len(sorted)*39/40]-sorted[len(sorted)/40]), w.Figures[k].Resolution())
		for n, t := range which {
			off := math.Abs(real[n][k] - values[t])
			if !(off <= may) {
				return false, nil
			}
			out.Off[k] = max(out.Off[k], off)
		}
	}
	return true, nil
}

// proofs picks the units that a surface is held against.
func (w *study) proofs() []int {
	far := w.sample.Farthest()
	which := slices.Clone(far[:proofs/2])
	for n := range proofs - len(which) { // from the farthest to the nearest, evenly
		which = append(which, far[len(far)*(n+1)/(proofs/2+1)])
	}
	return which
}
