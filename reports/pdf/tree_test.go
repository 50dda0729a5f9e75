package pdf

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	reader "rsc.io/pdf"
)

// node is an element as the file holds it, read with a library that shares nothing with the one that wrote it.
type node struct {
	kind, alt, actual string
	v                 reader.Value
	parts             []held
}

// held is a part of an element: another one, text of a piece, or an annotation.
type held struct {
	node       *node
	text       string
	annotation reader.Value
}

// tree is the structure of a file.
type tree struct {
	root  *node
	loose []string // strings shown outside all elements, but for those at the edges of the pages
	edges []string
	used  map[string]int // pieces, as page and number, and how often elements hold them
}

// readTree reads the tree of a file, and the text of its pieces from the contents of the pages.
func readTree(t testing.TB, file []byte) tree {
	t.Helper()
	r := open(t, file)
	out := tree{used: map[string]int{}}
	pieces := map[string]string{}
	numbers := map[string]int{}
	for n := 1; n <= r.NumPage(); n++ {
		numbers[identity(r.Page(n).V)] = n
		out.pieces(t, r, n, pieces)
	}
	root := r.Trailer().Key("Root").Key("StructTreeRoot")
	out.root = out.read(t, root.Key("K"), numbers, pieces)
	for piece := range pieces {
		if out.used[piece] != 1 {
			t.Errorf("piece %s belongs to %d elements, want 1", piece, out.used[piece])
		}
	}
	return out
}

// pieces collects what the pieces of a page show, and checks that they neither nest nor cross what is around them.
func (o *tree) pieces(t testing.TB, r *reader.Reader, page int, into map[string]string) {
	inside, edge, id, depth, began, text := false, false, -1, 0, 0, false
	reader.Interpret(r.Page(page).V.Key("Contents"), func(stk *reader.Stack, op string) {
		var args []reader.Value
		for stk.Len() > 0 {
			args = append([]reader.Value{stk.Pop()}, args...)
		}
		switch op {
		case "BDC", "BMC":
			if inside || text {
				t.Errorf("page %d: a piece begins within another, or within text", page)
			}
			inside, edge, id, began = true, false, -1, depth
			if op == "BDC" && args[0].Name() != "Artifact" {
				id = int(args[1].Key("MCID").Int64())
				into[fmt.Sprintf("%d/%d", page, id)] = ""
			} else if op == "BDC" {
				edge = args[1].Key("Type").Name() == "Pagination"
			}
		case "EMC":
			if !inside || text || depth != began {
				t.Errorf("page %d: a piece ends where none is open, or crosses a state", page)
			}
			inside = false
		case "q":
			depth++
		case "Q":
			depth--
		case "BT":
			text = true
		case "ET":
			text = false
		case "S", "f", "F", "B", "Do", "f*", "s", "b":
			if !inside {
				t.Errorf("page %d: %s draws outside all pieces", page, op)
			}
		case "Tj":
			raw := args[0].RawString()
			units := make([]uint16, len(raw)/2)
			for i := range units {
				units[i] = uint16(raw[2*i])<<8 | uint16(raw[2*i+1])
			}
			s := string(utf16.Decode(units))
			switch {
			case !inside:
				t.Errorf("page %d: %q stands outside all pieces", page, s)
			case id >= 0:
				into[fmt.Sprintf("%d/%d", page, id)] += s
			case edge:
				o.edges = append(o.edges, s)
			default:
				o.loose = append(o.loose, s)
			}
		}
	})
	if inside || depth != 0 {
		t.Errorf("page %d: a piece or a state is open at the end", page)
	}
}

func (o *tree) read(t testing.TB, v reader.Value, pages map[string]int, pieces map[string]string) *node {
	n := &node{kind: v.Key("S").Name(), alt: v.Key("Alt").Text(), actual: v.Key("ActualText").Text(), v: v}
	own := v.Key("Pg")
	piece := func(page reader.Value, id int64) {
		key := fmt.Sprintf("%d/%d", pages[identity(page)], id)
		if _, ok := pieces[key]; !ok {
			t.Errorf("%s holds piece %s, which no page shows", n.kind, key)
		}
		o.used[key]++
		n.parts = append(n.parts, held{text: pieces[key]})
	}
	kids := v.Key("K")
	for i := range kids.Len() {
		k := kids.Index(i)
		switch {
		case k.Kind() == reader.Integer:
			piece(own, k.Int64())
		case k.Key("Type").Name() == "MCR":
			piece(k.Key("Pg"), k.Key("MCID").Int64())
		case k.Key("Type").Name() == "OBJR":
			n.parts = append(n.parts, held{annotation: k.Key("Obj")})
		default:
			n.parts = append(n.parts, held{node: o.read(t, k, pages, pieces)})
		}
	}
	return n
}

// text is what is read of an element: what stands in its place, or the text of its pieces and parts.
func (n *node) text() string {
	switch {
	case n.actual != "":
		return n.actual
	case n.alt != "":
		return n.alt
	}
	var b strings.Builder
	for _, p := range n.parts {
		if p.node != nil {
			b.WriteString(p.node.text())
		} else {
			b.WriteString(p.text)
		}
	}
	return b.String()
}

// all returns the elements of a kind, in the order of reading.
func (n *node) all(kinds ...string) []*node {
	var out []*node
	if slices.Contains(kinds, n.kind) {
		out = append(out, n)
	}
	for _, p := range n.parts {
		if p.node != nil {
			out = append(out, p.node.all(kinds...)...)
		}
	}
	return out
}

// outline writes the kinds of elements below one another, and their text where they hold pieces.
func (n *node) outline(depth int) string {
	var b strings.Builder
	b.WriteString(strings.Repeat(" ", depth) + n.kind)
	inner := ""
	leaf := true
	for _, p := range n.parts {
		if p.node != nil {
			leaf = false
			inner += p.node.outline(depth + 1)
		}
	}
	if leaf || n.actual != "" || n.alt != "" {
		b.WriteString(" " + n.text())
	}
	return b.String() + "\n" + inner
}
