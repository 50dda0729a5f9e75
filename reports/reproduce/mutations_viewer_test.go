package reproduce

import (
	"bytes"
	"context"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"wedgework/reports/job"
	"wedgework/reports/publish"
	"wedgework/reports/record"
)

// viewer makes forgeries that are whole: every object is where it belongs, lengths, table and identifier are right, and
// a viewer shows or does something else.
type viewer struct {
	all   []mutation
	other []byte // a report of another record
}

func viewerMutations(t *testing.T, by record.Program) []mutation {
	t.Helper()
	j := core(t)
	was := j.Data[0].Files[0].Data
	j.Data[0].Files[0] = job.Content("own.csv", bytes.Replace(was, []byte("41.34"), []byte("41.44"), 1))
	r, err := publish.Make(context.Background(), j, publish.Tools{Program: by, Open: open})
	if err != nil {
		t.Fatal(err)
	}
	v := &viewer{other: r.PDF}
	v.added()
	v.swapped()
	v.shown()
	v.borrowed()
	return v.all
}

func (v *viewer) add(name string, change func(x *apart) bool) {
	v.all = append(v.all, mutation{name, func(_ *testing.T, x *apart) []byte {
		if !change(x) {
			return nil
		}
		return x.bytes()
	}})
}

// find returns the objects whose heads match, in their order.
func (x *apart) find(pattern string) (all []*piece) {
	re := regexp.MustCompile(pattern)
	for i := range x.objects {
		if re.Match(x.objects[i].head) {
			all = append(all, &x.objects[i])
		}
	}
	return all
}

// number returns the object of that number, nil where there is none.
func (x *apart) number(n string) *piece {
	for i := range x.objects {
		if fmt.Sprint(x.objects[i].number) == n {
			return &x.objects[i]
		}
	}
	return nil
}

// more adds an object and returns its number.
func (x *apart) more(head, stream string) int {
	p := piece{number: x.size, head: []byte(head)}
	if stream != "" {
		p.stream = []byte(stream)
	}
	x.objects = append(x.objects, p)
	x.size++
	return p.number
}

const (
	aPage     = `^<</Type /Page\n`
	catalogue = `/Type /Catalog`
	cover     = "q 1 g 0 0 600 850 re f Q"
)

// into puts keys into the first object of a kind.
func into(p []*piece, keys string) bool {
	if len(p) == 0 || !bytes.HasSuffix(p[0].head, []byte(">>")) {
		return false
	}
	p[0].head = fmt.Appendf(bytes.TrimSuffix(p[0].head, []byte(">>")), "\n%s>>", keys)
	return true
}

