package stack

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// A stack has as many ports as collimators. Two are the pair: the launching one is port "1", the receiving one port
// "2". Others stand beside either of them, with lens faces in the same plane and fibres and lenses like theirs, and
// take up light that the crystals displace or deflect: a circulator is an isolator whose rejected light arrives
// somewhere.
//
// Any two ports at opposite ends are a stack of two by themselves (Pair), so that whatever is asked of a stack can be
// asked of them. Between ports at the same end goes what faces reflect, and what a mirror returns (Between).

// The names of the pair's ports.
const (
	LaunchingPort = "1"
	ReceivingPort = "2"
)

// Port is a collimator at one end of a stack.
type Port struct {
	Name string

	// Launches is the direction of the light that leaves the port: Forward beside the launching collimator, Backward
	// beside the receiving one.
	Launches Direction

	// Pose is where the port stands: the offset of its centre in the plane of the lens faces, and the transverse part
	// of the unit vector along its axis, in the direction of +z at either end.
	Pose Pose

	// Follows is the name of the port at the other end whose light this one is aligned to, in place of a Pose: where it
	// takes up most, of all places that no port before it in the list has. "" for one that stands at its Pose.
	Follows string
}

// Beside returns the pose of a collimator whose fibre stands beside the axis of a lens that it shares with others: a
// dual-fibre collimator has one fibre on either side. The light leaves the lens as far off the axis as the fibre is
// and crosses the axis in the focal plane in front of the lens, a focal length away. Lengths are in metres, the lens
// is thin and the fibres are parallel to its axis.
func Beside(fibre beam.Vec, focal quantity.Length) Pose {
	f := float64(focal)
	return Pose{Offset: fibre, Tilt: fibre.Scale(-1 / math.Sqrt(f*f+fibre.Dot(fibre)))}
}

// mostPorts bounds the ports of a stack (a choice: circulators in trade have three to six).
const mostPorts = 16

// taken is the share of the power at which two ports at one end are the same place: a mode that stands so near to
// another shares its light: the two together would take up more than arrives, by the root of the share (a choice, 40
// dB).
const taken = 1e-4

// pair returns the ports of the pair, as they are unless the list says otherwise of them.
func (s *Stack) pair() []Port {
	all := []Port{{Name: LaunchingPort, Launches: Forward}}
	if !s.mirrored() {
		all = append(all, Port{Name: ReceivingPort, Launches: Backward, Follows: LaunchingPort})
	}
	return all
}

// mirrored reports whether a mirror ends the stack: all light returns to the end that it came from.
func (s *Stack) mirrored() bool {
	n := len(s.spec.Elements)
	if n == 0 {
		return false
	}
	_, ok := s.spec.Elements[n-1].(element.Mirror)
	return ok
}

// through reports a stack that lets nothing through to another end.
func (s *Stack) through() error {
	if s.mirrored() {
		return fmt.Errorf("%s returns all light: nothing arrives behind it; ask for the light between ports before it",
			s.spec.Elements[len(s.spec.Elements)-1].Label())
	}
	return nil
}

// listed merges the ports of a spec with the pair, and checks them.
func (s *Stack) listed() ([]Port, error) {
	all := s.pair()
	for i, p := range s.spec.Ports {
		if err := p.check(); err != nil {
			return nil, fmt.Errorf("port %d: %w", i+1, err)
		}
		if s.mirrored() && p.Launches == Backward {
			return nil, fmt.Errorf("port %q: there is no port behind a mirror", p.Name)
		}
		at := slices.IndexFunc(all, func(q Port) bool { return q.Name == p.Name })
		switch {
		case at < 0:
			all = append(all, p)
		case at >= len(s.pair()) || slices.ContainsFunc(s.spec.Ports[:i],
			func(q Port) bool { return q.Name == p.Name }):
			return nil, fmt.Errorf("port %d: the name %q is already taken", i+1, p.Name)
		case all[at].Launches != p.Launches:
			return nil, fmt.Errorf("port %q is the %s collimator of the pair: it stands at the other end", p.Name,
				[]string{"launching", "receiving"}[at])
		default:
			all[at] = p
		}
	}
	if len(all) > mostPorts {
		return nil, fmt.Errorf("the stack has %d ports: at most %d can be traced", len(all), mostPorts)
	}
	return all, nil
}

func (p Port) check() error {
	switch {
	case p.Name == "" || strings.ContainsAny(p.Name, ". \t\n"):
		return fmt.Errorf("the name %q must hold something, and no spaces or points", p.Name)
	case p.Launches.check() != nil:
		return fmt.Errorf("%q: %w", p.Name, p.Launches.check())
	case p.Follows != "" && p.Pose != Pose{}:
		return fmt.Errorf("%q is aligned to port %q and stands at a stated place: one of the two", p.Name, p.Follows)
	case !(p.Pose.Tilt.Dot(p.Pose.Tilt) < steepestPort*steepestPort):
		return fmt.Errorf("%q points %.3g rad off the device's axis: less than %.2g rad can be traced", p.Name,
			math.Sqrt(p.Pose.Tilt.Dot(p.Pose.Tilt)), steepestPort)
	}
	return nil
}

