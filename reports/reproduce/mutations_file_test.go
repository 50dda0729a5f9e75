package reproduce

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// fileMutations change what holds the objects together.
func fileMutations() []mutation {
	var all []mutation
	add := func(name string, change func(t *testing.T, x *apart) []byte) {
		all = append(all, mutation{name, change})
	}
	for _, s := range []string{"\n", " ", "%", "junk", "\x00", "%%EOF\n", "startxref\n0\n%%EOF\n"} {
		add(fmt.Sprintf("%q after the end", s), func(_ *testing.T, x *apart) []byte { return append(x.bytes(), s...) })
		add(fmt.Sprintf("%q before the beginning", s), func(_ *testing.T, x *apart) []byte {
			return append([]byte(s), x.bytes()...)
		})
	}
	for _, to := range []string{"%PDF-1.4\n%\xE2\xE3\xCF\xD3\n", "%PDF-2.0\n%\xE2\xE3\xCF\xD3\n", "%PDF-1.7\n%abcd\n",
		"%PDF-1.7\n", "%PDF-1.7\r%\xE2\xE3\xCF\xD3\n", "%PDF-1.7\n%\xE2\xE3\xCF\xD3\n%x\n",
		"%PDF-1.7\n%\xE2\xE3\xCF\xD4\n"} {
		add(fmt.Sprintf("the header %q", to), func(_ *testing.T, x *apart) []byte {
			x.header = []byte(to)
			return x.bytes()
		})
	}
	for _, c := range endings {
		add(c[0], func(_ *testing.T, x *apart) []byte {
			b := x.bytes()
			at := bytes.LastIndex(b, []byte(c[1]))
			if at < 0 {
				return nil
			}
			return bytes.Join([][]byte{b[:at], []byte(c[2]), b[at+len(c[1]):]}, nil)
		})
	}
	return slices.Concat(all, tables(), betweenMutations(), updates())
}

// endings are changes of the table and the trailer: what stands there, and what is put in its place.
var endings = [][3]string{
	{"no end of line at the end", "%%EOF\n", "%%EOF"},
	{"no end", "%%EOF\n", ""},
	{"another line end", "%%EOF\n", "%%EOF\r\n"},
	{"startxref in more digits", "startxref\n", "startxref\n0"},
	{"a comment in the trailer", "/Info ", "%x\n/Info "},
	{"Size again", "/Info ", "/Size 5 /Info "},
	{"Root again", "/Info ", "/Root 1 0 R /Info "},
	{"Prev", "/Info ", "/Prev 9 /Info "},
	{"XRefStm", "/Info ", "/XRefStm 9 /Info "},
	{"Encrypt", "/Info ", "/Encrypt 1 0 R /Info "},
	{"another key of the trailer", "/Info ", "/Zz 9 /Info "},
	{"no Info", "/Info ", "/Inf "},
	{"no ID", "/ID [", "/Id ["},
	{"an ID of one string", "/ID [<", "/ID [("},
	{"another second ID", "> <", "> <0"},
	{"another first ID", "/ID [<", "/ID [<0"},
	{"a trailer on one line", "trailer\n", "trailer "},
	{"a free object", " 00000 n \n", " 00000 f \n"},
	{"another generation", " 00000 n \n", " 00001 n \n"},
	{"an entry of 19 bytes", " 00000 n \n", " 00000 n\n"},
	{"an entry that ends otherwise", " 00000 n \n", " 00000 n\r\n"},
	{"the head of the free list", "0000000000 65535 f \n", "0000000000 65535 n \n"},
	{"another head of the free list", "0000000000 65535 f \n", "0000000001 65535 f \n"},
	{"a comment before the table", "xref\n0 ", "%x\nxref\n0 "},
	{"a comment in the table", "xref\n0 ", "xref%x\n0 "},
	{"white space in the table", "xref\n0 ", "xref \n0 "},
}

// tables give other places than those where the objects stand, or say it otherwise.
func tables() []mutation {
	var all []mutation
	add := func(name string, change func(t *testing.T, x *apart) []byte) {
		all = append(all, mutation{name, change})
	}
	add("a table in two sections", func(_ *testing.T, x *apart) []byte {
		b := x.bytes()
		at := bytes.LastIndex(b, []byte("\nxref\n0 ")) + 6
		end := at + bytes.Index(b[at:], []byte("0000000000"))
		free := "0 1\n0000000000 65535 f \n" + fmt.Sprintf("1 %d\n", x.size-1)
		return bytes.Join([][]byte{b[:at], []byte(free), b[end+20:]}, nil)
	})
	for _, by := range []int{-1, 1} {
		add(fmt.Sprintf("a place %d off", by), func(_ *testing.T, x *apart) []byte {
			b, offsets := x.body(piece.written)
			offsets[3] += by
			return x.closed(b, offsets)
		})
		add(fmt.Sprintf("a size %d off", by), func(_ *testing.T, x *apart) []byte {
			x.size += by
			return x.bytes()
		})
	}
	add("two objects in each other's place", func(_ *testing.T, x *apart) []byte {
		b, offsets := x.body(piece.written)
		offsets[3], offsets[5] = offsets[5], offsets[3]
		return x.closed(b, offsets)
	})
	add("two objects in another order", func(_ *testing.T, x *apart) []byte {
		x.objects[3], x.objects[4] = x.objects[4], x.objects[3]
		return x.bytes()
	})
	return all
}

