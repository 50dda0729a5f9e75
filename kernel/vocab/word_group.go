package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/reports/document"
)

// Group is elements that stand together, as a cell holds them: a stage of a stack.
type Group struct {
	opaque
	parts []element.Element
}

func (g *Group) String() string { return "<group of " + count(len(g.parts), "element") + ">" }

// Len, Index and Iterate give the elements one by one.
func (g *Group) Len() int { return len(g.parts) }
func (g *Group) Index(i int) starlark.Value {
	return &Element{opaque{g.parts[i].Kind()}, g.parts[i]}
}
func (g *Group) Iterate() starlark.Iterator { return &iterator{g, 0} }

// Attr returns a field or a method.
func (g *Group) Attr(name string) (starlark.Value, error) { return groupType.attr(g, name) }

// AttrNames lists them.
func (g *Group) AttrNames() []string { return groupType.names(g) }

var groupType = newType("group", groupMethods).of("wedge")

func (g *Group) blocks() []document.Block {
	return []document.Block{elementTable("Group, in the order in which forward light passes it", g.parts)}
}

var groupMethods = newMethods("group",
	method[*Group]{Word{
		Name:    "turned",
		Summary: "a copy of the group, turned as a whole about the device axis",
		Params: []Param{{Name: "angle", Kind: angleKind.of("angle", "-45*deg"),
			Doc: "angle of the turn, from +x towards +y"}},
		Returns: "a group",
		Example: "core = group(plate(crystal(\"YVO4\"), thickness=0.5*mm, axis=45*deg), " +
			"gap(0.1*mm))\ncore.turned(-45*deg)",
	}, func(g *Group, _ *starlark.Thread, a Args) (starlark.Value, error) {
		t := &Group{opaque: g.opaque}
		for _, e := range g.parts {
			t.parts = append(t.parts, e.Rolled(a.Angle("angle")))
		}
		return t, nil
	}},
)

// onePart is an element or a group of them, and partKind that or a list of them.
var (
	onePart = Kind{elementKind.Want, "", func(v starlark.Value) (bool, string) {
		if ok, _ := is[*Group](v); ok {
			return true, ""
		}
		return is[*Element](v)
	}}
	partKind = Kind{onePart.Want, "", func(v starlark.Value) (bool, string) {
		switch v.(type) {
		case *starlark.List, starlark.Tuple:
			return listOf(onePart, onePart.Want).accept(v)
		}
		return onePart.accept(v)
	}}
)

// mostParts is far above what stands in a device (a choice).
const mostParts = 10_000

// partsOf lists the elements of arguments of partKind, groups and lists opened.
func partsOf(things starlark.Tuple) ([]element.Element, error) {
	var parts []element.Element
	var open func([]starlark.Value) error
	open = func(list []starlark.Value) error {
		for _, v := range list {
			if len(parts) > mostParts {
				return fmt.Errorf("more elements than the limit of %d", mostParts)
			}
			switch v := v.(type) {
			case *Element:
				parts = append(parts, v.part)
			case *Group:
				parts = append(parts, v.parts...)
			default:
				items, _ := elements(v)
				if err := open(items); err != nil {
					return err
				}
			}
		}
		return nil
	}
	if err := open(things); err != nil {
		return nil, err
	}
	if len(parts) == 0 {
		return nil, errors.New("no elements; expected elements such as wedge(...), rotator(...) and gap(1*mm)")
	}
	return parts, nil
}

var _ = Register(Word{
	Name:    "group",
	Summary: "group of elements, such as a stage that occurs twice in a stack",
	Params: []Param{{Name: "elements", Kind: partKind, Mode: Many,
		Doc: "elements and groups, or lists of them, in the order in which forward light passes them"}},
	Returns: "a group for stack(), with .turned(angle)",
	Example: "group(plate(crystal(\"YVO4\"), thickness=0.5*mm, axis=45*deg), gap(0.1*mm))",
	Detail:  "Do not name the elements of a group that occurs more than once: names in a stack must be unique.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		parts, err := partsOf(a.Many())
		if err != nil {
			return nil, err
		}
		return &Group{opaque{"group"}, parts}, nil
	},
})
