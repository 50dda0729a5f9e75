package tolerance

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"wedgework/optics/parallel"
	"wedgework/optics/program"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// Study says which stack is sampled within which tolerances, and what is computed for each unit.
type Study struct {
	Stack      *stack.Stack         // the nominal stack
	Tolerances map[string]Tolerance // by parameter path
	// between tolerances; all others are independent of each other. Corners does not read them
	Correlations []Correlation
	Figures      []Figure // at least one
	// the receiver is fixed where the stack has it; otherwise it is realigned for each unit
	Held     bool
	Turn     *Turning                             // what assembly does to each unit; nil: nothing. Not with Held
	Trials   int                                  // number of units; Corners does not read it
	From, To int                                  // the units that are evaluated, [From, To) of them; To 0 for all
	Seed     uint64                               // the same seed gives the same units; Corners does not read it
	Good     func(figure int, value float64) bool // whether a figure of a unit meets its limit; may be nil
	// Called while units are computed one by one, never twice at once; may be nil.
	Progress func(done, total int)
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
	Paths   []string  // of the toleranced parameters, in the stack's order
	Nominal []float64 // by figure, of the stack itself, after it was turned: dB, a DGD in seconds
	Units   int       // how many were drawn
	Tallies []*Tally  // by figure, over all of them

	// Values[k][n] is figure k of unit From+n: dB, a DGD in seconds. Of a study of more than Kept units those are the
	// first Kept, if it is not read off a surface.
	Values [][]float64

	// Good is how many units meet each limit, and AllGood how many meet all of them, where the study has Good.
	Good    []int
	AllGood int

	Surface bool // the values come from a second-order response surface; otherwise each unit is computed

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

	draw  func(unit, parameter int) float64 // displacements, of the units of Values
	study Study
	by    *Sample
}

const (
	// most bounds the numbers that a study keeps: those of every unit that is not evaluated by a program.
	most = 10_000_000
	// Kept is how many units of a study keep the values of their figures, and MostTrials how many it draws at most.
	Kept, MostTrials = 100_000, 1_000_000_000
)

// study is one under way.
type study struct {
	Study
	base   *stack.Stack
	sample *Sample
	stream Stream
	drawn  []func(p float64) float64 // departures by parameter
	links  [][]link                  // by parameter, as correlated has them
	bounds []int                     // where the values of each figure end
	quiet  context.Context
	rising atomic.Bool // as in Outcome
}

func (s Study) begin(ctx context.Context) (*study, error) {
	w := &study{Study: s, base: averaged(s.Stack), sample: &Sample{}}
	w.quiet = stack.Quiet(ctx)
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
	w.stream = NewStream(w.Seed, len(w.sample.Axes))
	for _, t := range w.sample.By {
		w.drawn = append(w.drawn, t.Quantiles())
	}
	if w.To == 0 {
		w.To = w.Trials
	}
	var err error
	w.links, err = correlated(w.sample.Paths(), w.Correlations)
	return w, err
}

// displacement is that of a parameter in a unit of the study.
func (w *study) displacement(unit, j int) float64 {
	return w.sample.Axes[j].Displaced(w.departure(unit, j))
}

// displacements is displacement of units in a row.
func (w *study) displacements(from, n, j int, into *program.Lane) {
	by, drawn, axis, all := &w.sample.By[j], w.drawn[j], w.sample.Axes[j], into[:n]
	if w.links[j] != nil {
		for i := range all {
			all[i] = w.displacement(from+i, j)
		}
		return
	}
	w.stream.Fill(from, j, all)
	if size := by.Value.SI(); by.Shape == Normal {
		for i, p := range all {
			all[i] = size * Score(p)
		}
	} else {
		for i, p := range all {
			all[i] = drawn(p)
		}
	}
	for i, d := range all {
		all[i] = axis.Displaced(d)
	}
}

