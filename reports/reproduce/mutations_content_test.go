package reproduce

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"image/color"
	"image/png"
	"regexp"
	"strings"
	"testing"

	"wedgework/reports/publish"
	"wedgework/reports/record"
)

// drawingMutations change what draws the pages.
func drawingMutations() []mutation {
	var all []mutation
	change := func(name, from string, to func(found []byte) []byte) {
		pattern := regexp.MustCompile(from)
		all = append(all, mutation{"drawing: " + name, func(t *testing.T, x *apart) []byte {
			for i, p := range x.objects {
				if p.stream == nil || !bytes.Contains(p.head, []byte("/FlateDecode")) {
					continue
				}
				plain := inflated(t, p.stream)
				at := pattern.FindIndex(plain)
				if at == nil || !bytes.Contains(plain, []byte("BT ")) {
					continue
				}
				changed := to(bytes.Clone(plain[at[0]:at[1]]))
				x.objects[i].stream = deflated(bytes.Join([][]byte{plain[:at[0]], changed, plain[at[1]:]}, nil))
				return x.bytes()
			}
			return nil
		}})
	}
	add := func(name, from, to string) {
		change(name, from, func(b []byte) []byte { return regexp.MustCompile(from).ReplaceAll(b, []byte(to)) })
	}
	for _, by := range []float64{0.03, -0.03} { // Tolerance is 0.02
		change(fmt.Sprintf("a point moved by %g", by), line, func(b []byte) []byte {
			var x, y float64
			fmt.Sscanf(string(b), "%f %f l", &x, &y)
			return fmt.Appendf(nil, "%.2f %.2f l", x+by, y)
		})
	}
	for _, bad := range badNumbers {
		add(fmt.Sprintf("the number %q", bad), line, bad+" $2 l")
	}
	for _, c := range drawings {
		add(c[0], c[1], c[2])
	}
	return all
}

// badNumbers are none, or not written as numbers are.
var badNumbers = []string{"1e", "--5", "+-3", "1e3", "5.", ".", "-", "+5", "0x5", "1.2.3", "1_000", "NaN", "Inf", "5-",
	"1,5", "99999999999999999999", "1.00000000000001", "5 5", "true", "/N", "(5)", "<05>", "[5]", "5%x\n", ""}

const (
	number = `(-?\d+\.?\d*)`
	line   = `(?m)^` + number + ` ` + number + ` l$`
)

// drawings are changes of what draws a page: what stands there, and what is put in its place.
var drawings = [][3]string{
	{"another operator", line, "$1 $2 m"},
	{"an operator that there is not", line, "$1 $2 zz"},
	{"no operator", line, "$1 $2"},
	{"an operator twice", line, "$1 $2 l\n$1 $2 l"},
	{"a comment", line, "$1 $2 l%x"},
	{"a comment on a line", line, "%x\n$1 $2 l"},
	{"other white space", line, "$1  $2 l"},
	{"another line end", line, "$1 $2 l\r"},
	{"a zero byte", line, "$1\x00$2 l"},
	{"a matrix that scales", `q 1 0 0 1 `, "q 1.01 0 0 1 "},
	{"a matrix that turns", `q 1 0 0 1 `, "q 1 0.01 0 1 "},
	{"a matrix of five", `q 1 0 0 1 `, "q 1 0 0 "},
	{"a width of lines", `(?m)^` + number + ` w$`, "${1}1 w"},
	{"a grey", `(?m)^0\.(\d)\d* g$`, "0.${1}9 g"},
	{"a colour", `(?m)^` + number + ` ` + number + ` ` + number + ` rg$`, "0.01 $2 $3 rg"},
	{"a size of text", `/F1 ` + number + ` Tf`, "/F1 ${1}1 Tf"},
	{"a face", `/F1 ` + number + ` Tf`, "/F2 $1 Tf"},
	{"text that is not shown", ` Tf ET`, " Tf 3 Tr ET"},
	{"text with its spaces", ` Tf ET`, " Tf 9 Tw ET"},
	{"a string in hexadecimal", `\(\x00C\x00o\x00r\x00e`, "<0043> Tj (\x00o\x00r\x00e"},
	{"a letter", `\(\x00C\x00o\x00r\x00e`, "(\x00c\x00o\x00r\x00e"},
	{"a letter escaped", `\(\x00C\x00o\x00r\x00e`, "(\x00\\103\x00o\x00r\x00e"},
	{"a figure", `\x004\x001\x00\.\x003`, "\x004\x007\x00.\x003"},
	{"no text", ` Tj ET`, " ET"},
	{"a white sheet at the end", `\z`, "\n1 g 0 0 600 850 re f\n"},
	{"a white sheet at the beginning", `\A`, "1 g 0 0 600 850 re f\n"},
	{"nothing behind a clip", `\A`, "0 0 0 0 re W n\n"},
	{"a picture in the line", `\z`, "\nBI /W 1 /H 1 /BPC 1 /CS /G ID \xff EI\n"},
	{"marked content that is off", `\A`, "/OC /MC0 BDC\n"},
	{"a state that is saved", `\A`, "q\n"},
	{"a state that is not put back", `(?m)^Q$`, ""},
	{"an end in the middle", `(?m)^Q$`, "Q\n]"},
	{"an open string", `\z`, "("},
	{"an open dictionary", `\z`, "<<"},
}

