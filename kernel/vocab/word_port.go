package vocab

import (
	"errors"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/beam"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// Port is a port as a cell holds it: as it was asked for, or where a stack has it.
type Port struct {
	opaque
	port          stack.Port
	fibre         beam.Vec // beside the axis of a lens that it shares, m; zero where its place is stated or found
	sharesLens    bool
	statedFollows bool
}

var portKind = instance[*Port](`a port such as port("3", side="front", aligned_to="2")`)

func (p *Port) String() string { return "<port " + p.port.Name + ", " + p.side() + ">" }

// side is the end of the stack at which the port stands.
func (p *Port) side() string {
	if p.port.Launches == stack.Backward {
		return "back"
	}
	return "front"
}

// Attr returns a field or a method.
func (p *Port) Attr(name string) (starlark.Value, error) { return portType.attr(p, name) }

// AttrNames lists them.
func (p *Port) AttrNames() []string { return portType.names(p) }

var portType = newType("port", methodSet[*Port]{},
	textAttr("name", "name of the port", func(p *Port) string { return p.port.Name }),
	textAttr("side", "front, beside the launching collimator, or back, beside the receiving one", (*Port).side),
	textAttr("aligned_to", "the port whose light it is aligned to; empty for a stated place",
		func(p *Port) string { return p.port.Follows }),
	quantityAttr("x", "centre of the lens, from the device axis, mm", millimetres(func(p *Port) float64 {
		return p.port.Pose.Offset.X
	})),
	quantityAttr("y", "centre of the lens, from the device axis, mm", millimetres(func(p *Port) float64 {
		return p.port.Pose.Offset.Y
	})),
	quantityAttr("tilt_x", "slope of its axis against the device axis along x, "+
		"mrad", milliradians(func(p *Port) float64 {
		return p.port.Pose.Tilt.X
	})),
	quantityAttr("tilt_y", "slope of its axis against the device axis along y, "+
		"mrad", milliradians(func(p *Port) float64 {
		return p.port.Pose.Tilt.Y
	})),
)

func millimetres(get func(*Port) float64) func(*Port) quantity.Quantity {
	return func(p *Port) quantity.Quantity { return quantity.FromSI(get(p), quantity.MustNamed("mm")) }
}

func milliradians(get func(*Port) float64) func(*Port) quantity.Quantity {
	return func(p *Port) quantity.Quantity { return quantity.FromSI(get(p), quantity.MustNamed("mrad")) }
}

func (p *Port) blocks() []document.Block { return []document.Block{portType.card("Port", p)} }

var _ = Register(Word{
	Name:    "port",
	Summary: "one more collimator at either end of a stack, for ports= of stack()",
	Params: []Param{
		{Name: "name", Kind: textKind,
			Doc: "name of the port; \"1\" and \"2\" are the launching and the receiving collimator of the pair"},
		{Name: "side", Kind: choice("front", "back"), Mode: Keyword,
			Doc: "front: beside the launching collimator; back: beside the receiving one"},
		{Name: "aligned_to", Kind: textKind.of("text", `"2"`), Mode: Keyword, Optional: true,
			Doc: "a port at the other end, given before this one: this one is placed where it receives most of that " +
				"port's light, at align_at= and align_temperature= of the stack, and where no other port is"},
		{Name: "x", Kind: lengthKind, Mode: Keyword, Optional: true,
			Doc: "stated place: centre of the lens from the device axis"},
		{Name: "y", Kind: lengthKind, Mode: Keyword, Optional: true, Doc: "likewise"},
		{Name: "tilt_x", Kind: angleKind.of("angle", "1*mrad"), Mode: Keyword, Optional: true,
			Doc: "stated pointing: slope of the port's axis, in the direction of +z at either end"},
		{Name: "tilt_y", Kind: angleKind.of("angle", "1*mrad"), Mode: Keyword, Optional: true, Doc: "likewise"},
		{Name: "fibre_x", Kind: lengthKind.of("length", "62.5*um"), Mode: Keyword, Optional: true,
			Doc: "of a dual-fibre collimator: offset of the fibre from the axis of the lens, which is the device " +
				"axis; " +
				"needs focal_length= of the collimator"},
		{Name: "fibre_y", Kind: lengthKind.of("length", "62.5*um"), Mode: Keyword, Optional: true, Doc: "likewise"},
	},
	Returns: "a port for ports= of stack()",
	Errors:  "more than one of alignment, place and fibre offset is given",
	Detail: "All ports have the fibre and the lens of the stack's collimators. A port with the name \"1\" or \"2\" " +
		"says " +
		"where that collimator of the pair stands. Two fibres at one lens, in a dual-fibre collimator, send their " +
		"beams " +
		"across each other at a focal length from the lens.",
	Example: `port("3", side="front", aligned_to="2")
port("4", side="back", x=1.6*mm, y=0.8*mm)
port("1", side="front", fibre_x=62.5*um)`,
	Source: "a thin lens turns an offset h of the fibre into the angle atan(h/f)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		p := &Port{opaque: opaque{"port"}, port: stack.Port{Name: a.Text("name"), Launches: stack.Forward,
			Follows: a.Text("aligned_to")}}
		if a.Text("side") == "back" {
			p.port.Launches = stack.Backward
		}
		placed := a.Has("x") || a.Has("y") || a.Has("tilt_x") || a.Has("tilt_y")
		p.sharesLens, p.statedFollows = a.Has("fibre_x") || a.Has("fibre_y"), a.Has("aligned_to")
		if placed && p.sharesLens || placed && p.statedFollows || p.sharesLens && p.statedFollows {
			return nil, errors.New("give aligned_to=, or a place by x=, y=, tilt_x= and tilt_y=, or an offset of the " +
				"fibre by fibre_x= and fibre_y=")
		}
		p.port.Pose = stack.Pose{Offset: beam.Vec{X: a.SI("x"), Y: a.SI("y")},
			Tilt: beam.Vec{X: math.Sin(a.SI("tilt_x")), Y: math.Sin(a.SI("tilt_y"))}}
		p.fibre = beam.Vec{X: a.SI("fibre_x"), Y: a.SI("fibre_y")}
		return p, nil
	},
})

// portsOf returns the ports of a call of stack() for its collimators.
func portsOf(a Args, focal quantity.Length) ([]stack.Port, error) {
	items, _ := elements(a.Get("ports"))
	var all []stack.Port
	for _, item := range items {
		p := item.(*Port)
		q := p.port
		if p.sharesLens {
			if !(focal > 0) {
				return nil, errors.New("port " + q.Name + ": fibre_x= and fibre_y= need a collimator with fibre= and " +
					"focal_length=")
			}
			q.Pose = stack.Beside(p.fibre, focal)
		}
		all = append(all, q)
	}
	return all, nil
}