// added are objects that a viewer draws over a page or runs.
func (v *viewer) added() {
	v.add("a page of two contents", func(x *apart) bool {
		stamp := x.more("<</Length 1>>", cover)
		p := x.find(aPage)
		from := regexp.MustCompile(`/Contents (\d+ 0 R)`)
		p[0].head = from.ReplaceAll(p[0].head, fmt.Appendf(nil, "/Contents [$1 %d 0 R]", stamp))
		return true
	})
	v.add("contents in a list", func(x *apart) bool {
		p := x.find(aPage)
		p[0].head = regexp.MustCompile(`/Contents (\d+ 0 R)`).ReplaceAll(p[0].head, []byte("/Contents [$1]"))
		return true
	})
	for name, keys := range map[string]string{
		"text over a page":   "/Annots [<</Type /Annot /Subtype /FreeText /Rect [0 0 9 9] /Contents (PASS) /AP <</N %d 0 R>>>>]",
		"a stamp":            "/Annots [<</Type /Annot /Subtype /Stamp /Rect [0 0 9 9] /AP <</N %d 0 R>>>>]",
		"a field":            "/Annots [<</Type /Annot /Subtype /Widget /FT /Tx /V (x) /Rect [0 0 9 9] /AP <</N %d 0 R>>>>]",
		"a redaction":        "/Annots [<</Type /Annot /Subtype /Redact /Rect [0 0 600 850] /RO %d 0 R>>]",
		"a thumbnail":        "/Thumb %d 0 R",
		"an action of pages": "/AA <</O <</S /JavaScript /JS %d 0 R>>>>",
	} {
		v.add(name, func(x *apart) bool {
			form := x.more("<</Type /XObject /Subtype /Form /BBox [0 0 600 850] /Length 1>>", cover)
			return into(x.find(aPage), fmt.Sprintf(keys, form))
		})
	}
	for name, keys := range map[string]string{
		"an action at opening":       "/OpenAction <</S /JavaScript /JS (app.alert\\(1\\))>>",
		"a page at opening":          "/OpenAction [3 0 R /FitR 0 0 1 1]",
		"an action at closing":       "/AA <</WC <</S /Launch /F (x)>>>>",
		"scripts by names":           "/Names <</JavaScript <</Names [(a) <</S /JavaScript /JS (x)>>]>>>>",
		"a form":                     "/AcroForm <</Fields [] /XFA %d 0 R>>",
		"hidden content":             "/OCProperties <</OCGs [%d 0 R] /D <</OFF [%[1]d 0 R]>>>>",
		"labels of pages":            "/PageLabels <</Nums [0 <</P (page 9 of )>>]>>",
		"permissions":                "/Perms <</DocMDP %d 0 R>>",
		"a collection":               "/Collection <</Type /Collection /View /T>>",
		"a page mode":                "/PageMode /FullScreen",
		"other versions":             "/Version /2.0",
		"an attached file more":      "/AF [%d 0 R]",
		"a base of all links":        "/URI <</Base (http://example.com)>>",
		"another print":              "/ViewerPreferences <</PrintPageRange [1 1]>>",
		"another language":           "/Lang (de)",
		"a program's private things": "/PieceInfo <</X <</Private (PASS)>>>>",
	} {
		v.add(name, func(x *apart) bool {
			if strings.Contains(keys, "%") {
				return into(x.find(catalogue), fmt.Sprintf(keys, x.more("<</Type /OCG /Name (x)>>", "")))
			}
			return into(x.find(catalogue), keys)
		})
	}
}

// swapped are objects of one kind in each other's place.
func (v *viewer) swapped() {
	for name, pattern := range map[string]string{
		"files of faces": `/Length1 `, "maps to Unicode": `^<</Filter /FlateDecode /Length \d+>>$`,
		"attached files": `/Type /EmbeddedFile`, "names of attached files": `/Type /Filespec`, "pages": aPage,
		"bookmarks": `^<</Title `, "descriptors": `/Type /FontDescriptor`, "faces": `/Subtype /Type0`,
		"cells of the tree": `^<</S/TD`, "paragraphs of the tree": `^<</S/P/`,
	} {
		v.add(name+" in each other's place", func(x *apart) bool {
			p := x.find(pattern)
			if len(p) < 2 {
				return false
			}
			a, b := p[0], p[len(p)-1]
			a.head, b.head, a.stream, b.stream = b.head, a.head, b.stream, a.stream
			return !bytes.Equal(a.head, b.head) || !bytes.Equal(a.stream, b.stream)
		})
	}
	replaced := func(name, pattern, from, to string) {
		v.add(name, func(x *apart) bool {
			p := x.find(pattern)
			if len(p) == 0 {
				return false
			}
			was := p[0].head
			p[0].head = regexp.MustCompile(from).ReplaceAll(was, []byte(to))
			return !bytes.Equal(p[0].head, was)
		})
	}
	replaced("the first page twice", `/Type /Pages`, `/Kids \[(\d+ 0 R)`, "/Kids [$1 $1")
	replaced("pages the other way about", `/Type /Pages`, `/Kids \[(\d+ 0 R) (\d+ 0 R)`, "/Kids [$2 $1")
	replaced("faces in each other's place on the pages", `/F1 \d+ 0 R`, `/F1 (\d+ 0 R)\n/F2 (\d+ 0 R)`,
		"/F1 $2\n/F2 $1")
	replaced("an attached file under two names", `/Type /Filespec`, `/UF \(`, "/UF (x")
	replaced("an attached file for other systems", `/Type /Filespec`, `/EF <</F (\d+) 0 R /UF \d+ 0 R>>`,
		"/EF <</F $1 0 R /UF $1 0 R /Unix 4 0 R>>")
	replaced("another page tree", catalogue, `/Pages \d+ 0 R`, "/Pages 3 0 R")
}

