package stack

import (
	"wedgework/optics/element"
	"wedgework/optics/program"
)

// Batch is room to evaluate program.Width units at a time, without allocation. It belongs to one goroutine.
type Batch struct {
	Values []program.Lane // by parameter, in SI units and a level in dB: what the caller sets

	units     *Units
	machine   *program.Machine
	variables []element.Variable // by element; nil for one that does not vary
	parts     []element.Part     // their room
	scenes    []*program.Scene
	lights    []*program.Light
	pose, at  program.Pose
	left      [program.Width]bool
	length    program.Lane   // of the units, at the temperature of dimensions
	z         []program.Lane // by scene: behind the elements laid out so far
	settled   bool           // what all units have alike is laid out
}

// Batch returns room to evaluate units.
func (u *Units) Batch() (*Batch, error) {
	b, err := u.batch()
	if err == nil {
		b.machine = u.program.Machine()
	}
	return b, err
}

func (u *Units) batch() (*Batch, error) {
	b := &Batch{units: u, Values: make([]program.Lane, len(u.parameters)), parts: make([]element.Part,
		len(u.elements)), variables: make([]element.Variable, len(u.elements)), z: make([]program.Lane, len(u.scenes))}
	for i, e := range u.elements {
		if len(e.names) > 0 {
			b.variables[i], _ = element.Vary(e.element, e.names)
		}
	}
	for range u.scenes {
		b.scenes = append(b.scenes, u.program.Scene())
	}
	for _, c := range u.conditions {
		l, err := u.light(c)
		if err != nil {
			return nil, err
		}
		b.lights = append(b.lights, l)
	}
	return b, nil
}

// light is the nominal stack at a condition.
func (u *Units) light(c Condition) (*program.Light, error) {
	l := u.program.Light()
	var err error
	l.Wavelength = float64(c.Wavelength)
	if l.Waist, l.Ahead, err = u.stack.spec.Beam.Beam(u.stack.lens, c.Wavelength); err != nil {
		return nil, err
	}
	_, media, err := u.laidOutAs(u.values, c)
	if err != nil {
		return nil, err
	}
	for j, m := range media {
		to := &l.Media[j]
		to.Index, to.Group, to.Absorption = m.Index, m.Group, m.Absorption
		if c := m.Crystal; c != nil {
			to.O, to.E, to.GroupO, to.GroupE = c.O, c.E, c.GroupO, c.GroupE
		}
	}
	for f, j := range u.films {
		for i := range program.Width {
			l.Films[f].Turn(i, media[j].Rotation, media[j].Crossed)
		}
	}
	return l, nil
}

// nominal sets where the receiver of the nominal stack stands at a condition.
func (u *Units) nominal(condition int, at *program.Pose) {
	p := u.stack.poseAt(u.conditions[condition].Temperature)
	at.X.Fill(p.Offset.X)
	at.Y.Fill(p.Offset.Y)
	at.TiltX.Fill(p.Tilt.X)
	at.TiltY.Fill(p.Tilt.Y)
}

// Run evaluates the first n units at every condition, those outside bands first, and hands each what comes through. A
// unit that the program does not cover, or that cannot be built, is left out: it is At's to evaluate where Left then
// says so, and what each got for it means nothing. each must not keep what it is handed, and ends the work by returning
// false.
func (b *Batch) Run(n int, each func(condition int, p *program.Passed) bool) {
	u, m := b.units, b.machine
	b.fill(n)
	m.Left, m.Doubt = b.left, program.Lane{}
	if u.held {
		u.nominal(0, &b.pose)
		m.Hold(b.scenes[0], b.lights[0], &b.pose)
	} else {
		m.Align(b.scenes[0], b.lights[0], &b.pose)
	}
	if len(u.single) == 0 || u.single[0] > 0 {
		m.Elsewhere()
	}
	for _, k := range u.single {
		b.receive(k)
		m.At(k, b.scenes[u.scene[k]], b.lights[k], &b.at)
		if !each(k-u.own, &m.Passed) {
			return
		}
	}
	for _, band := range u.bands {
		s := b.scenes[band.scene]
		b.receive(band.nodes[0])
		for j, k := range band.nodes {
			m.Node(band.of, j, s, b.lights[k], &b.at)
		}
		m.Settle(band.of)
		for j, k := range band.points {
			m.Between(band.of, j, s)
			if !each(k-u.own, &m.Passed) {
				return
			}
		}
	}
}

// receive sets where the receivers stand at a condition.
func (b *Batch) receive(condition int) {
	u := b.units
	b.at = b.pose
	drift := u.stack.spec.Beam.Pointing * float64(u.conditions[condition].Temperature-u.conditions[0].Temperature)
	if drift != 0 {
		for i := range program.Width {
			b.at.TiltX[i] += drift
		}
	}
}

// Left reports whether a unit of the last Run was left to At.
func (b *Batch) Left(i int) bool { return b.machine.Left[i] }

// fill lays the first n units out, and the nominal stack in the places of the rest and of those that cannot be built.
func (b *Batch) fill(n int) {
	b.left = [program.Width]bool{}
	b.lay(0, n, true)
	b.lay(n, program.Width, false)
	for i := range n {
		if b.left[i] {
			b.lay(i, i+1, false)
		}
	}
	if u := b.units; u.fades || !b.settled {
		for _, s := range b.scenes {
			u.program.Settle(s)
		}
		b.settled = true
	}
}

