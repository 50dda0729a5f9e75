package vocab

import (
	"cmp"
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/optics/beam"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// Path is one path of a response as a cell holds it.
type Path struct {
	opaque
	path stack.Path
}

func (p *Path) String() string {
	return fmt.Sprintf("<path %s: %s>", p.path.Label, sensible(quantity.Of(p.path.Power, "dB")))
}

// Attr returns a field or a method.
func (p *Path) Attr(name string) (starlark.Value, error) { return pathType.attr(p, name) }

// AttrNames lists them.
func (p *Path) AttrNames() []string { return pathType.names(p) }

var pathType = newType("path", methodSet[*Path]{},
	textAttr("label", "ray type in each crystal, o or e, in the order of the elements",
		func(p *Path) string { return p.path.Label }),
	levelAttr("power", "loss coupled into the receiver, dB; includes .sent",
		func(p *Path) float64 { return p.path.Power }).captioned("collected"),
	levelAttr("sent", "loss to the receiver plane, dB", func(p *Path) float64 { return p.path.Sent }),
	pairAttr("offset", "x and y of its chief ray from the axis of the receiver, µm", "um",
		func(p *Path) beam.Vec { return p.path.Offset }),
	pairAttr("tilt", "x and y of its direction from the axis of the receiver, mrad", "mrad",
		func(p *Path) beam.Vec { return p.path.Tilt }),
	quantityAttr("delay", "arrival time after the first path, ps",
		func(p *Path) quantity.Quantity { return quantity.FromSI(p.path.Delay, picosecond) }),
)

// pairAttr is a transverse vector as x and y.
func pairAttr(name, summary, unit string, get func(*Path) beam.Vec) attr[*Path] {
	return tupleAttr(name, summary, func(p *Path) []starlark.Value { return pair(get(p), unit) }).
		captioned(name + " x, y").
		printedAs(func(p *Path) string {
			t := pair(get(p), unit)
			return t[0].(Quantity).Text(3) + ", " + t[1].(Quantity).Text(3)
		})
}

func (p *Path) blocks() []document.Block {
	return []document.Block{pathType.card("Path", p)}
}

// pathsTable sets the paths of one response side by side; ok is false for values that are not all paths.
func pathsTable(items []starlark.Value) (t document.Table, ok bool) {
	right := func(what, unit string) document.Column { return head(what, quantity.MustNamed(unit)) }
	t = document.Table{
		Caption: "Paths",
		Columns: []document.Column{{Head: "path"}, right("sent", "dB"), right("collected", "dB"), right("offset x",
			"um"), right("offset y", "um"),
			right("tilt x", "mrad"), right("tilt y", "mrad"), right("delay", "ps")},
		Note: "Sent: loss to the receiver plane. Collected: loss coupled into the receiver. Offset and tilt: chief " +
			"ray from the axis of the receiver. Delay: after the first path to arrive.",
	}
	var shown []*Path
	for _, v := range items {
		p, isPath := v.(*Path)
		if !isPath {
			return t, false
		}
		shown = append(shown, p)
	}
	shown, t.Note = strongest(shown, t.Note)
	slices.SortStableFunc(shown, func(a, b *Path) int { // what did not bounce comes first, the rest by what it brings
		switch {
		case a.path.Ghost && b.path.Ghost:
			return cmp.Compare(a.path.Power, b.path.Power)
		case a.path.Ghost:
			return 1
		case b.path.Ghost:
			return -1
		}
		return 0
	})
	for _, p := range shown {
		in := func(si float64, unit string, digits int) string {
			return quantity.Quantity{Value: quantity.FromSI(si, quantity.MustNamed(unit)).Value}.Text(digits)
		}
		x := &p.path
		t.Rows = append(t.Rows, []string{x.Label, in(x.Sent, "dB", 2), in(x.Power, "dB", 2), in(x.Offset.X, "um",
			1), in(x.Offset.Y, "um", 1),
			in(x.Tilt.X, "mrad", 3), in(x.Tilt.Y, "mrad", 3), in(x.Delay, "ps", 4)})
	}
	return t, len(items) > 0
}

// ghostRows is how many double bounces a table of paths shows; .paths holds them all.
const ghostRows = 24

// strongest leaves out all but the strongest double bounces, and says so in the note.
func strongest(paths []*Path, note string) ([]*Path, string) {
	var ghosts []float64
	for _, p := range paths {
		if p.path.Ghost {
			ghosts = append(ghosts, p.path.Power)
		}
	}
	if len(ghosts) <= ghostRows {
		return paths, note
	}
	slices.Sort(ghosts)
	least := ghosts[ghostRows-1]
	shown := slices.DeleteFunc(slices.Clone(paths), func(p *Path) bool { return p.path.Ghost && p.path.Power > least })
	return shown, fmt.Sprintf("%s Of %d double reflections, only those with a loss of at most %.1f dB are listed.",
		note, len(ghosts), least)
}

// pair is a transverse vector as x and y in a unit.
func pair(v beam.Vec, unit string) starlark.Tuple {
	u := quantity.MustNamed(unit)
	return starlark.Tuple{Quantity{quantity.FromSI(v.X, u)}, Quantity{quantity.FromSI(v.Y, u)}}
}