// carriedMutations change what a report carries, with all that depends on it: whoever forges has the program too.
func carriedMutations() []mutation {
	var all []mutation
	// render makes the file that the program would make if it said something else.
	render := func(name string, change func(p *record.Program, executed []byte) []byte) {
		all = append(all, mutation{"carried: " + name, func(t *testing.T, x *apart) []byte {
			c, err := Open(x.old)
			if err != nil {
				t.Fatal(err)
			}
			p := c.Record.Program
			executed := change(&p, bytes.Clone(c.Executed))
			if p == c.Record.Program && bytes.Equal(executed, c.Executed) {
				return nil
			}
			r, err := publish.Make(context.Background(), core(t),
				publish.Tools{Program: p, Open: open, Executed: executed})
			if err != nil {
				t.Fatal(err)
			}
			return r.PDF
		}})
	}
	for _, p := range programs {
		render(fmt.Sprintf("the program %q", p), func(as *record.Program, e []byte) []byte {
			for i, field := range []*string{&as.Name, &as.Version, &as.Go, &as.Architecture} {
				if p[i] != "=" {
					*field = p[i]
				}
			}
			return e
		})
	}
	for _, c := range outputs {
		render("executed notebook: "+c[0], func(_ *record.Program, e []byte) []byte {
			return regexp.MustCompile(c[1]).ReplaceAll(e, []byte(c[2]))
		})
	}
	for name, change := range pictures {
		render("executed notebook: "+name, func(_ *record.Program, e []byte) []byte { return change(e) })
	}
	return append(all, attachedMutations()...)
}

