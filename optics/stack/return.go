package stack

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// DefaultReturnFloor is the return loss in dB that scatter leaves at best, where a collimator states none: fibre
// facets and dust that the overlap of modes knows nothing of (common practice, no source).
const DefaultReturnFloor = 65

// Return is the light that comes back into the fibre it was launched from.
type Return struct {
	Loss  float64      // dB, by the highest power over polarization (IEC 61300-3-6), scatter included
	Parts []ReturnPart // what each face contributes by itself, in the order the light meets them
}

// ReturnPart is what one face sends back.
type ReturnPart struct {
	Name string  // "wedge1 front", "ferrule", "lens", "scatter"
	Loss float64 // dB; +Inf for nothing
}

// ReturnLoss returns the return loss of the port that light of direction d is launched from: Forward for the
// launching collimator, Backward for the receiving one in its pose. When coherent, the reflections of the faces
// interfere as far as the source's linewidth lets them, those that went to and fro between faces included (echo.go);
// otherwise every face is taken once, and powers are added. What the fibre's end and the lens of either collimator and
// scatter send back always adds in power: their distance is not part of the model.
//
// A film that light passes there and back depolarizes it twice, independently. What the far fibre's end sends back is
// the light that the far fibre has taken up, and of it what the near fibre takes up in turn: light that lands beside
// the core is left out.
func (s *Stack) ReturnLoss(d Direction, l quantity.Length, t quantity.Temperature, coherent bool) (Return, error) {
	if d == Backward && s.mirrored() {
		return Return{}, s.through()
	}
	fwhm := math.Inf(1)
	if coherent {
		fwhm = s.width
	}
	var back returned
	if err := s.WithGhosts(GhostsNone).traced(d, l, t, func(q *tracer) {
		back = q.returned(s, d, l,
			fwhm)
	}); err != nil {
		return Return{}, err
	}
	var r Return
	for i, name := range s.faceNames() {
		r.add(name, back.faces[i])
	}
	if d == Backward { // in the order the light meets them
		slices.Reverse(r.Parts)
	}
	floor := s.spec.Beam.ReturnFloor
	if floor == 0 {
		floor = DefaultReturnFloor
	}
	for _, p := range []struct {
		name  string
		power float64
	}{{"ferrule", back.ferrule}, {"lens", back.lens}} {
		r.add(p.name, polar.Gram{XX: p.power, YY: p.power})
	}
	r.add("far lens", back.farLens)
	r.add("far ferrule", back.farFerrule)
	r.add("scatter", polar.Gram{XX: quantity.Ratio(-floor), YY: quantity.Ratio(-floor)})

	all := back.together
	all.AddGram(back.farLens)
	all.AddGram(back.farFerrule)
	t1, _ := all.Extremes()
	r.Loss = -quantity.Decibels(t1 + back.ferrule + back.lens + quantity.Ratio(-floor))
	return r, nil
}

func (r *Return) add(name string, h polar.Gram) {
	t1, _ := h.Extremes()
	r.Parts = append(r.Parts, ReturnPart{name, -quantity.Decibels(t1)})
}

// returned is the power that comes back into the launching fibre, by launch polarization where it depends on it.
type returned struct {
	faces               []polar.Gram // each by itself, in the order of +z
	together            polar.Gram   // all of them
	ferrule, lens       float64      // of the launching collimator
	farLens, farFerrule polar.Gram   // of the other
}

// returned traces what the faces send back, and works out what the collimators do.
func (q *tracer) returned(k *Stack, d Direction, l quantity.Length, fwhm float64) returned {
	pair := &k.spec.Beam
	r := returned{faces: make([]polar.Gram, len(q.faces)), ferrule: pair.FerruleReturn(l), lens: q.ownLens(pair)}
	if r.ferrule > 0 {
		r.farFerrule = q.farFerrule(k, d, l, r.ferrule)
	}
	q.begin(k, q.course, d, l, k.poseAt(q.at))
	q.ghosts, q.sendingBack = false, true
	q.facets = append(q.facets[:0], facet{q.to.r, q.to.facet(pair.Facet, pair.FacetReflectance)})
	far := len(q.faces)
	groups := make([]group, far+1)
	for crossing := range uint8(1) << len(q.films) {
		clear(groups)
		q.crossing = crossing
		q.chiefly(func(a *state) {
			if crossing&^a.films == 0 {
				var h hit
				q.meetAgain(a, &h)
				q.addReturned(a, &h, &groups[a.first])
			}
		})
		for i := range q.faces {
			for m := range q.modes {
				r.faces[i].Add(groups[i].sum[m])
			}
		}
		for m := range q.modes {
			r.farLens.Add(groups[far].sum[m])
		}
		r.together.AddGram(q.together(groups[:far], fwhm))
	}
	return r
}

// addReturned adds a path that has come back to the group of its face.
func (q *tracer) addReturned(a *state, h *hit, into *group) {
	for m := range q.modes {
		if !a.counts(m) {
			continue
		}
		j := h.jones[m].Scale(h.amplitude)
		into.add(m, &j, h.delay)
		before := into.power
		into.weigh(&j, h.delay)
		into.absorbed += (into.power - before) * a.loss
	}
}

// ownLens is the share of the power launched that the lens face it leaves by sends back into the fibre.
func (q *tracer) ownLens(pair *element.Collimator) float64 {
	f := q.from.facet(pair.Facet, pair.FacetReflectance)
	n := q.chief()
	back := r3.Sub(n, r3.Scale(2*r3.Dot(n, f.Normal), f.Normal))
	return f.Reflectance * power(q.coupler.Overlap(&beam.Course{Base: flat(back), Waiting: flat(r3.Sub(r3.Scale(-1, n),
		back))}))
}

// farFerrule is what the end of the other fibre sends back, a share of the light in its mode: that light has come
// through the stack one way and goes through it the other way.
func (q *tracer) farFerrule(k *Stack, d Direction, l quantity.Length, share float64) polar.Gram {
	var ways [2][maxModes]polar.Matrix
	for i, way := range [2]Direction{d, -d} {
		q.begin(k, q.course, way, l, k.poseAt(q.at))
		q.ghosts = false
		q.gather(0)
		ways[i] = q.sums.direct.sum
	}
	return q.thereAndBack(&ways, share)
}

// thereAndBack is a share of the light that has come through the stack one way and then goes through it another.
func (q *tracer) thereAndBack(ways *[2][maxModes]polar.Matrix, share float64) (h polar.Gram) {
	size := complex(math.Sqrt(share), 0)
	for a := range q.modes {
		for b := range q.modes {
			h.Add(ways[1][b].Mul(ways[0][a]).Scale(size))
		}
	}
	return h
}

// faceNames names the faces of the course in the order of +z.
func (s *Stack) faceNames() []string {
	var names []string
	for _, e := range s.spec.Elements {
		for i, n := 0, len(e.Place(s.spec.AlignTemperature).Faces); i < n; i++ {
			switch {
			case n == 1:
				names = append(names, e.Label())
			case i == 0:
				names = append(names, e.Label()+" front")
			case i == n-1:
				names = append(names, e.Label()+" back")
			default:
				names = append(names, fmt.Sprintf("%s face %d", e.Label(), i+1))
			}
		}
	}
	return names
}
