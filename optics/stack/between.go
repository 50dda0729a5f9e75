package stack

import (
	"context"
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"wedgework/optics/polar"
	"wedgework/optics/quantity"
)

// Between returns what one port gets of the light of another, at one vacuum wavelength and temperature: through the
// stack between ports at opposite ends, by what faces and a mirror reflect between ports at the same end, itself
// included. The element of a scattering matrix that this is is in the frame of all Jones matrices here, (Ex, Ey) for
// both directions.
//
// Of reflected light, that of each face counts once and that of different faces interferes within the source's
// linewidth, unless double bounces add in power; what far fibre ends and lens faces reflect adds in power. The lens and
// the fibre's end of the port that light leaves by are left out: what they reflect into a neighbour in the same
// collimator is not part of the model.
func (s *Stack) Between(from, to string, l quantity.Length, t quantity.Temperature) (Point, error) {
	var p [1]Point
	row, _, err := s.linked(from, to)
	if err == nil {
		err = row([]quantity.Length{l}, t, p[:])
	}
	return p[0], err
}

// OverBetween is Between over a grid, computed in parallel as Over is. The direction of the response is that in which
// the light leaves its port.
func (s *Stack) OverBetween(ctx context.Context, from, to string, ls []quantity.Length,
	ts []quantity.Temperature) (*Response, error) {
	row, d, err := s.linked(from, to)
	if err != nil {
		return nil, err
	}
	return over(ctx, d, ls, ts, row)
}

// row fills in a run of wavelengths at one temperature.
type row func(ls []quantity.Length, t quantity.Temperature, into []Point) error

// linked returns how to compute what one port gets of another's light, and the direction in which that is launched.
func (s *Stack) linked(from, to string) (row, Direction, error) {
	i, err := s.port(from)
	if err != nil {
		return nil, 0, err
	}
	j, err := s.port(to)
	if err != nil {
		return nil, 0, err
	}
	d := s.ports[i].Launches
	if s.ports[j].Launches != d {
		c := s.between(i, j)
		if d == Backward {
			c = s.between(j, i)
		}
		return func(ls []quantity.Length, t quantity.Temperature, into []Point) error {
			return c.row(d, ls, t, into)
		}, d, nil
	}
	return func(ls []quantity.Length, t quantity.Temperature, into []Point) error {
		return s.tuned(ls, t, func(q *tracer, c *course, k int, l quantity.Length) {
			into[k] = q.reflected(s, c, i, j, l)
		})
	}, d, nil
}

// standing is where a port stands at the temperature of a course.
func (s *Stack) standing(i int, t quantity.Temperature) port {
	p := s.ports[i]
	if p.Launches == Backward {
		return newPort(s.zOut, s.drifted(p.Pose, t))
	}
	return newPort(s.zIn, p.Pose)
}

// reflected is what port j gets of the light of port i at the same end.
func (q *tracer) reflected(k *Stack, c *course, i, j int, l quantity.Length) Point {
	from, home := k.standing(i, c.at), k.standing(j, c.at)
	d := k.ports[i].Launches
	q.begin(k, c, d, l, k.poseAt(c.at))
	q.from, q.home, q.ghosts, q.sendingBack = from, home, false, true
	q.zStart, q.zEnd = k.ends(d)
	q.facets = q.facets[:0]
	for n, p := range k.ports {
		if p.Launches != d {
			far := k.standing(n, c.at)
			q.facets = append(q.facets, facet{far.r, far.facet(k.spec.Beam.Facet, k.spec.Beam.FacetReflectance)})
		}
	}
	groups := make([]group, len(q.faces)+1)
	var first []group // of light that no film turns a further 90 deg on its way back
	var h polar.Gram
	for crossing := range uint8(1) << len(c.films) {
		clear(groups)
		q.crossing = crossing
		q.ended = func(a *state) {
			if crossing&^a.films == 0 {
				var h hit
				q.comeBack(a, &h)
				q.addReturned(a, &h, &groups[a.first])
			}
		}
		q.send(q.fold(), 0)
		h.AddGram(gathered(groups, q.modes, k.fwhm()).H)
		if crossing == 0 {
			first = append(first, groups...)
		}
	}
	q.ended = nil
	p := gathered(first, q.modes, k.fwhm())
	p.H = h
	if share := k.spec.Beam.FerruleReturn(l); share > 0 {
		for n, far := range k.ports {
			if far.Launches != d {
				p.H.AddGram(q.farFibre(k, c, i, n, j, l, share))
			}
		}
	}
	p.T1, p.T2 = p.H.Extremes()
	return p
}

// gathered is what the faces reflect together, seen from the strongest of them; the last group is that of the lens
// faces behind, which adds in power.
func gathered(groups []group, modes int, fwhm float64) Point {
	faces, far := groups[:len(groups)-1], &groups[len(groups)-1]
	strongest := 0
	for i := range faces {
		if faces[i].power > faces[strongest].power {
			strongest = i
		}
	}
	faces[0], faces[strongest] = faces[strongest], faces[0]
	p := total(&faces[0], faces[1:], modes, fwhm)
	faces[0], faces[strongest] = faces[strongest], faces[0]
	for m := range modes {
		p.H.Add(far.sum[m])
	}
	return p
}

// fold returns the base ray of light that is reflected: midway between the axis of the port that it leaves and that of
// the port it returns to, seen in a plane across z. Light from either port to the other has the same one, reversed.
func (s *shot) fold() r3.Vec {
	a := s.from.axis
	b := s.home.axis
	return r3.Unit(r3.Scale(float64(s.step), r3.Vec{X: a.X - b.X, Y: a.Y - b.Y, Z: a.Z + b.Z}))
}

// ends returns z of the lens faces that light of a direction leaves and travels to.
func (s *Stack) ends(d Direction) (from, to float64) {
	if d == Backward {
		return s.zOut, s.zIn
	}
	return s.zIn, s.zOut
}

// farFibre is what port j gets of port i's light from the fibre's end at port n of the other end, which sends back a
// share of the light in its mode: that light has come through the stack one way and goes through it the other way.
func (q *tracer) farFibre(k *Stack, c *course, i, n, j int, l quantity.Length, share float64) polar.Gram {
	var ways [2][maxModes]polar.Matrix
	for w, near := range [2]int{i, j} {
		d := k.ports[near].Launches
		pair := k.between(near, n)
		if d == Backward {
			pair = k.between(n, near)
		}
		if w == 1 {
			d = -d
		}
		q.begin(pair, c, d, l, pair.poseAt(c.at))
		q.ghosts = false
		q.gather(0)
		ways[w] = q.sums.direct.sum
	}
	return q.thereAndBack(&ways, share)
}

// tuned lays a course out at a temperature and hands it to f tuned to each of some wavelengths. A panic in it is a
// mistake in this program, and becomes an error so that it does not take a session down.
func (s *Stack) tuned(ls []quantity.Length, t quantity.Temperature,
	f func(q *tracer, c *course, k int, l quantity.Length)) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the response could not be computed: internal error: %v", r)
		}
	}()
	q := tracers.Get().(*tracer)
	defer tracers.Put(q)
	c := &q.room
	c.lay(s, t)
	for k, l := range ls {
		if err := c.tune(l); err != nil {
			return err
		}
		f(q, c, k, l)
	}
	return nil
}
