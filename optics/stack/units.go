package stack

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"wedgework/optics/element"
	"wedgework/optics/program"
	"wedgework/optics/quantity"
)

// Condition is where a stack is evaluated.
type Condition struct {
	Wavelength  quantity.Length      // in vacuum, m
	Temperature quantity.Temperature // K
}

// Units is many stacks that differ from one in the values of some parameters, made ready to be evaluated fast: a
// program of package program, and how parts are laid out for it. It is immutable and safe for concurrent use; the work
// is done in a Batch.
//
// Double bounces add in power, or there are none. What it computes agrees with At to 4e-5 dB in transmission, and in
// isolation, to 60 dB, to 1e-3 dB without double bounces and to 1e-2 dB with them (TestUnitsAgainstTracer).
type Units struct {
	stack      *Stack
	held       bool
	pass       float64     // share of the power that the collimators pass
	conditions []Condition // the first is that of alignment, unless held; behind the caller's the nodes of bands
	own        int         // how many before the caller's are not: 1 when alignment has a condition of its own
	program    *program.Program
	single     []int                  // the caller's conditions that are not in a band
	bands      []band                 // the others
	untuned    []bool                 // by condition: no light is traced there
	scenes     []quantity.Temperature // one scene each
	scene      []int                  // of each condition

	parameters []varied
	values     []float64 // of the nominal stack, by parameter
	elements   []laidOut
	loss       int // the parameter that is the loss of the collimators; -1 where that does not vary
	faces      int
	flat       []bool  // of the faces: square to z in every unit
	fades      bool    // reflectances vary, or what the collimators pass
	films      []int   // media that turn the polarization
	length     float64 // of the elements that keep theirs, at the temperature of dimensions
	edges      [][2]int
}

// varied is a parameter: number name of an element, or the loss of the collimators for the element that is none.
type varied struct{ element, name int }

const collimators = -1

// steepest is the angle between the collimators, in radians, up to which the tracer and the program agree: beyond, the
// ray halfway between them, where the tracer starts, is another path than the light's.
const steepest = 0.05

// laidOut is an element as units lay it out.
type laidOut struct {
	element element.Element
	names   []string       // of the parameters that vary
	numbers []int          // of those parameters among all
	fixed   []element.Part // by scene; nil where names are not
	grows   bool           // its length varies
	steady  bool           // it is laid out the same at every temperature
	faces   int            // how many it has
	first   int            // its first face
	crystal int            // its first crystal
}

// Units returns stacks that differ from s in the parameters of the given paths. displaced holds a value of each, in SI
// units and a level in dB, other than that of s: what changes with it is what may change. Held units have the receiver
// where s has it, others have it aligned anew. The error says why such stacks are left to At.
func (s *Stack) Units(paths []string, displaced []float64, conditions []Condition, held bool,
	asked program.Asked) (*Units, error) {
	u := &Units{stack: s, held: held, pass: s.spec.Beam.Pass(), loss: -1}
	if s.ghosts != GhostsNone && s.ghosts != GhostsIncoherent {
		return nil, fmt.Errorf("its double bounces interfere")
	}
	if len(s.spec.Ports) > 0 || s.mirrored() {
		return nil, fmt.Errorf("it has more ports than two, or other ones than the pair, or a mirror")
	}
	if tilt := s.pose.Tilt; tilt.Dot(tilt) > steepest*steepest {
		return nil, fmt.Errorf("its light leaves it at a steep angle")
	}
	if err := u.vary(paths); err != nil {
		return nil, err
	}
	first := Condition{s.spec.AlignAt, s.spec.AlignTemperature}
	if !held && (len(conditions) == 0 || conditions[0] != first) {
		// The point of alignment comes first; it is the caller's too where the caller asks for it.
		u.conditions, u.own = append(u.conditions, first), 1
	}
	u.conditions = append(u.conditions, conditions...)
	for _, c := range u.conditions {
		if !slices.Contains(u.scenes, c.Temperature) {
			u.scenes = append(u.scenes, c.Temperature)
		}
	}
	if err := u.learn(displaced); err != nil {
		return nil, err
	}
	return u, u.settle(displaced, asked)
}

// vary finds the parameters among the elements.
func (u *Units) vary(paths []string) error {
	for _, e := range u.stack.spec.Elements {
		u.elements = append(u.elements, laidOut{element: e})
	}
	for k, path := range paths {
		label, name, _ := strings.Cut(path, ".")
		i := slices.IndexFunc(u.elements, func(e laidOut) bool { return e.element.Label() == label })
		value, err := u.stack.Parameter(path)
		if err != nil {
			return err
		}
		u.values = append(u.values, value.SI())
		switch {
		case i >= 0:
			u.parameters = append(u.parameters, varied{i, len(u.elements[i].names)})
			u.elements[i].names, u.elements[i].numbers = append(u.elements[i].names, name), append(u.elements[i].numbers, k)
		case path == element.CollimatorName+".loss":
			u.parameters, u.fades, u.loss = append(u.parameters, varied{element: collimators}), true, k
		default:
			return fmt.Errorf("%s varies", path)
		}
	}
	for i := range u.elements {
		e := &u.elements[i]
		if _, ok := element.Vary(e.element, e.names); len(e.names) > 0 && !ok {
			return fmt.Errorf("%s varies in %s", e.element.Label(), strings.Join(e.names, ", "))
		}
	}
	return nil
}

