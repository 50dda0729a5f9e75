package stack

import (
	"fmt"
	"slices"

	"wedgework/optics/beam"
	"wedgework/optics/quantity"
)

// Pose returns where alignment has put the receiving collimator.
func (s *Stack) Pose() Pose { return s.pose }

// Posed returns a copy whose receiving collimator stands elsewhere: an alignment held while the stack
// changed, or a misalignment.
func (s *Stack) Posed(p Pose) *Stack {
	c := *s
	c.pose = p
	if !s.mirrored() {
		c.ports = slices.Clone(s.ports)
		c.ports[s.back].Pose = p
	}
	return &c
}

// poseAt is the receiver's pose at a temperature: its pointing may drift.
func (s *Stack) poseAt(t quantity.Temperature) Pose {
	return s.drifted(s.pose, t)
}

// drifted is where a port behind the stack stands at a temperature.
func (s *Stack) drifted(p Pose, t quantity.Temperature) Pose {
	p.Tilt.X += s.spec.Beam.Pointing * float64(t-s.spec.AlignTemperature)
	return p
}

// aligned finds the offset and tilt of a receiver that collect the most power of a port at the other end, averaged over
// polarization, at the wavelength and temperature of alignment; the axial gap stays. It takes no place that is taken.
//
// Paths that arrive in different polarizations, or from different launch states, do not interfere in that
// average, and each by itself would be collected best from straight behind it, falling off as the same
// Gaussian. So the best pose is a mode of a sum of equal Gaussians, and the mean of the paths' own poses,
// weighted with the power collected from each, climbs to it (the mean shift of K. Fukunaga and L. D.
// Hostetler, IEEE Trans. Inf. Theory 21, 32 (1975); from memory). It is started behind every path.
func (s *Stack) aligned(to Port, taken func(Pose) bool) (best Pose, err error) {
	q := tracers.Get().(*tracer)
	defer tracers.Put(q)
	c := &q.room
	c.lay(s, s.spec.AlignTemperature)
	if err := c.tune(s.spec.AlignAt); err != nil {
		return Pose{}, fmt.Errorf("alignment: %w", err)
	}
	bare := *s
	bare.ghosts = GhostsNone
	paths := q.collectables(&bare, c, to, s.spec.AlignAt)
	if len(paths) == 0 {
		return Pose{}, fmt.Errorf("alignment: no light gets through the stack at %.6g nm", float64(s.spec.AlignAt)*1e9)
	}
	most := -1.0
	for _, p := range paths {
		pose, collected := climb(paths, &q.coupler, p.pose, float64(to.Launches))
		if collected > most*(1+1e-12) && !taken(pose) {
			most, best = collected, pose
		}
	}
	if most < 0 {
		return Pose{}, fmt.Errorf("alignment: the light of port %s arrives nowhere but where other ports stand",
			to.Name)
	}
	return best, nil
}

// collectable is a path by its chief ray: the pose straight behind it, and its power.
type collectable struct {
	course beam.Course
	pose   Pose
	power  float64
}

// climbSteps bounds the climb. It converges by orders of magnitude a step unless two paths are of equal
// power and a beam's width apart, where the best pose hardly matters.
const climbSteps = 60

// climb climbs from a pose with light that travels along step, +1 or -1.
func climb(paths []collectable, coupler *beam.Coupler, pose Pose, step float64) (Pose, float64) {
	total := 0.0
	for range climbSteps {
		var next Pose
		total = 0
		for _, p := range paths {
			p.course.Offset = pose.Offset.Sub(p.pose.Offset)
			p.course.Waiting = pose.Tilt.Sub(p.pose.Tilt).Scale(step)
			u := coupler.Overlap(&p.course)
			w := p.power * power(u)
			total += w
			next.Offset = next.Offset.Add(p.pose.Offset.Scale(w))
			next.Tilt = next.Tilt.Add(p.pose.Tilt.Scale(w))
		}
		if total == 0 {
			return pose, 0
		}
		next.Offset, next.Tilt = next.Offset.Scale(1/total), next.Tilt.Scale(1/total)
		moved, turned := next.Offset.Sub(pose.Offset), next.Tilt.Sub(pose.Tilt)
		pose = next
		if moved.Dot(moved) < 1e-24 && turned.Dot(turned) < 1e-24 { // a picometre and a picoradian
			break
		}
	}
	return pose, total
}

// collectables traces the paths of the light of a port through a course by their chief rays. They are the tracer's
// until it is asked again.
func (q *tracer) collectables(k *Stack, c *course, of Port, l quantity.Length) []collectable {
	q.begin(k, c, of.Launches, l, Pose{})
	q.from = newPort(q.from.r.Z, of.Pose)
	q.ends = q.ends[:0]
	q.chiefly(func(a *state) {
		if w := q.carried(a, &outside); w > 0 {
			q.ends = append(q.ends, collectable{q.way(a), Pose{flat(a.r), flat(a.n).Scale(float64(q.step))}, w})
		}
	})
	return q.ends
}