// shown are other ways to show the same contents.
func (v *viewer) shown() {
	for name, keys := range map[string]string{
		"a page cropped": "/CropBox [0 500 595 841]", "a page turned": "/Rotate 180", "a page in other units": "/UserUnit 2",
		"a page of its own size": "/MediaBox [0 500 595 841]", "a page for a second": "/Dur 1",
		"a page as a group": "/Group <</S /Transparency /CS /DeviceGray>>", "a trim": "/TrimBox [0 0 9 9]",
		"resources of its own": "/Resources <</Font <<>>>>", "metadata of a page": "/Metadata 4 0 R",
		"a template": "/TemplateInstantiated /X",
	} {
		v.add(name, func(x *apart) bool { return into(x.find(aPage), keys) })
	}
	v.add("objects in a stream", func(x *apart) bool {
		for i, p := range x.objects {
			if bytes.HasPrefix(p.head, []byte("<</Title ")) {
				x.objects[i].head = []byte("null")
				inside := fmt.Sprintf("%d 0 ", p.number)
				x.more(fmt.Sprintf("<</Type /ObjStm /N 1 /First %d /Length 1>>", len(inside)), inside+string(p.head))
				return true
			}
		}
		return false
	})
	v.add("contents hidden by a layer", func(x *apart) bool {
		layer := x.more("<</Type /OCG /Name (x)>>", "")
		if !into(x.find(catalogue), fmt.Sprintf("/OCProperties <</OCGs [%d 0 R] /D <</OFF [%[1]d 0 R]>>>>", layer)) {
			return false
		}
		page := x.find(aPage)[0]
		contents := x.number(string(regexp.MustCompile(`/Contents (\d+)`).FindSubmatch(page.head)[1]))
		plain := inflated(discard{}, contents.stream)
		contents.stream = deflated(append(append([]byte("/OC /L BDC\n"), plain...), "\nEMC"...))
		return true
	})
}

// borrowed are parts of a report of another record, whole in themselves.
func (v *viewer) borrowed() {
	for name, pattern := range map[string]string{
		"metadata": `/Type /Metadata`, "attached files": `/Type /EmbeddedFile`, "names of attached files": `/Type /Filespec`,
		"what the first page shows": "contents", "information": `/Creator `, "colour": `^<</N 3`,
	} {
		v.add(name+" of another report", func(x *apart) bool {
			y := takeApart(discard{}, v.other)
			a, b := x.find(pattern), y.find(pattern)
			if pattern == "contents" {
				first := func(z *apart) []*piece {
					at := regexp.MustCompile(`/Contents (\d+)`).FindSubmatch(z.find(aPage)[0].head)
					return []*piece{z.number(string(at[1]))}
				}
				a, b = first(x), first(y)
			}
			changed := false
			for i := range min(len(a), len(b)) {
				changed = changed || !bytes.Equal(a[i].head, b[i].head) || !bytes.Equal(a[i].stream, b[i].stream)
				a[i].head, a[i].stream = b[i].head, b[i].stream
			}
			return changed
		})
	}
}

// discard is a test for helpers of which a failure would show elsewhere.
type discard struct{ testing.TB }

func (discard) Helper() {}
