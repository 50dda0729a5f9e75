package stack

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// Peak is the figure an assembler watches while turning a part.
type Peak string

// The figures that can be watched.
const (
	PeakIsolation    Peak = "isolation"    // backward, the least over polarization
	PeakTransmission Peak = "transmission" // forward, averaged over polarization
)

// Assembly is what turning a part did.
type Assembly struct {
	Part          string
	Turn          quantity.Angle // about +z, from +x towards +y
	Before, After float64        // the figure watched, dB
	LossBefore    float64        // forward insertion loss, dB
	LossAfter     float64
	Rising        bool // the figure still rises where the reach of the search ends: the peak lies beyond
}

// turnReach is how far either way a part is turned in search of the peak, and turnSteps how often the reach is
// looked over before the best place is closed in on (choices).
const (
	turnReach = 10 * quantity.Degree
	turnSteps = 40
)

// Assemble turns one part about z until a figure peaks at a wavelength and temperature, as in assembly; the receiver is
// realigned at every step. It returns the stack as assembled. It stops with the context's error when the context ends
// first.
func (s *Stack) Assemble(ctx context.Context, part string, peak Peak, l quantity.Length,
	t quantity.Temperature) (*Stack, Assembly, error) {
	i := slices.IndexFunc(s.spec.Elements, func(e element.Element) bool { return e.Label() == part })
	if i < 0 {
		var labels []string
		for _, e := range s.spec.Elements {
			labels = append(labels, e.Label())
		}
		return nil, Assembly{}, fmt.Errorf("the stack has no part %q to turn: it has %s", part,
			strings.Join(labels, ", "))
	}
	if peak != PeakIsolation && peak != PeakTransmission {
		return nil, Assembly{}, fmt.Errorf("the figure to watch is %q or %q, not %q", PeakIsolation, PeakTransmission,
			peak)
	}
	w := turning{ctx: ctx, stack: s, part: i, peak: peak, at: l, temperature: t}
	angle, rising := w.search()
	c := w.turned(angle)
	if w.failed != nil {
		return nil, Assembly{}, w.failed
	}
	did := Assembly{Part: part, Turn: quantity.Angle(angle), Rising: rising}
	var err error
	if did.Before, did.LossBefore, err = s.figures(peak, l, t); err != nil {
		return nil, Assembly{}, err
	}
	if did.After, did.LossAfter, err = c.figures(peak, l, t); err != nil {
		return nil, Assembly{}, err
	}
	return c, did, nil
}

// turning searches the angle of one part; it stops at the first failure, which it keeps.
type turning struct {
	ctx         context.Context
	stack       *Stack
	part        int // its index in the stack
	peak        Peak
	at          quantity.Length
	temperature quantity.Temperature
	failed      error
}

// search returns the angle, in radians, at which the figure peaks, and whether it still rises at the end of the reach.
func (w *turning) search() (angle float64, rising bool) {
	const step = float64(turnReach) / turnSteps
	best, least, progress := 0.0, w.lost(w.stack), progressOf(w.ctx)
	for k := -turnSteps; k <= turnSteps && w.failed == nil; k++ {
		if v := w.lost(w.turned(float64(k) * step)); v < least {
			best, least = float64(k)*step, v
		}
		progress(k+turnSteps+1, 2*turnSteps+1)
	}
	rising = math.Abs(best) > float64(turnReach)-step/2
	return golden(func(a float64) float64 { return w.lost(w.turned(a)) }, best-step, best+step), rising
}

// turned returns the stack with the part turned by an angle, in radians.
func (w *turning) turned(angle float64) *Stack {
	spec := w.stack.Spec()
	spec.Elements[w.part] = spec.Elements[w.part].Rolled(quantity.Angle(angle))
	c, err := New(spec)
	if err != nil {
		w.failed = err
		return w.stack
	}
	return c.like(w.stack)
}

// lost returns the transmission to be minimized, or the loss of power in place of a transmission to be maximized: it is
// smooth through the peak, where the figure in dB has a cusp.
func (w *turning) lost(c *Stack) float64 {
	if w.failed == nil {
		w.failed = w.ctx.Err()
	}
	if w.failed != nil {
		return math.NaN()
	}
	d := Backward
	if w.peak == PeakTransmission {
		d = Forward
	}
	p, err := c.At(d, w.at, w.temperature)
	if err != nil {
		w.failed = err
		return math.NaN()
	}
	if w.peak == PeakTransmission {
		return 1 - (p.T1+p.T2)/2
	}
	return p.T1
}

// figures returns the figure watched and the insertion loss, in dB.
func (s *Stack) figures(peak Peak, l quantity.Length, t quantity.Temperature) (watched, loss float64, err error) {
	f, err := s.At(Forward, l, t)
	if err != nil {
		return 0, 0, err
	}
	if peak == PeakTransmission {
		return f.InsertionLoss(), f.InsertionLoss(), nil
	}
	b, err := s.At(Backward, l, t)
	return b.Isolation(), f.InsertionLoss(), err
}

// golden closes in on the least value of f between a and b by the golden section, to a hundredth of an arcsecond.
func golden(f func(float64) float64, a, b float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, fd := f(c), f(d)
	for b-a > 5e-8 {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd = f(d)
		}
	}
	return (a + b) / 2
}
