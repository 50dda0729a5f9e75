package stack

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/polar"
)

// Light that faces send to and fro between each other before it returns. What the tracer gives is, of each face, the
// light that it reflects once, as a matrix from launched to returned light. From these follows what all of them return
// together, to all orders: a face with the reflection matrix R before a part that returns G gives
//
//	R + D G (1 + R' G)^-1 E,   D = (1 - R R')^1/2,   E = (1 - R' R)^1/2,
//
// with R' the adjoint of R, which is what a face without loss reflects on its other side (R. Redheffer, J. Math. Phys.
// 41, 1 (1962); for one polarization it is Airy's formula). Face by face from the last one to the first, no singular
// value of the result exceeds 1: never does more light return than was launched. Absorption on the way to a face is
// taken off its other side. What a mode spreads by from one of these reflections to the next is left out: it is the
// ratio of the distance between the faces to the Rayleigh length, squared. Light that a film has depolarized is
// composed within each of its modes.

// faintEcho is the product of the two largest reflections, as amplitudes, below which light that is reflected three
// times is nothing: 1e-9 of the amplitude launched, 180 dB down.
const faintEcho = 1e-9

// echo is one face as the composition takes it.
type echo struct {
	r, left, right polar.Matrix // R, D and E
	delay          float64      // of the light that it returns, s
	back           float64      // amplitude by which absorption on the way there and back has to be taken off R'
}

// echoes are the faces that return light, in the order in which the light meets them.
type echoes struct {
	faces []echo
	scale float64 // amplitude that the collimator leaves
}

// echoesOf takes what each face returns in one mode of depolarization, and whether light between the faces matters.
func (q *tracer) echoesOf(groups []group, mode int) (e echoes, matters bool) {
	e.scale = q.loss
	strip, unstrip := polar.Identity(), polar.Identity() // D1 D2 ... and ... E2 E1 of the faces before
	var most [2]float64                                  // the two largest singular values
	for k := range groups {
		i := k
		if q.step < 0 {
			i = len(groups) - 1 - k
		}
		g := &groups[i]
		if g.power == 0 || g.sum[mode] == (polar.Matrix{}) {
			continue
		}
		l, lOK := strip.Inverse()
		r, rOK := unstrip.Inverse()
		if !lOK || !rOK {
			break // behind a mirror that passes nothing
		}
		f := echo{r: l.Mul(g.sum[mode].Scale(complex(1/e.scale, 0))).Mul(r), delay: g.delay(),
			back: math.Exp(2 * g.absorbed / g.power)}
		largest := f.r.Norm()
		if largest >= 1 { // rounding
			f.r = f.r.Scale(complex((1-1e-12)/largest, 0))
		}
		f.left, f.right = complement(f.r), complement(f.r.Adjoint())
		f.right = f.right.Adjoint()
		strip, unstrip = strip.Mul(f.left), f.right.Mul(unstrip)
		e.faces = append(e.faces, f)
		most[1] = max(most[1], min(largest, most[0]))
		most[0] = max(most[0], largest)
	}
	return e, most[0]*most[1] > faintEcho
}

// complement returns (1 - R R')^1/2, Hermitian.
func complement(r polar.Matrix) polar.Matrix {
	return polar.Identity().Add(r.Mul(r.Adjoint()).Scale(-1)).Root()
}

// returned composes the faces at an angular frequency that differs by w from that of the light traced: all orders, and
// single reflections alone.
func (e *echoes) returned(w float64) (all, once polar.Matrix) {
	for k := len(e.faces) - 1; k >= 0; k-- {
		f := &e.faces[k]
		turn := cmplx.Rect(1, w*f.delay)
		r := f.r.Scale(turn)
		once = r.Add(f.left.Mul(once).Mul(f.right))
		if all == (polar.Matrix{}) {
			all = r
			continue
		}
		between, ok := polar.Identity().Add(r.Adjoint().Scale(complex(f.back, 0)).Mul(all)).Inverse()
		if !ok {
			continue // a face that passes nothing
		}
		all = r.Add(f.left.Mul(all).Mul(between).Mul(f.right))
	}
	k := complex(e.scale, 0)
	return all.Scale(k), once.Scale(k)
}

// spectral is how many frequencies of a source's spectrum the light between the faces is averaged over, each of the
// same share of the power.
const spectral = 1024

// together is what all faces return, for a source of a linewidth in hertz: that of single reflections, and what light
// between the faces adds to it. An infinite width adds powers, each face once.
func (q *tracer) together(groups []group, fwhm float64) polar.Gram {
	h := total(&groups[0], groups[1:], q.modes, fwhm).H
	if math.IsInf(fwhm, 1) {
		return h
	}
	for m := range q.modes {
		e, matters := q.echoesOf(groups, m)
		if !matters {
			continue
		}
		n := spectral
		if fwhm == 0 {
			n = 1
		}
		for k := range n {
			w := 0.0
			if n > 1 {
				sigma := fwhm / (2 * math.Sqrt(2*math.Ln2))
				w = 2 * math.Pi * sigma * distuv.UnitNormal.Quantile((float64(k)+0.5)/float64(n))
			}
			all, once := e.returned(w)
			var a, b polar.Gram
			a.Add(all)
			b.Add(once)
			share := 1 / float64(n)
			h.AddGram(polar.Gram{XX: share * (a.XX - b.XX), YY: share * (a.YY - b.YY),
				XY: complex(share, 0) * (a.XY - b.XY)})
		}
	}
	return h
}
