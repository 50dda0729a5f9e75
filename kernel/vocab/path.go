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

// Attr returns what is known of the path: power is the loss with which the receiver collects it, sent
// the loss with which it arrives.
func (p *Path) Attr(name string) (starlark.Value, error) {
	switch name {
	case "label":
		return starlark.String(p.path.Label), nil
	case "power":
		return Quantity{quantity.Of(p.path.Power, "dB")}, nil
	case "sent":
		return Quantity{quantity.Of(p.path.Sent, "dB")}, nil
	case "offset":
		return pair(p.path.Offset, "um"), nil
	case "tilt":
		return pair(p.path.Tilt, "mrad"), nil
	case "delay":
		return Quantity{quantity.FromSI(p.path.Delay, picosecond)}, nil
	}
	return nil, nil
}

// AttrNames lists the fields.
func (p *Path) AttrNames() []string {
	return []string{"delay", "label", "offset", "power", "sent", "tilt"}
}

func (p *Path) blocks() []document.Block {
	show := func(v beam.Vec, unit string) string {
		t := pair(v, unit)
		return t[0].(Quantity).Text(3) + ", " + t[1].(Quantity).Text(3)
	}
	return []document.Block{fields("Path "+p.path.Label,
		row("collected", quantity.Of(p.path.Power, "dB")),
		row("sent", quantity.Of(p.path.Sent, "dB")),
		document.Field{Name: "offset x, y", Value: show(p.path.Offset, "um")},
		document.Field{Name: "tilt x, y", Value: show(p.path.Tilt, "mrad")},
		row("delay", quantity.FromSI(p.path.Delay, picosecond)),
	)}
}

// pathsTable sets the paths of one response side by side; ok is false for values that are not all paths.
func pathsTable(items []starlark.Value) (t document.Table, ok bool) {
	right := func(what, unit string) document.Column { return head(what, quantity.MustNamed(unit)) }
	t = document.Table{
		Caption: "Paths",
		Columns: []document.Column{{Head: "path"}, right("sent", "dB"), right("collected", "dB"), right("offset x", "um"), right("offset y", "um"),
			right("tilt x", "mrad"), right("tilt y", "mrad"), right("delay", "ps")},
		Note: "Sent is the loss with which a path arrives at the receiver, collected that with which the receiver takes it up; offset and tilt are " +
			"those of its chief ray against the receiver's axis, the delay is from the first to arrive.",
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
		t.Rows = append(t.Rows, []string{x.Label, in(x.Sent, "dB", 2), in(x.Power, "dB", 2), in(x.Offset.X, "um", 1), in(x.Offset.Y, "um", 1),
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
	return shown, fmt.Sprintf("%s Of %d double bounces those are shown that lose no more than %.1f dB.", note, len(ghosts), least)
}

func (p *Path) json() any {
	m := map[string]any{}
	for _, name := range p.AttrNames() {
		if v, err := p.Attr(name); err == nil {
			m[name] = JSON(v)
		}
	}
	return m
}

// pair is a transverse vector as x and y in a unit.
func pair(v beam.Vec, unit string) starlark.Tuple {
	u := quantity.MustNamed(unit)
	return starlark.Tuple{Quantity{quantity.FromSI(v.X, u)}, Quantity{quantity.FromSI(v.Y, u)}}
}
