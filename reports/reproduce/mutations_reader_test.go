package reproduce

import (
	"bytes"
	"fmt"
	"regexp"
	"testing"
)

// reader makes forgeries that leave the page as it looks, or all but: they change what is heard, copied, scanned,
// searched or read by machines.
type reader struct{ all []mutation }

func readerMutations() []mutation {
	r := &reader{}
	r.heard()
	r.copied()
	r.scanned()
	r.described()
	r.reached()
	r.resources()
	return r.all
}

// add adds a change that must find something to change.
func (r *reader) add(name string, change func(x *apart) bool) {
	name = "reader: " + name
	r.all = append(r.all, mutation{name, func(t *testing.T, x *apart) []byte {
		if !change(x) {
			t.Errorf("%s: there is nothing to change", name)
			return nil
		}
		return x.bytes()
	}})
}

// head changes the head of the last object that matches.
func (r *reader) head(name, pattern, from, to string) {
	r.add(name, func(x *apart) bool {
		p := x.find(pattern)
		if len(p) == 0 {
			return false
		}
		last := p[len(p)-1]
		was := last.head
		last.head = regexp.MustCompile(from).ReplaceAll(was, []byte(to))
		return !bytes.Equal(was, last.head)
	})
}

// stream changes what streams hold, all of those in which it is found.
func (r *reader) stream(name, from, to string) {
	pattern := regexp.MustCompile(from)
	r.add(name, func(x *apart) bool {
		found := false
		for i, p := range x.objects {
			if p.stream == nil {
				continue
			}
			packed, plain := bytes.Contains(p.head, []byte("/FlateDecode")), p.stream
			if packed {
				plain = inflated(discard{}, p.stream)
			}
			if !pattern.Match(plain) {
				continue
			}
			changed := pattern.ReplaceAll(plain, []byte(to))
			found = found || !bytes.Equal(changed, plain)
			if packed {
				changed = deflated(changed)
			}
			x.objects[i].stream = changed
		}
		return found
	})
}

// heard changes what a screen reader says.
func (r *reader) heard() {
	for name, element := range map[string]string{"a cell": "TD", "a heading of columns": "TH", "a heading": "H1",
		"a paragraph": "P", "a figure": "Figure", "a link": "Link", "the title": "Title"} {
		r.head("other words for "+name, "^<</S/"+element+"/", "^<</S/", "<</ActualText(PASS)/S/")
		r.head("an expansion of "+name, "^<</S/"+element+"/", "^<</S/", "<</E(PASS)/S/")
		r.head("another language of "+name, "^<</S/"+element+"/", "^<</S/", "<</Lang(de)/S/")
	}
	r.head("a figure in the words for a figure", `/Alt\(measured`, `41\.34`, "47.34")
	r.head("the words for the code", `/Alt\(QR code`, `QR code: WR-`, "QR code: QR-")
	r.head("headings of columns that head rows", `/Scope ?/Column`, `/Column`, "/Row")
	r.head("a heading that heads nothing", `^<</S/TH/`, `/A \d+ 0 R`, "")
	r.head("a row without its last cell", `^<</S/TR/`, ` \d+ 0 R\]`, "]")
	r.head("two cells of a row the other way about", `^<</S/TR/`, `(\d+ 0 R) (\d+ 0 R)\]`, "$2 $1]")
	r.head("cautions that are decoration", `/StructTreeRoot/K`, `/Caution/P`, "/Caution/Artifact")
	r.head("a class of elements", `/StructTreeRoot/K`, `/RoleMap`, "/ClassMap<</x<</O/Layout>>>>/RoleMap")
	r.head("a tree that is not marked", catalogue, `/Marked true`, "/Marked false")
	r.stream("other words in the page", `(?m)^/TD ?<</MCID (\d+)>> ?BDC`, "/TD <</MCID $1/ActualText(PASS)>>BDC")
	r.stream("a cell that is decoration", `(?m)^/TD ?<</MCID 4>> ?BDC`, "/Artifact BMC")
}

// copied changes what is found by a search or pasted.
func (r *reader) copied() {
	r.stream("figures copied as others", `<0020> <007E> <0020>`, "<0020> <007E> <0021>")
	r.stream("a character that is not copied", `(?m)^<2212> <2212> <2212>$`, "<2212> <2212> <0020>")
	r.stream("a character copied as several", `(?m)^<2212> <2212> <2212>$`, "<2212> <2212> <00200020>")
	r.stream("another code space", `<0000> ?<FFFF>`, "<0000> <00FF>")
	r.head("a face written downwards", `/Subtype /Type0`, `/Identity-H`, "/Identity-V")
	r.head("a face without its map", `/Subtype /Type0`, `/ToUnicode \d+ 0 R`, "")
}

// scanned changes the code of page one, square by square.
func (r *reader) scanned() {
	const square = `(?m)(\d+\.\d\d) (\d+\.\d\d) (\d+\.\d\d) 1\.20 re`
	r.stream("the code shrunk", square, "$1 $2 $3 1.00 re")
	r.stream("the code without its squares", square, "$1 $2 0.00 1.20 re")
	r.stream("a square less", `\d+\.\d\d \d+\.\d\d \d+\.\d\d 1\.20 re f`, "f")
	r.stream("a square more", `1\.20 re f`, "1.20 re 500.00 800.00 1.20 1.20 re f")
	r.stream("only the outlines of squares", `1\.20 re f`, "1.20 re S")
}