// pictures are changes of pictures in the executed notebook.
var pictures = map[string]func(executed []byte) []byte{
	"the figure in HTML": func(e []byte) []byte {
		return inside(e, figureMark, `\`, func(svg []byte) []byte {
			return bytes.ReplaceAll(svg, []byte(">wave"), []byte(">Wave"))
		})
	},
	"pixels": func(e []byte) []byte {
		return inside(e, `"image/png": "`, `"`, func(picture []byte) []byte {
			m, err := png.Decode(bytes.NewReader(picture))
			if err != nil {
				return picture
			}
			for i := range 20 {
				m.(interface{ Set(x, y int, c color.Color) }).Set(100+i, 100, color.Black)
			}
			var b bytes.Buffer
			_ = png.Encode(&b, m) // into memory
			return b.Bytes()
		})
	},
	"something after the picture": func(e []byte) []byte {
		return inside(e, `"image/png": "`, `"`, func(p []byte) []byte { return append(p, "PASS"...) })
	},
}

// programs are what no version of the program calls itself: name, version, toolchain, architecture, "=" for as it is.
var programs = [][4]string{
	{"=", "9.9 CERTIFIED 60 dB BY QA", "=", "="}, {"=", "", "=", "="}, {"=", "1.2", "=", "="},
	{"=", "1.2.3.4", "=", "="},
	{"=", "1.2.3 ", "=", "="}, {"=", "1.2.3\n", "=", "="}, {"=", "v1.2.3", "=", "="}, {"=", "1.2.3-pass", "=", "="},
	{"=", "1.2.x", "=", "="}, {"=", "１.2.3", "=", "="}, {"=", "11111.2.3", "=", "="}, {"=", "-1.2.3", "=", "="},
	{"=", "=", "", "="}, {"=", "=", "go1", "="}, {"=", "=", "go1.26.8 X:all", "="}, {"=", "=", "devel", "="},
	{"=", "=", "PASS 60 dB", "="}, {"=", "=", "go1.26.8.1", "="},
	{"=", "=", "=", "amd64"}, {"=", "=", "=", "pass60db"}, {"=", "0.3.0", "=", "amd64"}, {"=", "0.2.1", "=", ""},
	{"=", "0.2.1", "=", "AMD64"}, {"=", "0.2.1", "=", "x86"}, {"=", "0.0.1", "=", "pass60db"},
	{"", "=", "=", "="}, {"Wedgework", "=", "=", "="}, {"another program", "=", "=", "="},
	{"wedgework certified", "=", "=", "="},
}

// outputs are changes of the executed notebook.
var outputs = [][3]string{
	{"an output", `41\.34`, "47.34"},
	{"a count", `"execution_count": 2`, `"execution_count": 3`},
	{"a key that nobody reads", `"nbformat":`, `"zz": "PASS", "nbformat":`},
	{"a key twice", `"nbformat":`, `"nbformat": 4, "nbformat":`},
	{"metadata of the cells", `"metadata": \{\}`, `"metadata": {"x": "PASS"}`},
	{"white space", `"nbformat":`, ` "nbformat":`},
	{"something after the end", `\z`, "\n{}"},
	{"text in the figure", `(fill=\\"#222222\\">)wave`, "${1}Wave"},
	{"a figure in the figure", `(fill=\\"#222222\\">)1550\.2<`, "${1}1550.21<"},
	{"a point in the figure", `(<path [^<>]* d=\\"M)(\d)`, "${1}9$2"},
	{"a step in the figure", ` d=\\"M([-.\d]+) ([-.\d]+)l0-3\.5`, ` d=\"M$1 ${2}l.03-3.5`},
	{"a size in the figure", `font-size=\\"8\\"`, `font-size=\"8.01\"`},
	{"a turn in the figure", `rotate\(-90\)`, `rotate(-90.01)`},
	{"a colour in the figure", `fill=\\"#222222`, `fill=\"#ffffff`},
	{"something drawn in the figure", `</svg>`, `<path d=\"M0 0l9 9\"/></svg>`},
	{"a kind of output", `"image/svg\+xml"`, `"image/svg"`},
	{"no picture", `"image/png": "[^"]*"`, `"image/png": ""`},
	{"alternative text", `alt=\\"`, `alt=\"PASS `},
}

// inside changes what stands in base 64 between two marks.
func inside(text []byte, from, to string, change func([]byte) []byte) []byte {
	before, rest, ok := strings.Cut(string(text), from)
	code, after, _ := strings.Cut(rest, to)
	data, err := base64.StdEncoding.DecodeString(strings.TrimSuffix(code, `\n`))
	if !ok || err != nil {
		return text
	}
	return []byte(before + from + base64.StdEncoding.EncodeToString(change(data)) + to + after)
}

// attachedMutations change the attachments themselves.
func attachedMutations() []mutation {
	var all []mutation
	content := func(name, in, from, to string) {
		all = append(all, mutation{"attached: " + name, func(t *testing.T, x *apart) []byte {
			for i, p := range x.objects {
				if p.stream == nil || !bytes.Contains(p.head, []byte("/EmbeddedFile")) {
					continue
				}
				plain := inflated(t, p.stream)
				if !bytes.Contains(plain, []byte(in)) || !bytes.Contains(plain, []byte(from)) {
					continue
				}
				x.objects[i].stream = deflated(bytes.Replace(plain, []byte(from), []byte(to), 1))
				return x.bytes()
			}
			return nil
		}})
	}
	const recordMark = `"schema": "wedgework record"`
	content("a reading", "# unit: 0417", "41.34", "49.34")
	content("a remark", "# unit: 0417", "invented", "measured")
	content("a cell", `apex = given(`, "apex = given", "apex = gaven")
	content("a constant", `"name": "YVO4"`, "1", "2")
	content("the number", recordMark, `"number": "WR-`, `"number": "QR-`)
	content("an own number", recordMark, `"number": "WR-`, `"number": "WR-00000-00000", "x": "`)
	content("the version", recordMark, `"version": "1.2.`, `"version": "1.3.`)
	content("the day", recordMark, `"2026-11-25"`, `"2026-11-26"`)
	content("a key that nobody reads", recordMark, `"number":`, `"zz": "PASS", "number":`)
	content("a key twice", recordMark, `"number":`, `"number": "QR-1", "number":`)
	content("the title", recordMark, `Core`, `Case`)
	content("a value of a setting", recordMark, `4.5 deg`, `4.6 deg`)
	content("white space in the record", recordMark, `"number":`, ` "number":`)
	return all
}
