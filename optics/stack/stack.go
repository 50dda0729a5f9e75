// Package stack puts elements together between two collimators and predicts what gets through, in either
// direction.
//
// Every crystal splits an arriving wave in two, so that a stack is a sum over paths: two wedges give oo, oe,
// eo and ee. Each path is traced exactly, its polarization carried as real field vectors, and its arrival
// is an overlap integral with the receiving mode. The sum over paths is coherent; what a rotator
// depolarizes adds in power.
//
// The frame is fixed to the device and the same for both directions: +z forward, Jones vectors (Ex, Ey).
// Light launched backward leaves the receiving collimator in the pose that forward alignment gave it.
package stack

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"wedgework/optics/beam"
	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

// Spec is a stack as drawn.
type Spec struct {
	Elements         []element.Element // in the order forward light meets them
	Beam             element.Collimator
	Ports            []Port               // beside the pair, or one of it by its name; in the order of alignment
	AlignAt          quantity.Length      // wavelength at which the receiver was aligned
	AlignTemperature quantity.Temperature // temperature at which it was
}

// Stack is an assembled stack, its receiving collimator aligned. It is immutable and safe for concurrent
// use.
type Stack struct {
	spec   Spec
	ports  []Port // where they stand, those of the pair first
	front  int    // the port that forward light is launched from
	back   int    // the port that it is received at; of no meaning behind a mirror
	launch Pose   // of the first
	pose   Pose   // of the second
	ghosts Ghosts
	width  float64   // linewidth of the source, Hz
	lens   beam.Lens // of both collimators, as alignment set it
	zIn    float64   // lens face of the launching collimator
	zOut   float64   // lens face of the receiving collimator
	pass   float64   // amplitude that the pair of collimators passes by itself
}

// Ghosts says what becomes of the light that bounces twice between parallel faces.
type Ghosts uint8

const (
	GhostsCoherent   Ghosts = iota // adds in amplitude: a source sees ripple, in full unless it has a linewidth
	GhostsIncoherent               // adds in power: the ripple averaged out
	GhostsNone                     // left out
	GhostsRipple                   // as GhostsIncoherent, and points say what ripple that averages out
)

// New assembles a stack: it names unnamed elements wedge1, wedge2, rotator1, ... in order, centres them
// between the lens faces, and aligns the receiving collimator.
func New(spec Spec) (*Stack, error) {
	spec.Elements = slices.Clone(spec.Elements)
	if err := label(spec.Elements); err != nil {
		return nil, err
	}
	if err := check(spec); err != nil {
		return nil, err
	}
	spec.Ports = slices.Clone(spec.Ports)
	s := &Stack{spec: spec, pass: math.Sqrt(spec.Beam.Pass())}
	if err := s.stand(neighbours(spec.Elements)); err != nil {
		return nil, err
	}
	var err error
	if s.lens, err = spec.Beam.Set(spec.AlignAt); err != nil {
		return nil, err
	}
	if err := s.place(); err != nil {
		return nil, err
	}
	return s, nil
}

// stand puts the lens faces before and behind elements of a length, in metres. Before a mirror the working distance
// counts there and back, so that the waist is at the mirror as it is midway between two collimators.
func (s *Stack) stand(length float64) error {
	distance := float64(s.spec.Beam.WorkingDistance)
	if s.mirrored() {
		if distance < 2*length {
			return fmt.Errorf("the stack is %.4g mm long to its mirror and does not fit a working distance of %.4g "+
				"mm, which counts there and back", length*1e3, distance*1e3)
		}
		s.zIn, s.zOut = length-distance/2, length
		return nil
	}
	room := distance - length
	if room < 0 {
		return fmt.Errorf("the stack is %.4g mm long and does not fit a working distance of %.4g mm", length*1e3,
			distance*1e3)
	}
	s.zIn, s.zOut = -room/2, length+room/2
	return nil
}

