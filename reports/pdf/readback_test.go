package pdf

import (
	"bytes"
	"io"
	"strings"
	"testing"
	"unicode"
	"unicode/utf16"

	reader "rsc.io/pdf"
)

// open reads a finished file with a library that shares nothing with the one that wrote it.
func open(t testing.TB, file []byte) *reader.Reader {
	t.Helper()
	r, err := reader.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatalf("reading the file back: %v", err)
	}
	return r
}

// shown is a string where the page shows it, its start measured from the page's upper left corner.
type shown struct {
	text string
	x, y float64
}

// pageStrings interprets the operators of a page and returns the strings it shows. The embedded faces are
// written with the characters' own numbers in two bytes each.
func pageStrings(r *reader.Reader, n int) []shown {
	var out []shown
	var stack [][6]float64
	m := [6]float64{1, 0, 0, 1, 0, 0}
	var x, y float64
	reader.Interpret(r.Page(n).V.Key("Contents"), func(stk *reader.Stack, op string) {
		var args []reader.Value
		for stk.Len() > 0 {
			args = append([]reader.Value{stk.Pop()}, args...)
		}
		switch op {
		case "q":
			stack = append(stack, m)
		case "Q":
			m, stack = stack[len(stack)-1], stack[:len(stack)-1]
		case "cm":
			m = [6]float64{args[0].Float64(), args[1].Float64(), args[2].Float64(), args[3].Float64(),
				args[4].Float64(), args[5].Float64()}
		case "BT":
			x, y = 0, 0
		case "Td":
			x, y = args[0].Float64(), args[1].Float64()
		case "Tj":
			raw := args[0].RawString()
			units := make([]uint16, len(raw)/2)
			for i := range units {
				units[i] = uint16(raw[2*i])<<8 | uint16(raw[2*i+1])
			}
			out = append(out, shown{string(utf16.Decode(units)), m[0]*x + m[2]*y + m[4],
				a4.height - (m[1]*x + m[3]*y + m[5])})
		}
	})
	return out
}

// pageText is the text of a page without white space, which line breaks put anywhere.
func pageText(r *reader.Reader, n int) string {
	var b strings.Builder
	for _, s := range pageStrings(r, n) {
		b.WriteString(s.text)
	}
	return squash(b.String())
}

func allText(r *reader.Reader) string {
	var b strings.Builder
	for n := 1; n <= r.NumPage(); n++ {
		b.WriteString(pageText(r, n))
	}
	return b.String()
}

func squash(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return r
	}, s)
}

// target is a bookmark with the page that it opens, found by the page object and not by its number.
type target struct {
	title string
	depth int
	page  int
}

func targets(t testing.TB, r *reader.Reader) []target {
	t.Helper()
	pages := map[string]int{}
	for n := 1; n <= r.NumPage(); n++ {
		pages[identity(r.Page(n).V)] = n
	}
	var out []target
	var walk func(v reader.Value, depth int)
	walk = func(v reader.Value, depth int) {
		for c := v.Key("First"); !c.IsNull(); c = c.Key("Next") {
			n, ok := pages[identity(c.Key("Dest").Index(0))]
			if !ok {
				t.Errorf("bookmark %q leads to %v, which is no page", c.Key("Title").Text(), c.Key("Dest").Index(0))
			}
			out = append(out, target{c.Key("Title").Text(), depth, n})
			walk(c, depth+1)
		}
	}
	walk(r.Trailer().Key("Root").Key("Outlines"), 0)
	return out
}

// identity tells pages apart by their content streams, since the library hides object numbers.
func identity(page reader.Value) string {
	c := page.Key("Contents")
	if c.IsNull() {
		return ""
	}
	b, err := io.ReadAll(c.Reader())
	if err != nil {
		return ""
	}
	return string(b)
}

// attached returns the embedded files in the order of the name tree.
func attached(t testing.TB, r *reader.Reader) (names []string, data map[string][]byte, relations map[string]string) {
	t.Helper()
	data, relations = map[string][]byte{}, map[string]string{}
	tree := r.Trailer().Key("Root").Key("Names").Key("EmbeddedFiles").Key("Names")
	for i := 0; i+1 < tree.Len(); i += 2 {
		spec := tree.Index(i + 1)
		name := spec.Key("UF").Text()
		if key := tree.Index(i).Text(); key != name {
			t.Errorf("the name tree says %q for the file %q", key, name)
		}
		b, err := io.ReadAll(spec.Key("EF").Key("F").Reader())
		if err != nil {
			t.Fatalf("attachment %q: %v", name, err)
		}
		names = append(names, name)
		data[name], relations[name] = b, spec.Key("AFRelationship").Name()
	}
	return names, data, relations
}