// lay lays some units out in all scenes and lights, element by element, and marks those as left that cannot be built.
func (b *Batch) lay(from, to int, drawn bool) {
	u := b.units
	for i := from; i < to; i++ {
		b.length[i] = u.length
	}
	for k := range b.z {
		clear(b.z[k][from:to])
	}
	for j := range u.elements {
		if b.variables[j] == nil {
			b.keep(j, from, to)
		} else {
			b.vary(j, from, to, drawn)
		}
	}
	for i := from; i < to; i++ {
		if !b.ends(i, drawn) || !b.apart(i) {
			b.left[i] = true
		}
	}
}

// keep lays an element out that does not vary: once settled, only what stands before it may move it.
func (b *Batch) keep(j, from, to int) {
	e := &b.units.elements[j]
	for k := range b.z {
		part, z := &e.fixed[k], &b.z[k]
		if !b.settled {
			for i := from; i < to; i++ {
				b.place(i, k, e, part)
			}
			continue
		}
		for f := range part.Faces {
			at, dz := &b.scenes[k].Faces[e.first+f].At, part.Faces[f].Z
			for i := from; i < to; i++ {
				at[i] = z[i] + dz
			}
		}
		for i := from; i < to; i++ {
			z[i] += part.Length
		}
	}
}

// vary lays an element out that varies.
func (b *Batch) vary(j, from, to int, drawn bool) {
	u := b.units
	e, v, part := &u.elements[j], b.variables[j], &b.parts[j]
	for i := from; i < to; i++ {
		for name, k := range e.numbers {
			if drawn {
				v.Set(name, b.Values[k][i])
			} else {
				v.Set(name, u.values[k])
			}
		}
		if v.Check() != nil {
			b.left[i] = true
			continue
		}
		if e.grows || e.steady {
			v.Lay(fabricated, part)
			if e.grows {
				b.length[i] += part.Length
			}
		}
		for k, t := range u.scenes {
			if !e.steady {
				v.Lay(t, part)
			}
			b.place(i, k, e, part)
		}
		if !b.tune(i, j) {
			b.left[i] = true
		}
	}
}

// place puts an element of one unit into a scene, behind those before it.
func (b *Batch) place(i, scene int, e *laidOut, part *element.Part) {
	s, z := b.scenes[scene], &b.z[scene]
	for k := range part.Faces {
		from, f := &part.Faces[k], e.first+k
		to := &s.Faces[f]
		to.At[i] = z[i] + from.Z
		if !b.settled || !b.units.flat[f] {
			to.X[i], to.Y[i], to.Z[i] = from.Normal.X, from.Normal.Y, from.Normal.Z
		}
		if !b.settled || b.units.fades {
			s.Reflect[f][i] = from.Reflectance
		}
	}
	crystal := e.crystal
	for k := range part.Media {
		if c := part.Media[k].Crystal; c != nil {
			axis := &s.Axes[crystal]
			axis.X[i], axis.Y[i], axis.Z[i] = c.Axis.X, c.Axis.Y, c.Axis.Z
			crystal++
		}
	}
	z[i] += part.Length
}

// ends sets where the lens faces of one unit stand, and what its collimators pass; false where there is no room.
func (b *Batch) ends(i int, drawn bool) bool {
	u := b.units
	room, pass := float64(u.stack.spec.Beam.WorkingDistance)-b.length[i], u.pass
	if u.loss >= 0 {
		pair := u.stack.spec.Beam
		if pair.Loss = u.values[u.loss]; drawn {
			pair.Loss = b.Values[u.loss][i]
		}
		if pair.Check() != nil {
			return false
		}
		pass = pair.Pass()
	}
	for _, s := range b.scenes {
		s.In[i], s.Out[i], s.Collimators[i] = -room/2, b.length[i]+room/2, pass
	}
	return !(room < 0)
}

// apart reports whether faces of one unit that bounce light to and fro stand at an angle where they are meant to.
func (b *Batch) apart(i int) bool {
	for _, s := range b.scenes {
		for _, e := range b.units.edges {
			f, g := &s.Faces[e[0]], &s.Faces[e[1]]
			x, y := f.X[i]-g.X[i], f.Y[i]-g.Y[i]
			if x*x+y*y < parallelTo*parallelTo {
				return false
			}
		}
	}
	return true
}

// tune sets the films of an element of one unit.
func (b *Batch) tune(i, j int) bool {
	u := b.units
	e, v, media := &u.elements[j], b.variables[j], b.parts[j].Media
	for f, medium := range u.films {
		if medium < e.first || medium >= e.first+e.faces-1 {
			continue
		}
		for n, c := range u.conditions {
			if u.untuned[n] {
				continue
			}
			if v.Tune(c.Wavelength, c.Temperature, media) != nil {
				return false
			}
			m := &media[medium-e.first]
			b.lights[n].Films[f].Turn(i, m.Rotation, m.Crossed)
		}
	}
	return true
}