// neighbours tells each rotator in magnets of the magnets of the other parts, and returns the length of the stack, in
// metres. Where parts stand is taken at 20 degC: housings move them by micrometres.
func neighbours(elements []element.Element) float64 {
	z, centres := 0.0, make([]float64, len(elements))
	for i, e := range elements {
		length := e.Place(fabricated).Length
		centres[i] = z + length/2
		z += length
	}
	for i, e := range elements {
		var others magnet.Assembly
		for j, o := range elements {
			if rings := element.MagnetsOf(o); j != i && len(rings) > 0 {
				others = append(others, rings.Moved(quantity.Length(centres[j]-centres[i]))...)
			}
		}
		elements[i] = element.WithNeighbours(e, others)
	}
	return z
}

// label gives each unnamed element its kind and a number that counts the kind.
func label(elements []element.Element) error {
	count, taken := map[string]int{}, map[string]bool{element.CollimatorName: true}
	for _, name := range element.CollimatorNames {
		taken[name] = true
	}
	for i, e := range elements {
		count[e.Kind()]++
		if e.Label() == "" {
			e = e.Labelled(fmt.Sprintf("%s%d", e.Kind(), count[e.Kind()]))
			elements[i] = e
		}
		if taken[e.Label()] {
			return fmt.Errorf("element %d: the name %q is already taken", i+1, e.Label())
		}
		if strings.ContainsAny(e.Label(), ". \t\n") {
			return fmt.Errorf("element %d: the name %q must not hold spaces or a point", i+1, e.Label())
		}
		taken[e.Label()] = true
	}
	return nil
}

func check(spec Spec) error {
	if err := conditions(spec.AlignAt, spec.AlignTemperature); err != nil {
		return fmt.Errorf("alignment (AlignAt, AlignTemperature): %w", err)
	}
	if err := spec.Beam.Check(); err != nil {
		return err
	}
	faces, rotators := 0, 0
	crystalBefore := ""
	for i, e := range spec.Elements {
		if _, ok := e.(element.Mirror); ok && i < len(spec.Elements)-1 {
			return fmt.Errorf("%s is not the last element: no light gets behind a mirror", e.Label())
		}
		if err := e.Check(); err != nil {
			return err
		}
		part := e.Place(spec.AlignTemperature)
		if len(part.Faces) == 0 {
			crystalBefore = ""
			continue
		}
		faces += len(part.Faces)
		if len(part.Media) == 0 { // a sheet: nothing but its face
			crystalBefore = ""
			continue
		}
		first, last := part.Media[0], part.Media[len(part.Media)-1]
		if first.Crystal != nil && crystalBefore != "" {
			return fmt.Errorf("%s and %s are both crystals and touch: put a gap between them, gap(0*mm) for contact",
				crystalBefore, e.Label())
		}
		crystalBefore = ""
		if last.Crystal != nil {
			crystalBefore = e.Label()
		}
		if element.Depolarizes(e) {
			rotators++
		}
	}
	switch {
	case faces == 0:
		return fmt.Errorf("a stack needs at least one element with faces")
	case faces > maxFaces:
		return fmt.Errorf("the stack has %d faces: at most %d can be traced", faces, maxFaces)
	case rotators > maxRotators:
		return fmt.Errorf("the stack has %d rotators of a finite extinction ratio: at most %d can be traced, and any "+
			"number of perfect ones", rotators, maxRotators)
	}
	return nil
}

// Spec returns the stack as drawn, with every element named.
func (s *Stack) Spec() Spec {
	spec := s.spec
	spec.Elements, spec.Ports = slices.Clone(spec.Elements), slices.Clone(spec.Ports)
	return spec
}

// HasAxes reports whether the fibres of the collimators are polarization-maintaining ones, so that a point has Axes.
func (s *Stack) HasAxes() bool { return s.spec.Beam.Pigtails.Known() }

// Parameter is an adjustable number of a stack; its path is "element.parameter".
type Parameter = element.Parameter

