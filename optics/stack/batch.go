package stack

import (
	"wedgework/optics/element"
	"wedgework/optics/program"
	"wedgework/optics/quantity"
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
	settled   bool // the reflectances are those that all units have
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
		len(u.elements)), variables: make([]element.Variable, len(u.elements))}
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

// fill lays the first n units out, and the nominal stack in the places of the rest.
func (b *Batch) fill(n int) {
	b.left = [program.Width]bool{}
	for i := range program.Width {
		ok := b.unit(i, i < n)
		if !ok {
			b.left[i] = true
			b.unit(i, false)
		}
	}
	if u := b.units; u.fades || !b.settled {
		for _, s := range b.scenes {
			u.program.Settle(s)
		}
		b.settled = true
	}
}

// unit lays one unit out in all scenes and lights; false for one that cannot be built or is left to At.
func (b *Batch) unit(i int, drawn bool) bool {
	u := b.units
	loss := u.stack.spec.Beam.Loss
	for k, p := range u.parameters {
		value := u.values[k]
		if drawn {
			value = b.Values[k][i]
		}
		if p.element == collimators {
			loss = value
			continue
		}
		b.variables[p.element].Set(p.name, value)
	}
	length := u.length
	for j := range u.elements {
		v := b.variables[j]
		if v == nil {
			continue
		}
		if v.Check() != nil {
			return false
		}
		if e := &u.elements[j]; e.grows || e.steady {
			v.Lay(fabricated, &b.parts[j])
			if e.grows {
				length += b.parts[j].Length
			}
		}
	}
	room, pass := float64(u.stack.spec.Beam.WorkingDistance)-length, u.pass
	if loss != u.stack.spec.Beam.Loss {
		pair := u.stack.spec.Beam
		pair.Loss = loss
		if pair.Check() != nil {
			return false
		}
		pass = pair.Pass()
	}
	if room < 0 {
		return false
	}
	for k, t := range u.scenes {
		if !b.layOut(i, k, t) {
			return false
		}
		s := b.scenes[k]
		s.In[i], s.Out[i], s.Collimators[i] = -room/2, length+room/2, pass
		for n, c := range u.conditions {
			if u.scene[n] == k && !u.untuned[n] && !b.tune(i, n, c) {
				return false
			}
		}
	}
	return true
}

// layOut lays one unit out in a scene.
func (b *Batch) layOut(i, scene int, t quantity.Temperature) bool {
	u, s := b.units, b.scenes[scene]
	z, face, crystal := 0.0, 0, 0
	for j := range u.elements {
		part := &b.parts[j]
		if v := b.variables[j]; v == nil {
			part = &u.elements[j].fixed[scene]
		} else if !u.elements[j].steady {
			v.Lay(t, part)
		}
		for k := range part.Faces {
			from, to := &part.Faces[k], &s.Faces[face]
			to.X[i], to.Y[i], to.Z[i], to.At[i] = from.Normal.X, from.Normal.Y, from.Normal.Z, z+from.Z
			s.Reflect[face][i] = from.Reflectance
			face++
		}
		for k := range part.Media {
			if c := part.Media[k].Crystal; c != nil {
				axis := &s.Axes[crystal]
				axis.X[i], axis.Y[i], axis.Z[i] = c.Axis.X, c.Axis.Y, c.Axis.Z
				crystal++
			}
		}
		z += part.Length
	}
	for _, e := range u.edges {
		f, g := &s.Faces[e[0]], &s.Faces[e[1]]
		x, y := f.X[i]-g.X[i], f.Y[i]-g.Y[i]
		if x*x+y*y < parallelTo*parallelTo {
			return false
		}
	}
	return true
}

// tune sets the films of one unit that vary.
func (b *Batch) tune(i, condition int, c Condition) bool {
	u := b.units
	for f, medium := range u.films {
		for j := range u.elements {
			e, v := &u.elements[j], b.variables[j]
			if v == nil || medium < e.first || medium >= e.first+e.faces-1 {
				continue
			}
			media := b.parts[j].Media
			if v.Tune(c.Wavelength, c.Temperature, media) != nil {
				return false
			}
			m := &media[medium-e.first]
			b.lights[condition].Films[f].Turn(i, m.Rotation, m.Crossed)
		}
	}
	return true
}