// described changes what the file says of itself.
func (r *reader) described() {
	for _, c := range [][3]string{
		{"a level of the archive", `<pdfaid:conformance>A<`, "<pdfaid:conformance>U<"},
		{"a part of the archive", `<pdfaid:part>3<`, "<pdfaid:part>2<"},
		{"an amendment", `<pdfaid:part>3`, "<pdfaid:amd>1</pdfaid:amd><pdfaid:part>3"},
		{"a title", `>Core</rdf:li>`, ">Core, certified</rdf:li>"},
		{"another producer", `<pdf:Producer>wedgework 1.2.\d`, "<pdf:Producer>wedgework 9.2.3"},
		{"a history", `<dc:format>`, "<xmpMM:History>PASS</xmpMM:History><dc:format>"},
		{"a comment", `<dc:format>`, "<!-- PASS --><dc:format>"},
		{"room after the packet", `<\?xpacket end`, "  <?xpacket end"},
		{"a packet that may be written", `end="r"`, `end="w"`},
	} {
		r.stream("metadata: "+c[0], c[1], c[2])
	}
	r.head("another name of the colours", catalogue, `/Info \(sRGB`, "/Info (aRGB")
	r.head("two names of attached files changed about", catalogue, `\(own\.csv\) (\d+ 0 R) \(record\.json\) (\d+ 0 R)`,
		"(own.csv) $2 (record.json) $1")
	r.head("an attached file in two places", catalogue, `\(own\.csv\) (\d+ 0 R)`, "(own.csv) $1 (own.csv.bak) $1")
	r.head("an attached file that is not listed", catalogue, `\(own\.csv\) \d+ 0 R`, "")
	r.head("names for places", catalogue, `/Names <<`, "/Names <</Dests <</Names [(x) [3 0 R /Fit]]>> ")
}

// reached changes where links and bookmarks lead, and what is done on the way.
func (r *reader) reached() {
	const link = `/Subtype ?/Link`
	r.head("a link to another place", link, `example\.org`, "example.com")
	r.head("a link that runs a program", link, `/S ?/URI`, "/S /Launch")
	r.head("a link with another action behind", link, `/S ?/URI`, "/S /URI /Next <</S /JavaScript /JS (x)>>")
	r.head("a link with actions of its own", link, link, "/Subtype /Link /AA <</E <</S /Hide /T (x)>>>>")
	r.head("a link over the page", link, `/Rect ?\[[^\]]*\]`, "/Rect [0 0 595 842]")
	r.head("a link with corners", link, link, "/Subtype /Link /QuadPoints [0 0 9 0 0 9 9 9]")
	r.head("a link in a layer", link, link, "/Subtype /Link /OC 3 0 R")
	r.head("a link that says otherwise", link, `/Contents ?\(`, "/Contents (PASS ")
	const mark = `(?s)^<</Title .*/Dest `
	r.head("a bookmark that does something", mark, `^<</Title `, "<</A <</S /Named /N /Print>> /Title ")
	r.head("a bookmark in another colour", mark, `^<</Title `, "<</C [1 1 1] /Title ")
	r.head("a bookmark that leads elsewhere", mark, `/XYZ`, "/FitR 0 0 9")
}

// resources changes what names on pages mean, and puts objects where only some programs look.
func (r *reader) resources() {
	for name, key := range map[string]string{
		"grey that is another colour":   "/ColorSpace <</DefaultGray [/Separation /All /DeviceGray 4 0 R]>>",
		"colours that are others":       "/ColorSpace <</DefaultRGB [/ICCBased 4 0 R]>>",
		"a state that nothing uses":     "/ExtGState <</G <</ca 0>>>>",
		"layers that nothing uses":      "/Properties <</MC0 <</Type /OCG /Name (x)>>>>",
		"a pattern that nothing uses":   "/Pattern <<>>",
		"a procedure that is not known": "/ProcSet [/X]",
	} {
		r.head(name, `/ProcSet `, `/ProcSet `, key+"\n/ProcSet ")
	}
	r.add("a file that says it is linear", func(x *apart) bool {
		x.more(fmt.Sprintf("<</Linearized 1 /L %d /H [9 9] /O 3 /E 9 /N 1 /T 9>>", len(x.old)), "")
		return true
	})
	r.add("a stream with an object of a number that there is", func(x *apart) bool {
		const inside = "4 0 <</Length 0>>"
		x.more(fmt.Sprintf("<</Type /ObjStm /N 1 /First 4 /Length %d>>", len(inside)), inside)
		return true
	})
	r.add("a stream of references that nothing names", func(x *apart) bool {
		x.more("<</Type /XRef /W [1 2 1] /Size 1 /Root 1 0 R /Length 4>>", "\x01\x00\x09\x00")
		return true
	})
	r.add("a second catalogue", func(x *apart) bool {
		c := x.find(catalogue)
		x.more(string(c[0].head), "")
		return true
	})
}
