package vocab

import (
	"errors"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// Element is a part of a stack as a cell holds it.
type Element struct {
	opaque
	part element.Element
}

var elementKind = instance[*Element]("an element such as wedge(...), rotator(...) or gap(1*mm)")

// newElement checks a drawing and wraps it.
func newElement(e element.Element) (starlark.Value, error) {
	if err := e.Check(); err != nil {
		return nil, unnamed(e, err)
	}
	return &Element{opaque{e.Kind()}, e}, nil
}

// unnamed takes the part off the head of a message: the word's own name stands before it, and the part may not have
// one yet.
func unnamed(e element.Element, err error) error {
	return errors.New(strings.TrimPrefix(err.Error(), e.Kind()+" "+e.Label()+": "))
}

func (e *Element) String() string {
	if label := e.part.Label(); label != "" {
		return fmt.Sprintf("<%s %s>", e.kind, label)
	}
	return "<" + e.kind + ">"
}

// Attr returns a field or a method.
func (e *Element) Attr(name string) (starlark.Value, error) {
	return elementTypes[e.kind].attr(e, name)
}

// AttrNames lists them.
func (e *Element) AttrNames() []string { return elementTypes[e.kind].names(e) }

// inMagnets is what a sample in magnets is in.
var inMagnets = element.Surroundings{Magnets: make(magnet.Assembly, 1)}

// elementTypes are the tables of the kinds of part, which share their fields.
var elementTypes = map[string]*attrTable[*Element]{
	"wedge":     elementType(element.Wedge{}),
	"plate":     elementType(element.Plate{As: "plate"}),
	"displacer": elementType(element.Plate{As: "displacer"}),
	"retarder":  elementType(element.Retarder{}),
	"rotator": elementType(element.Rotator{Surroundings: inMagnets}, element.Rod{},
		element.Rod{Surroundings: inMagnets}).methodsOf(rotatorMethods),
	"polarizer": elementType(element.Polarizer{}, element.Polarizer{Slab: element.Slab{Thickness: 1}}),
	"gap":       elementType(element.Gap{Expansion: 1}),
	"mirror":    elementType(element.Mirror{}),
	"halves":    elementType(element.Halves{}),
}

// elementType is the table of the kind of some parts that among them have every parameter of the kind.
func elementType(samples ...element.Element) *attrTable[*Element] {
	t := newType(samples[0].Kind(), methodSet[*Element]{},
		textAttr("name", "name in parameter paths", func(e *Element) string { return e.part.Label() }),
		textAttr("kind", "wedge, plate, rotator, ...", func(e *Element) string { return e.kind }),
	)
	if _, ok := samples[0].(film); ok {
		t.fields = append(t.fields, valueAttr("thickness", "quantity",
			"distance between the two faces along the device axis, mm",
			func(e *Element) (starlark.Value, error) {
				d, err := e.part.(film).Thickness()
				return inMillimetres(d), err
			}).only(func(e *Element) bool { _, ok := e.part.(film); return ok }).work())
	}
	if samples[0].Kind() == "rotator" {
		t.fields = append(t.fields, valueAttr("field", "quantity",
			"flux density along +z at the centre, at 20 °C: of its magnets, or the uniform one of a rod",
			func(e *Element) (starlark.Value, error) {
				return Quantity{quantity.FromSI(element.FieldAt(e.part, magnet.Reference), millitesla)}, nil
			}).only((*Element).magnetized))
	}
	all := make([]*Element, len(samples))
	for i, e := range samples {
		all[i] = &Element{opaque{e.Kind()}, e}
	}
	return t.numbered((*Element).numbers, all...)
}

// numbers are the adjustable numbers of the element itself; those of two halves are parameters of a stack alone.
func (e *Element) numbers() []element.Parameter {
	if h, ok := e.part.(element.Halves); ok {
		h.First, h.Second = nil, nil
		return h.Parameters()
	}
	return e.part.Parameters()
}

// magnetized reports whether the element is a rotator in magnets.
func (e *Element) magnetized() bool { return len(element.MagnetsOf(e.part)) > 0 }

// film is a part whose thickness follows from what it does, and so is no parameter.
type film interface {
	Thickness() (quantity.Length, error)
}

func (e *Element) blocks() []document.Block {
	var rows []document.Field
	if label := e.part.Label(); label != "" {
		rows = append(rows, document.Field{Name: "name", Value: label})
	}
	if m := madeOf(e.part); m != "" {
		rows = append(rows, document.Field{Name: "made of", Value: m})
	}
	if w, ok := e.part.(element.Wedge); ok {
		rows = append(rows, document.Field{Name: "slanted", Value: string(w.Slanted)})
	}
	if f, ok := e.part.(film); ok {
		if d, err := f.Thickness(); err == nil {
			rows = append(rows, row("thickness", inMillimetres(d).Quantity))
		}
	}
	for _, p := range e.part.Parameters() {
		rows = append(rows, document.Field{Name: spaced(p.Path), Value: written(p.Value)})
	}
	at := quantity.Temperature(room.SI())
	if e.magnetized() {
		rows = append(rows, row("flux density at the centre, "+room.String(),
			quantity.FromSI(element.FieldAt(e.part, at), millitesla)))
		if m, err := e.part.(driven).Margin(at); err == nil {
			over := "saturation flux density"
			if _, rod := e.part.(element.Rod); rod {
				over = "that at the centre"
			}
			rows = append(rows, document.Field{Name: "minimum flux density over " + over,
				Value: fmt.Sprintf("%.3g", m.Ratio)})
		}
	}
	var said []string
	if c, ok := e.part.(element.Cautious); ok {
		said = c.Cautions(at)
	}
	return append([]document.Block{fields(document.Capital(e.kind), rows...)}, cautions(said)...)
}

var millitesla = quantity.MustNamed("mT")

// nameParam is how every element takes its name.
var nameParam = Param{Name: "name", Kind: labelKind, Mode: Keyword, Default: starlark.String(""),
	Doc: "name in parameter paths; default: the kind and a number, such as wedge1, wedge2, rotator1"}

// labelKind is a name that can stand in a parameter path.
var labelKind = Kind{`a name without spaces or dots such as "input"`, "", func(v starlark.Value) (bool, string) {
	s, ok := v.(starlark.String)
	for _, r := range string(s) {
		if r == '.' || r <= ' ' {
			return false, ""
		}
	}
	return ok, ""
}}

// apertureParam is how every element with faces takes its clear aperture.
var apertureParam = Param{Name: "aperture", Kind: lengthKind.positive(), Mode: Keyword, Optional: true,
	Doc: "radius of the clear aperture; default: does not clip the beam"}