// betweenMutations put things between objects, and objects that are not as the others.
func betweenMutations() []mutation {
	var all []mutation
	written := func(name string, change func(p piece) []byte) {
		all = append(all, mutation{name, func(_ *testing.T, x *apart) []byte {
			return x.closed(x.body(func(p piece) []byte {
				if p.number == 4 {
					return change(p)
				}
				return p.written()
			}))
		}})
	}
	for _, s := range []string{" ", "\n", "%x\n", "\x00", "4 0 obj\nnull\nendobj\n", "999 0 obj\n(hidden)\nendobj\n",
		"endobj\n", "xref\n0 0\ntrailer\n<<>>\n", "startxref\n0\n%%EOF\n"} {
		written(fmt.Sprintf("%q after an object", s), func(p piece) []byte { return append(p.written(), s...) })
	}
	for _, c := range [][2]string{{"4 0 obj\n", "4 1 obj\n"}, {"4 0 obj", "4 0 obj "}, {"4 0", "04 0"},
		{"4 0 obj", "4  0 obj"}, {"obj\n<<", "obj<<"}, {"\nendobj", "endobj"}, {"endobj\n", "endobj "},
		{"4 0 obj\n<<", "4 0 obj\n%x\n<<"}} {
		from, to := c[0], c[1]
		written(fmt.Sprintf("%q for %q", to, from), func(p piece) []byte {
			return bytes.Replace(p.written(), []byte(from), []byte(to), 1)
		})
	}
	for name, head := range map[string]string{
		"a hidden object": "(hidden)", "a hidden stream of objects": "<</Type /ObjStm /N 1 /First 4>>",
		"a hidden page": "<</Type /Page /Parent 1 0 R>>", "a bare word": "hidden", "an open list": "[1 2",
	} {
		all = append(all, mutation{name, func(_ *testing.T, x *apart) []byte {
			x.objects = append(x.objects, piece{number: x.size, head: []byte(head)})
			x.size++
			return x.bytes()
		}})
	}
	all = append(all, mutation{"a number twice", func(_ *testing.T, x *apart) []byte {
		x.objects = append(x.objects, piece{number: 4, head: []byte("<<>>"), stream: []byte("0 0 999 999 re f")})
		return x.bytes()
	}}, mutation{"an object gone", func(_ *testing.T, x *apart) []byte {
		x.objects = x.objects[:len(x.objects)-1]
		return x.bytes()
	}}, mutation{"an object of a number that is too high", func(_ *testing.T, x *apart) []byte {
		x.objects = append(x.objects, piece{number: x.size + 7, head: []byte("(hidden)")})
		return x.bytes()
	}})
	return all
}

var startOf = regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n\z`)

// updates append to the file, as programs that stamp it do, and as no program does.
func updates() []mutation {
	var all []mutation
	update := func(name, object, trailer string, number int) {
		all = append(all, mutation{name, func(_ *testing.T, x *apart) []byte {
			b := bytes.Clone(x.old)
			start, _ := strconv.Atoi(string(startOf.FindSubmatch(b)[1]))
			at := len(b)
			b = fmt.Appendf(b, "%d 0 obj\n%s\nendobj\n", number, object)
			table := len(b)
			b = fmt.Appendf(b, "xref\n%d 1\n%010d 00000 n \n", number, at)
			keys := strings.NewReplacer("PREV", strconv.Itoa(start), "HERE", strconv.Itoa(at)).Replace(trailer)
			return fmt.Appendf(b, "trailer\n<</Size %d %s %s>>\nstartxref\n%d\n%%%%EOF\n", max(x.size, number+1),
				x.trailer, keys, table)
		}})
	}
	stamp := "<</Length 33>>\nstream\n1 1 1 rg 0 0 600 800 re f 0 0 0 rg\nendstream"
	update("a page stamped over", stamp, "/Prev PREV", 4)
	update("an object added", "(hidden)", "/Prev PREV", 9999)
	update("a catalogue of its own", "<</Type /Catalog /Pages 1 0 R>>", "/Prev PREV", 9998)
	update("a table that hides the former one", stamp, "", 4)
	update("a stream of references", "<</Type /XRef /W [1 2 1] /Size 1 /Length 0>>\nstream\n\nendstream",
		"/Prev PREV /XRefStm HERE", 9997)
	// Viewers that follow the trailer before the last one find objects there that the tables have not.
	all = append(all, mutation{"an earlier trailer names a stream of references", func(_ *testing.T, x *apart) []byte {
		first := bytes.Replace(x.bytes(), []byte(" /ID ["), []byte(" /XRefStm 20 /ID ["), 1)
		start, _ := strconv.Atoi(string(startOf.FindSubmatch(first)[1]))
		table := len(first)
		return fmt.Appendf(first, "xref\n0 0\ntrailer\n<</Size %d %s /Prev %d>>\nstartxref\n%d\n%%%%EOF\n", x.size,
			x.trailer, start, table)
	}})
	return all
}