// place is a unit of the study.
func (w *study) place(unit int) []float64 {
	x := make([]float64, len(w.sample.Axes))
	for j := range x {
		x[j] = w.displacement(unit, j)
	}
	return x
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

// each evaluates the units [from, to) one by one, on all processors, and tells how far it has come.
func (w *study) each(from, to int, displacement func(unit, j int) float64,
	take func(unit int, figures []float64)) error {
	var telling sync.Mutex
	done := 0
	return parallel.Each(to-from, func(i int) error {
		if err := w.quiet.Err(); err != nil {
			return err
		}
		x := make([]float64, len(w.sample.Axes))
		for j := range x {
			x[j] = displacement(from+i, j)
		}
		values, err := w.evaluate(x)
		if err != nil {
			return err
		}
		take(from+i, w.figures(values))
		if w.Progress != nil {
			telling.Lock()
			defer telling.Unlock()
			done++
			w.Progress(done, to-from)
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
	if s.Trials < 1 || s.Trials > MostTrials {
		return nil, fmt.Errorf("%d trials: expected at least 1 trial, and no more than %d", s.Trials, MostTrials)
	}
	if !(0 <= w.From && w.From < w.To && w.To <= s.Trials) {
		return nil, fmt.Errorf("units [%d, %d) of %d: expected at least one of them", w.From, w.To, s.Trials)
	}
	out := &Outcome{Paths: w.sample.Paths(), Units: w.To - w.From, Bounded: w.bounded(), study: w.Study, by: w.sample}
	out.draw = func(n, j int) float64 { return w.displacement(w.From+n, j) }
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
	}
	return out, w.runSlowly(ctx, centre, out)
}

// runSlowly evaluates units that have no program, by a surface where one passes.
func (w *study) runSlowly(ctx context.Context, centre []float64, out *Outcome) error {
	if n := len(w.sample.Axes); out.Units*(n+len(w.Figures)) > most {
		return fmt.Errorf("%d trials of %d tolerances and %d figures: this stack is evaluated unit by unit, and no "+
			"more than %d numbers in all are kept", out.Units, n, len(w.Figures), most)
	}
	out.Proofs, out.Off, out.Left = 0, nil, 0
	out.Values = make([][]float64, len(w.Figures))
	for k := range out.Values {
		out.Values[k] = make([]float64, out.Units)
	}
	var err error
	if out.Surface, err = w.lay(centre, out); err != nil {
		return err
	}
	if !out.Surface {
		err = w.each(w.From, w.To, w.displacement, func(t int, figures []float64) {
			for k, v := range figures {
				out.Values[k][t-w.From] = v
			}
		})
		if err != nil {
			return err
		}
	}
	out.Rising = w.rising.Load()
	c := w.newCount()
	figures := make([]float64, len(w.Figures))
	for t := range out.Units {
		for k := range figures {
			figures[k] = out.Values[k][t]
		}
		c.add(w.From+t, figures)
	}
	c.into(out)
	return ctx.Err()
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
	kept := min(w.To, w.From+Kept)
	out.Values = make([][]float64, len(w.Figures))
	for k := range out.Values {
		out.Values[k] = make([]float64, kept-w.From)
	}
	out.Proofs, out.Off = min(proofs, out.Units), make([]float64, len(w.Figures))
	which := func(n int) int { return w.From + (2*n+1)*out.Units/(2*out.Proofs) }
	checked := make([][]float64, out.Proofs)
	for n := range checked {
		checked[n] = make([]float64, len(w.Figures))
	}
	var counts []*tallies
	out.Left, err = x.all(w.From, w.To, w.displacements, func() func(unit int, figures []float64) {
		c := w.newCount()
		counts = append(counts, c)
		return func(unit int, figures []float64) {
			c.add(unit, figures)
			if unit < kept {
				for k, v := range figures {
					out.Values[k][unit-w.From] = v
				}
			} else if n := (unit - w.From) * out.Proofs / out.Units; which(n) == unit {
				copy(checked[n], figures)
			}
		}
	})
	if err != nil {
		return false, err
	}
	for _, c := range counts {
		c.into(out)
	}
	for n := range checked {
		for k := range checked[n] {
			if unit := which(n); unit < kept {
				checked[n][k] = out.Values[k][unit-w.From]
			}
		}
	}
	var comparing sync.Mutex
	agree = true
	err = parallel.Each(out.Proofs, func(n int) error {
		values, err := w.evaluate(w.place(which(n)))
		if err != nil {
			return err
		}
		comparing.Lock()
		defer comparing.Unlock()
		for k, v := range w.figures(values) {
			off := math.Abs(v - checked[n][k])
			out.Off[k] = max(out.Off[k], off)
			agree = agree && off <= w.Figures[k].allowed(v)
		}
		return nil
	})
	return agree, err
}

const (
	// proofs is how many units a surface is held against: half of them those farthest from nominal, half any.
	proofs = 16
	// block is how many units are read off a surface together.
	block = 1000
)

// lay finds the figures of all units from a surface, and reports whether it passes.
func (w *study) lay(centre []float64, out *Outcome) (bool, error) {
	if w.sample.Places()+proofs >= out.Units {
		return false, nil // as dear as the units
	}
	w.sample.Draws = make([][]float64, out.Units)
	for t := range w.sample.Draws {
		w.sample.Draws[t] = w.place(w.From + t)
	}
	q, err := w.sample.Lay(centre, w.evaluate)
	if err != nil {
		return false, err
	}
	err = parallel.Each((out.Units+block-1)/block, func(b int) error {
		if err := w.quiet.Err(); err != nil {
			return err
		}
		points := w.sample.Draws[b*block : min((b+1)*block, out.Units)]
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
		values, err := w.evaluate(w.sample.Draws[which[n]])
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
