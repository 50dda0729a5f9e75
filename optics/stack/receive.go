package stack

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
	"wedgework/optics/ray"
)

// The end of a path: how its field overlaps with that of the receiving fibre.

// collect brings a path's end to the receiver. Where the path itself deviates, so that its own weight in the overlap
// integral lies at another ray than the base ray, it is traced once more along that ray.
func (q *tracer) collect(a *state) {
	if q.ended != nil {
		q.ended(a)
		return
	}
	bounce := a.bounce()
	if q.nested {
		if bounce == q.wanted {
			q.meet(a, bounce, &q.hit)
			q.found = true
		}
		return
	}
	var h hit
	q.meet(a, bounce, &h)
	base := q.base
	for range retraces {
		if h.off.Dot(h.off) < ownRay*ownRay || power(h.amplitude) < negligible*negligible {
			break
		}
		shifted := r3.Unit(r3.Add(q.base, r3.Vec{X: h.off.X, Y: h.off.Y}))
		top := q.top
		q.nested, q.wanted, q.found, q.only = true, bounce, false, a.rays[:a.count]
		q.send(shifted, top)
		q.top, q.nested, q.only = top, false, nil
		if !q.found {
			break // total reflection for that ray: the first one stands
		}
		h = q.hit
	}
	q.base = base
	q.sums.add(&h, q.modes)
}

// way is what a path has done to the beam by its end at the receiver.
func (q *tracer) way(a *state) beam.Course {
	if !q.begun {
		q.origin, q.begun = a.phase, true
	}
	return q.arriving(a, &q.to, q.step, q.origin)
}

// meet works out the overlap of a path's end with the receiving mode.
func (q *tracer) meet(a *state, bounce int, h *hit) {
	c := q.way(a)
	h.amplitude = q.overlap(&c, a)
	h.delay = a.delay + c.Base.Dot(c.Offset)/quantity.LightSpeed
	h.bounce = bounce
	h.off = c.Sent.Add(c.Waiting).Scale(0.5)
	q.jones(a, &q.to, q.step, &h.jones)
}

// meetAgain is the same for light that was sent back, with the mode that waits for it there.
func (q *tracer) meetAgain(a *state, h *hit) {
	c := q.arriving(a, &q.home, -q.step, 2*math.Pi/q.k*math.Floor(a.phase*q.k/(2*math.Pi))) // whole waves keep no phase
	h.amplitude = q.overlap(&c, a)
	h.delay = a.delay
	h.off = c.Sent.Add(c.Waiting).Scale(0.5)
	q.jones(a, &q.home, -q.step, &h.jones)
}

// comeBack is meetAgain with the path traced once more along its own ray where that differs from the base ray, as
// collect does.
func (q *tracer) comeBack(a *state, h *hit) {
	q.meetAgain(a, h)
	base, ended := q.base, q.ended
	for range retraces {
		if h.off.Dot(h.off) < ownRay*ownRay || power(h.amplitude) < negligible*negligible {
			break
		}
		top, found := q.top, false
		q.only = a.rays[:a.count]
		q.ended = func(b *state) {
			if b.first == a.first && b.count == a.count {
				q.meetAgain(b, h)
				found = true
			}
		}
		q.send(r3.Unit(r3.Add(q.base, r3.Vec{X: h.off.X, Y: h.off.Y})), top)
		q.top, q.only = top, nil
		if !found {
			break // total reflection for that ray: the first one stands
		}
	}
	q.base, q.ended = base, ended
}

// arriving is what a path that ends at a port, travelling along step, has done to the beam; its phase counts from
// origin.
func (q *tracer) arriving(a *state, at *port, step int, origin float64) beam.Course {
	return beam.Course{
		Reduced:  a.space,
		Sent:     flat(r3.Sub(q.chief(), q.base)),
		Base:     flat(a.n),
		Waiting:  flat(r3.Sub(r3.Scale(float64(step), at.axis), a.n)),
		Offset:   flat(r3.Sub(at.r, a.r)),
		Exponent: complex(-a.loss, q.k*(a.phase-origin)),
	}
}

// overlap is the amplitude with which a path arrives in the mode that waits for it.
func (q *tracer) overlap(c *beam.Course, a *state) complex128 {
	return q.coupler.Overlap(c) * complex(q.loss*q.passed(c, a.stops), 0)
}

// jones sets the polarization part of a path's end at a port, launched (Ex, Ey) to received, for every mode.
func (q *tracer) jones(a *state, at *port, step int, into *[maxModes]polar.Matrix) {
	axis := r3.Scale(float64(step), at.axis)
	s := ray.Turn(a.s, a.hat, axis)
	p := r3.Cross(axis, s)
	xs, xp := r3.Dot(at.x, s), r3.Dot(at.x, p)
	ys, yp := r3.Dot(at.y, s), r3.Dot(at.y, p)
	for m := range q.modes {
		l := &a.light[m]
		x, y := combine(xs, xp, &l.e[0]), combine(ys, yp, &l.e[0])
		if a.columns == 1 {
			into[m] = polar.Matrix{{x * l.row[0], x * l.row[1]}, {y * l.row[0], y * l.row[1]}}
		} else {
			into[m] = polar.Matrix{{x, combine(xs, xp, &l.e[1])}, {y, combine(ys, yp, &l.e[1])}}
		}
	}
}

// counts reports whether a mode is one of a path's own. Light that a film has not met yet is written down once for
// each way in which the film may turn it, and is one all the same.
func (a *state) counts(mode int) bool { return uint8(mode)&^a.films == 0 }

// carried is the power of a path that has come through a medium, averaged over polarization: the overlap with any
// receiver, and absorption, come on top.
func (q *tracer) carried(a *state, in *element.Medium) float64 {
	sum := 0.0
	for m := range q.modes {
		if !a.counts(m) {
			continue
		}
		l := &a.light[m]
		switch {
		case in.Crystal != nil:
			sum += power(l.inner[0]) + power(l.inner[1])
		case a.columns == 1:
			sum += (power(l.e[0][0]) + power(l.e[0][1])) * (power(l.row[0]) + power(l.row[1]))
		default:
			sum += power(l.e[0][0]) + power(l.e[0][1]) + power(l.e[1][0]) + power(l.e[1][1])
		}
	}
	return sum / 2
}

// combine returns a e[0] + b e[1].
func combine(a, b float64, e *[2]complex128) complex128 {
	return complex(a*real(e[0])+b*real(e[1]), a*imag(e[0])+b*imag(e[1]))
}