// Parameters lists every adjustable number, the elements' in their order, then the beam's, then those of
// polarization-maintaining fibres.
func (s *Stack) Parameters() []Parameter {
	var all []Parameter
	add := func(label string, ps []element.Parameter) {
		for _, p := range ps {
			p.Path = label + "." + p.Path
			all = append(all, p)
		}
	}
	for _, e := range s.spec.Elements {
		add(e.Label(), e.Parameters())
	}
	add(element.CollimatorName, s.spec.Beam.Parameters())
	for end, name := range element.CollimatorNames {
		add(name, s.spec.Beam.Pigtails.Ends[end].Parameters())
	}
	return all
}

// Parameter returns one adjustable number by its path.
func (s *Stack) Parameter(path string) (quantity.Quantity, error) {
	all := s.Parameters()
	i := slices.IndexFunc(all, func(p Parameter) bool { return p.Path == path })
	if i < 0 {
		return quantity.Quantity{}, s.unknown(path, all)
	}
	return all[i].Value, nil
}

func (s *Stack) unknown(path string, all []Parameter) error {
	label, _, _ := strings.Cut(path, ".")
	var paths, labels []string
	for _, p := range all {
		l, _, _ := strings.Cut(p.Path, ".")
		if l == label {
			paths = append(paths, p.Path)
		}
		if !slices.Contains(labels, l) {
			labels = append(labels, l)
		}
	}
	if len(paths) > 0 {
		return fmt.Errorf("the stack has no parameter %q: %s has %s", path, label, strings.Join(paths, ", "))
	}
	return fmt.Errorf("the stack has no parameter %q: its elements are %s", path, strings.Join(labels, ", "))
}

// Adjusted returns a copy with some numbers changed, aligned anew.
func (s *Stack) Adjusted(values map[string]quantity.Quantity) (*Stack, error) {
	spec, err := s.changed(values)
	if err != nil {
		return nil, err
	}
	c, err := New(spec)
	if err != nil {
		return nil, err
	}
	return c.like(s), nil
}

func (s *Stack) changed(values map[string]quantity.Quantity) (Spec, error) {
	spec := s.Spec()
	for _, path := range slices.Sorted(maps.Keys(values)) {
		label, name, _ := strings.Cut(path, ".")
		var err error
		if label == element.CollimatorName {
			spec.Beam, err = spec.Beam.With(name, values[path])
		} else if end := slices.Index(element.CollimatorNames[:], label); end >= 0 && spec.Beam.Pigtails.Known() {
			spec.Beam, err = spec.Beam.WithPigtail(end, name, values[path])
		} else {
			i := slices.IndexFunc(spec.Elements, func(e element.Element) bool { return e.Label() == label })
			if i < 0 {
				return Spec{}, s.unknown(path, s.Parameters())
			}
			spec.Elements[i], err = spec.Elements[i].With(name, values[path])
		}
		if err != nil {
			if all := s.Parameters(); !slices.ContainsFunc(all, func(p Parameter) bool { return p.Path == path }) {
				return Spec{}, s.unknown(path, all)
			}
			return Spec{}, err
		}
	}
	return spec, nil
}

// WithGhosts returns a copy that treats double bounces differently.
func (s *Stack) WithGhosts(g Ghosts) *Stack {
	c := *s
	c.ghosts = g
	return &c
}

// Ghosts returns how the stack treats double bounces.
func (s *Stack) Ghosts() Ghosts { return s.ghosts }

// WithLinewidth returns a copy whose response is that to a source of a Gaussian spectrum with the full width at half
// maximum of fwhm hertz, not negative: it averages the ripple of double bounces, and the interference of reflections in
// the return loss. Zero is a source that sees all of it.
func (s *Stack) WithLinewidth(fwhm float64) *Stack {
	c := *s
	c.width = fwhm
	return &c
}

// Linewidth returns the linewidth of the source in hertz; 0 for one that sees all interference.
func (s *Stack) Linewidth() float64 { return s.width }

// fwhm is the linewidth, in hertz, that the double bounces are added up for.
func (s *Stack) fwhm() float64 {
	if s.ghosts == GhostsIncoherent || s.ghosts == GhostsRipple {
		return math.Inf(1)
	}
	return s.width
}