// laidOutAs returns the faces and media of the units with some values of the parameters, in a scene and for a light.
func (u *Units) laidOutAs(values []float64, c Condition) ([]element.Face, []element.Medium, error) {
	var faces []element.Face
	var media []element.Medium
	for i, e := range u.elements {
		part := e.element.Place(c.Temperature)
		tune := e.element.Tune
		if len(e.names) > 0 {
			v, _ := element.Vary(e.element, e.names)
			for k, p := range u.parameters {
				if p.element == i {
					v.Set(p.name, values[k])
				}
			}
			if err := v.Check(); err != nil {
				return nil, nil, err
			}
			part, tune = element.Part{}, v.Tune
			v.Lay(c.Temperature, &part)
		}
		if len(part.Faces) == 0 {
			continue
		}
		if err := tune(c.Wavelength, c.Temperature, part.Media); err != nil {
			return nil, nil, err
		}
		if len(faces) > 0 {
			media = append(media, element.Air)
		}
		faces, media = append(faces, part.Faces...), append(media, part.Media...)
	}
	return faces, append(media, element.Air), nil
}

// learn sees which faces and media there are, and what varies of them: what differs between the nominal stack and the
// displaced one, in any condition.
func (u *Units) learn(displaced []float64) error {
	var parts []program.Part
	for _, c := range u.conditions {
		faces, media, err := u.laidOutAs(u.values, c)
		if err != nil {
			return err
		}
		others, otherMedia, err := u.laidOutAs(displaced, c)
		if err != nil {
			return err
		}
		if parts == nil {
			parts = make([]program.Part, len(faces))
			for j := range parts {
				parts[j].Flat = true
			}
		}
		for j := range faces {
			f, g, m, n := &faces[j], &others[j], &media[j], &otherMedia[j]
			switch p := &parts[j]; {
			case f.Exact || f.Sheet != nil || f.Aperture > 0:
				return fmt.Errorf("a face of it is bare or has layers, a sheet or a clear aperture")
			case m.Beside != nil:
				return fmt.Errorf("a part of it is made of two halves")
			case m.Span > 0 || n.Span > 0 || m.Dichroic != nil:
				return fmt.Errorf("a film of it is tilted or a wedge, or a polarizer has faces")
			case m.Crystal == nil && (m.Index != n.Index || m.Absorption != n.Absorption):
				return fmt.Errorf("the index of a part varies")
			default:
				p.Flat = p.Flat && f.Normal.X == 0 && f.Normal.Y == 0 && g.Normal.X == 0 && g.Normal.Y == 0
				p.Reflects = p.Reflects || f.Reflectance > 0 || g.Reflectance > 0
				p.Crystal = m.Crystal != nil
				p.Turns = p.Turns || m.Rotation != 0 || n.Rotation != 0 || m.Crossed > 0 || n.Crossed > 0
				u.fades = u.fades || f.Reflectance != g.Reflectance
			}
		}
	}
	u.faces = len(parts)
	for j, p := range parts {
		u.flat = append(u.flat, p.Flat)
		if p.Turns {
			u.films = append(u.films, j)
		}
	}
	ghosts := u.stack.ghosts != GhostsNone
	for j := range parts[1:] {
		if ghosts && (parts[j].Reflects || parts[j+1].Reflects) && !(parts[j].Flat && parts[j+1].Flat) {
			u.edges = append(u.edges, [2]int{j, j + 1})
		}
	}
	var err error
	if u.program, err = program.New(parts, ghosts); err != nil {
		return err
	}
	return u.layOut(displaced)
}

// layOut keeps the parts that do not vary.
func (u *Units) layOut(displaced []float64) error {
	at, crystals := 0, 0
	for i := range u.elements {
		e := &u.elements[i]
		part := e.element.Place(fabricated)
		e.first, e.faces, e.crystal = at, len(part.Faces), crystals
		at += len(part.Faces)
		for k := range part.Media {
			if part.Media[k].Crystal != nil {
				crystals++
			}
		}
		if len(e.names) == 0 {
			u.length += part.Length
			for _, t := range u.scenes {
				e.fixed = append(e.fixed, e.element.Place(t))
			}
			continue
		}
		v, _ := element.Vary(e.element, e.names)
		for k, p := range u.parameters {
			if p.element == i {
				v.Set(p.name, displaced[k])
			}
		}
		var other element.Part
		v.Lay(fabricated, &other)
		e.steady = true
		for _, t := range u.scenes {
			var there element.Part
			v.Lay(t, &there)
			e.steady = e.steady && reflect.DeepEqual(there, other)
		}
		if d := other.Length - part.Length; d > 1e-15 || d < -1e-15 {
			e.grows = true
		} else {
			u.length += part.Length
		}
	}
	for _, e := range u.elements {
		if e.grows && u.inNeighbours() {
			return fmt.Errorf("the length of %s varies, and with it the field that the magnets of one part have at "+
				"the film of another", e.element.Label())
		}
	}
	return nil
}

// inNeighbours reports whether a film stands in the field of magnets of other parts.
func (u *Units) inNeighbours() bool {
	return slices.ContainsFunc(u.elements, func(e laidOut) bool {
		r, ok := e.element.(element.Rotator)
		return ok && len(r.Neighbours) > 0
	})
}

// fabricated is the temperature at which dimensions are stated (ISO 1): the stack is centred by them.
var fabricated = quantity.Celsius(20)

// Size says how many paths are added up and how many pairs of faces bounce light.
func (u *Units) Size() (paths, pairs int) {
	paths, _ = u.program.Paths()
	return paths, u.program.Pairs()
}