// steepestPort is the angle to the device's axis, in radians, up to which the overlap of Gaussian beams between planes
// is taken to hold (design: 5e-3 at 13 deg).
const steepestPort = 0.25

// place finds where all ports stand, in the order of the list; the pair's are where the stack launches and receives.
func (s *Stack) place() error {
	var err error
	if s.ports, err = s.listed(); err != nil {
		return err
	}
	for i := range s.ports {
		p := &s.ports[i]
		if p.Follows != "" {
			if err := s.follow(i); err != nil {
				return err
			}
		}
		for _, q := range s.ports[:i] {
			if q.Launches == p.Launches && s.shared(q.Pose, p.Pose) > taken {
				return fmt.Errorf("ports %s and %s stand in the same place: they share %.2g of their light",
					q.Name, p.Name, s.shared(q.Pose, p.Pose))
			}
		}
	}
	s.front, s.launch = 0, s.ports[0].Pose
	if !s.mirrored() {
		s.back, s.pose = 1, s.ports[1].Pose
	}
	return nil
}

// follow aligns port i to the light of the port it follows.
func (s *Stack) follow(i int) error {
	p := &s.ports[i]
	j := slices.IndexFunc(s.ports[:i], func(q Port) bool { return q.Name == p.Follows })
	switch {
	case j < 0 && slices.ContainsFunc(s.ports, func(q Port) bool { return q.Name == p.Follows }):
		return fmt.Errorf("port %s is aligned to port %s, which stands behind it in the list: put it before", p.Name,
			p.Follows)
	case j < 0:
		return fmt.Errorf("port %s is aligned to port %s, which the stack does not have", p.Name, p.Follows)
	case s.ports[j].Launches == p.Launches:
		return fmt.Errorf("port %s is aligned to port %s at the same end: only light of the other end can do",
			p.Name, p.Follows)
	}
	pose, err := s.aligned(s.ports[j], func(at Pose) bool {
		return slices.ContainsFunc(s.ports[:i], func(q Port) bool {
			return q.Launches == p.Launches && s.shared(q.Pose, at) > taken
		})
	})
	if err != nil {
		return err
	}
	p.Pose = pose
	return nil
}

// shared is the share of the power of one port's mode that lies in another's at the same end, at the wavelength of
// alignment.
func (s *Stack) shared(a, b Pose) float64 {
	w, ahead, err := s.spec.Beam.Beam(s.lens, s.spec.AlignAt)
	if err != nil {
		return 0 // alignment uses the beam and tells
	}
	c := beam.Coupler{K: 2 * math.Pi / float64(s.spec.AlignAt), SentW: w, SentZ: ahead, WaitingW: w, WaitingZ: -ahead}
	off, tilt := b.Offset.Sub(a.Offset), b.Tilt.Sub(a.Tilt)
	return power(c.Overlap(&beam.Course{Waiting: tilt, Offset: off}))
}

// Ports returns where all ports stand, those of the pair first.
func (s *Stack) Ports() []Port { return slices.Clone(s.ports) }

// port returns a port by its name.
func (s *Stack) port(name string) (int, error) {
	i := slices.IndexFunc(s.ports, func(p Port) bool { return p.Name == name })
	if i < 0 {
		var names []string
		for _, p := range s.ports {
			names = append(names, p.Name)
		}
		return 0, fmt.Errorf("the stack has no port %q: it has %s", name, strings.Join(names, ", "))
	}
	return i, nil
}

// Pair returns the stack between two other ports, one at each end: the first in the place of the launching
// collimator, the second in that of the receiving one. What is asked of it is asked of these two; adjusted, it has
// all ports aligned anew.
func (s *Stack) Pair(front, back string) (*Stack, error) {
	i, err := s.port(front)
	if err != nil {
		return nil, err
	}
	j, err := s.port(back)
	if err != nil {
		return nil, err
	}
	if s.ports[i].Launches != Forward || s.ports[j].Launches != Backward {
		return nil, fmt.Errorf("a pair is a port in front and one behind: %s is %s and %s is %s", front,
			s.ports[i].Launches.end(), back, s.ports[j].Launches.end())
	}
	return s.between(i, j), nil
}

// end names the end that light of a direction is launched from.
func (d Direction) end() string {
	if d == Backward {
		return "behind"
	}
	return "in front"
}

func (s *Stack) between(front, back int) *Stack {
	c := *s
	c.front, c.launch = front, s.ports[front].Pose
	if !s.mirrored() {
		c.back, c.pose = back, s.ports[back].Pose
	}
	return &c
}

// Paired returns the names of the two ports that the stack is looked at between; the second is "" behind a mirror.
func (s *Stack) Paired() (front, back string) {
	front = s.ports[s.front].Name
	if !s.mirrored() {
		back = s.ports[s.back].Name
	}
	return front, back
}

// like sets what is no part of a drawing as another stack has it: what becomes of double bounces, the linewidth, and
// the ports looked at.
func (s *Stack) like(o *Stack) *Stack {
	c := s.between(o.front, o.back)
	c.ghosts, c.width = o.ghosts, o.width
	return c
}
