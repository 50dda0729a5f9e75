package pdf

import (
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	reader "rsc.io/pdf"

	"wedgework/reports/document"
)

// The rules of PDF/A-3A that a file of ours can break, for machines without a validator; tagRules (tagged_test.go) adds
// those on the tree of elements, and those of PDF/UA-1. The list is ours. Its clauses are those of ISO 19005-3:2012
// and, where they point to it, of ISO 32000-1:2008, corrected by what the veraPDF validator finds, which reads them as
// the PDF Association does: where it and this list differed (6.2.11.7.2, ranges of a map), it was right. Rules on what
// our files never hold (forms, sound, optional content, JPEG 2000, type 1 faces, encryption) check that it is absent.
var archiveRules = []struct {
	clause, rule string
	check        func(f archive) []string
}{
	{"6.1.2", "the header is %PDF-1.n at the first byte, and a comment of four bytes above 127 follows",
		func(f archive) []string {
			good := regexp.MustCompile(`\A%PDF-1\.[0-7]\n%`).Match(f.raw) && f.raw[14] == '\n'
			for _, b := range f.raw[10:14] {
				good = good && b > 127
			}
			return unless(good, "the file begins with %q", f.raw[:16])
		}},
	{"6.1.3", "the trailer has an ID of two strings, no Encrypt, and nothing follows the end of file",
		func(f archive) []string {
			id := f.trailer.Key("ID")
			return slices.Concat(
				unless(id.Len() == 2 && len(id.Index(0).RawString()) >= 16, "the ID is %v", id),
				unless(f.trailer.Key("Encrypt").IsNull(), "it is encrypted"),
				unless(bytes.HasSuffix(f.raw, []byte("\n%%EOF\n")) && bytes.Count(f.raw, []byte("%%EOF")) == 1,
					"it ends with %q", f.raw[max(0, len(f.raw)-16):]))
		}},
	{"6.1.4", "the cross-reference table begins with its keyword on a line of its own, and its entries point at " +
		"their objects", func(f archive) []string {
		at := regexp.MustCompile(`startxref\n(\d+)\n`).FindSubmatch(f.raw)
		offset, _ := strconv.Atoi(string(at[1]))
		lines := strings.Split(string(f.raw[offset:]), "\n")
		wrong := unless(lines[0] == "xref" && lines[1] == fmt.Sprintf("0 %d", f.trailer.Key("Size").Int64()),
			"the table begins with %q", lines[:2])
		for i, entry := range lines[3 : 2+f.trailer.Key("Size").Int64()] {
			n, err := strconv.Atoi(entry[:10])
			wrong = append(wrong, unless(err == nil && bytes.HasPrefix(f.raw[n:], fmt.Appendf(nil, "%d 0 obj\n", i+1)),
				"entry %d is %q", i+1, entry)...)
		}
		return wrong
	}},
	{"6.1.7", "a stream begins after one line feed, is as long as it says, ends before an end of line, and is in the " +
		"file", func(f archive) []string {
		var wrong []string
		found := regexp.MustCompile(`/Length (\d+)[^>]*>>\nstream\n`).FindAllSubmatchIndex(f.raw, -1)
		for _, m := range found {
			n, _ := strconv.Atoi(string(f.raw[m[2]:m[3]]))
			wrong = append(wrong, unless(bytes.HasPrefix(f.raw[m[1]+n:], []byte("\nendstream")),
				"the stream at %d does not end where it says", m[1])...)
		}
		for _, v := range f.streams {
			for _, key := range []string{"F", "FFilter", "FDecodeParms"} {
				wrong = append(wrong, unless(v.Key(key).IsNull(), "a stream has the key %s", key)...)
			}
		}
		n := bytes.Count(f.raw, []byte("\nendstream\nendobj\n"))
		return append(wrong, unless(n == len(found), "%d streams were looked at, of %d", len(found), n)...)
	}},
	{"6.1.7.2", "no stream is compressed with LZW or encrypted", func(f archive) []string {
		var wrong []string
		for _, v := range f.streams {
			for _, name := range filters(v) {
				wrong = append(wrong, unless(name == "FlateDecode" || name == "DCTDecode", "a stream is packed with %s",
					name)...)
			}
		}
		return wrong
	}},
	{"6.1.8, 6.1.13", "names are UTF-8 of at most 127 bytes, strings at most 32767", func(f archive) []string {
		var wrong []string
		for _, v := range f.all {
			switch v.Kind() {
			case reader.Name:
				wrong = append(wrong, unless(len(v.Name()) <= 127 && strings.ToValidUTF8(v.Name(), "") == v.Name(),
					"name %q", v.Name())...)
			case reader.String:
				wrong = append(wrong, unless(len(v.RawString()) <= 32767, "a string of %d bytes",
					len(v.RawString()))...)
			}
		}
		return wrong
	}},
	{"6.1.13", "graphics states nest at most 28 deep and are put back", func(f archive) []string {
		var wrong []string
		for n := 1; n <= f.r.NumPage(); n++ {
			depth, deepest := 0, 0
			reader.Interpret(f.r.Page(n).V.Key("Contents"), func(stk *reader.Stack, op string) {
				for stk.Len() > 0 {
					stk.Pop()
				}
				switch op {
				case "q":
					depth++
				case "Q":
					depth--
				}
				deepest = max(deepest, depth)
			})
			wrong = append(wrong, unless(depth == 0 && deepest <= 28, "page %d: depth %d at the end, %d at most", n,
				depth, deepest)...)
		}
		return wrong
	}},
	{"6.2.3", "there is one output intent for PDF/A, with an embedded RGB profile of a version that PDF 1.7 knows",
		func(f archive) []string {
			intents := f.root.Key("OutputIntents")
			in := intents.Index(0)
			profile := f.bytesOf(in.Key("DestOutputProfile"))
			if len(profile) < 128 {
				return []string{"there is no profile"}
			}
			return slices.Concat(
				unless(intents.Len() == 1 && in.Key("S").Name() == "GTS_PDFA1" &&
					in.Key("OutputConditionIdentifier").RawString() != "", "the intent is %v", in),
				unless(string(profile[16:20]) == "RGB " && in.Key("DestOutputProfile").Key("N").Int64() == 3,
					"the profile is for %q", profile[16:20]),
				unless(binary.BigEndian.Uint32(profile[8:])>>24 <= 4 && string(profile[12:16]) == "mntr",
					"the profile is of version %x and class %q", profile[8], profile[12:16]))
		}},
	{"6.2.4.3", "colours are those of the output intent: grey and RGB, no CMYK, no pattern or separation spaces",
		func(f archive) []string {
			var wrong []string
			for n := 1; n <= f.r.NumPage(); n++ {
				reader.Interpret(f.r.Page(n).V.Key("Contents"), func(stk *reader.Stack, op string) {
					for stk.Len() > 0 {
						stk.Pop()
					}
					wrong = append(wrong, unless(!slices.Contains([]string{"k", "K", "cs", "CS", "sc", "SC", "scn",
						"SCN",
						"sh"}, op), "page %d uses %s", n, op)...)
				})
			}
			for _, v := range f.streams {
				if v.Key("Subtype").Name() == "Image" {
					space := v.Key("ColorSpace")
					name := space.Name()
					if space.Kind() == reader.Array && space.Index(0).Name() == "Indexed" {
						name = space.Index(1).Name()
					}
					wrong = append(wrong, unless(name == "DeviceRGB" || name == "DeviceGray", "an image is in %v",
						space)...)
				}
			}
			return wrong
		}},
	{"6.2.5", "graphics state parameters have no transfer or halftone functions", func(f archive) []string {
		var wrong []string
		for _, v := range f.dictionaries {
			if v.Key("Type").Name() == "ExtGState" {
				for _, key := range []string{"TR", "HTP", "HTO"} {
					wrong = append(wrong, unless(v.Key(key).IsNull(), "%s is set", key)...)
				}
				wrong = append(wrong, unless(v.Key("TR2").IsNull() || v.Key("TR2").Name() == "Default",
					"TR2 is set")...)
			}
		}
		return wrong
	}},
	{"6.2.8, 6.2.9", "images are not smoothed or replaced by others, and there are no PostScript or reference objects",
		func(f archive) []string {
			var wrong []string
			for _, v := range f.streams {
				s := v.Key("Subtype").Name()
				wrong = append(wrong, unless(s != "PS" && v.Key("Ref").IsNull() && v.Key("OPI").IsNull() &&
					v.Key("Alternates").IsNull(), "a stream of subtype %s refers elsewhere", s)...)
				wrong = append(wrong, unless(!v.Key("Interpolate").Bool(), "an image is smoothed")...)
			}
			return wrong
		}},
	{"6.2.10", "what is transparent blends in a known colour space, with a blend mode of PDF 1.7",
		func(f archive) []string {
			var wrong []string
			for _, v := range f.dictionaries {
				if bm := v.Key("BM").Name(); v.Key("Type").Name() == "ExtGState" {
					wrong = append(wrong, unless(bm == "" || bm == "Normal" || bm == "Compatible" || bm == "Multiply",
						"blend mode %s", bm)...)
				}
				if g := v.Key("Group"); !g.IsNull() {
					wrong = append(wrong, unless(g.Key("S").Name() == "Transparency" &&
						g.Key("CS").Name() == "DeviceRGB",
						"the group is %v", g)...)
				}
			}
			return wrong
		}},
	{"6.2.11.3", "composite faces map their codes by Identity-H and an embedded map, and name their characters",
		func(f archive) []string {
			var wrong []string
			faces := 0
			for _, v := range f.dictionaries {
				if v.Key("Type").Name() != "Font" || v.Key("Subtype").Name() != "Type0" {
					wrong = append(wrong, unless(v.Key("Type").Name() != "Font" ||
						v.Key("Subtype").Name() == "CIDFontType2", "a face of type %s", v.Key("Subtype").Name())...)
					continue
				}
				faces++
				d := v.Key("DescendantFonts").Index(0)
				info := d.Key("CIDSystemInfo")
				wrong = append(wrong, slices.Concat(
					unless(v.Key("Encoding").Name() == "Identity-H", "encoding %v", v.Key("Encoding")),
					unless(d.Key("CIDToGIDMap").Kind() == reader.Stream || d.Key("CIDToGIDMap").Name() == "Identity",
						"no map from codes to glyphs"),
					unless(info.Key("Registry").RawString() == "Adobe" &&
						info.Key("Supplement").Kind() == reader.Integer,
						"system info %v", info),
					unless(v.Key("BaseFont").Name() == d.Key("BaseFont").Name(), "two names, %s and %s",
						v.Key("BaseFont").Name(), d.Key("BaseFont").Name()))...)
			}
			return append(wrong, unless(faces > 0 || f.r.NumPage() == 0 || f.blank, "no face was looked at")...)
		}},
	{"6.2.11.4", "every face is embedded as far as it is used, under a name that says so", func(f archive) []string {
		var wrong []string
		for _, v := range f.dictionaries {
			if v.Key("Type").Name() == "FontDescriptor" {
				wrong = append(wrong, unless(v.Key("FontFile2").Kind() == reader.Stream, "%s is not embedded",
					v.Key("FontName").Name())...)
				wrong = append(wrong, unless(regexp.MustCompile(`^[A-Z]{6}\+.`).MatchString(v.Key("FontName").Name()),
					"subset named %s", v.Key("FontName").Name())...)
			}
		}
		return wrong
	}},
	{"6.2.11.5", "the widths in the file are those of the embedded faces, within a thousandth of the size",
		func(f archive) []string {
			return f.eachGlyph(func(name string, font embeddedFont, code uint16) []string {
				stated, own := font.stated[code], font.advance(font.glyphs[code])
				return unless(stated-own <= 1 && own-stated <= 1, "%s: U+%04X is %d wide and stated as %d", name, code,
					own,
					stated)
			})
		}},
	{"6.2.11.7.2", "every character shown has a Unicode value, and none of 0, FEFF and FFFE (level U)",
		func(f archive) []string {
			return f.eachGlyph(func(name string, font embeddedFont, code uint16) []string {
				u, ok := font.unicode[code]
				return unless(ok && u != 0 && u != 0xFEFF && u != 0xFFFE, "%s: code %04X is mapped to %04X, %t", name,
					code,
					u, ok)
			})
		}},
	{"6.2.11.8", "no glyph shown is .notdef", func(f archive) []string {
		return f.eachGlyph(func(name string, font embeddedFont, code uint16) []string {
			return unless(font.glyphs[code] != 0, "%s: U+%04X has no glyph", name, code)
		})
	}},
	{"6.3", "annotations are links that are printed, not hidden, and lead to a place or an address",
		func(f archive) []string {
			var wrong []string
			for n := 1; n <= f.r.NumPage(); n++ {
				annots := f.r.Page(n).V.Key("Annots")
				for i := range annots.Len() {
					a := annots.Index(i)
					const hidden, print = 1<<0 | 1<<1 | 1<<5 | 1<<8, 1 << 2
					flags, action := a.Key("F").Int64(), a.Key("A").Key("S").Name()
					wrong = append(wrong, slices.Concat(
						unless(a.Key("Subtype").Name() == "Link", "page %d: annotation %s", n, a.Key("Subtype").Name()),
						unless(flags&print != 0 && flags&hidden == 0, "page %d: flags %d", n, flags),
						unless(action == "URI" || action == "GoTo" || action == "" && !a.Key("Dest").IsNull(),
							"page %d: action %s", n, action),
						unless(a.Key("AA").IsNull(), "page %d: further actions", n))...)
				}
			}
			return wrong
		}},
	{"6.4, 6.5", "there are no forms, scripts or actions of their own accord", func(f archive) []string {
		var wrong []string
		for _, key := range []string{"AcroForm", "AA", "NeedsRendering", "Requirements", "Perms"} {
			wrong = append(wrong, unless(f.root.Key(key).IsNull(), "the catalogue has %s", key)...)
		}
		open := f.root.Key("OpenAction")
		wrong = append(wrong, unless(open.IsNull() || open.Kind() == reader.Array, "the file opens with %v", open)...)
		for _, v := range f.dictionaries {
			switch s := v.Key("S").Name(); s {
			case "Launch", "Sound", "Movie", "ResetForm", "ImportData", "JavaScript", "Hide", "SetOCGState",
				"Rendition", "Trans", "GoTo3DView":
				wrong = append(wrong, "there is an action "+s)
			}
		}
		return append(wrong, unless(f.root.Key("Names").Key("JavaScript").IsNull(), "there are scripts")...)
	}},
	{"6.6.2", "the metadata are an XMP packet of UTF-8, linked from the catalogue, without attributes in its head",
		func(f archive) []string {
			m := f.root.Key("Metadata")
			return slices.Concat(
				unless(m.Key("Type").Name() == "Metadata" && m.Key("Subtype").Name() == "XML" && len(filters(m)) == 0,
					"the metadata are %v", m),
				unless(regexp.MustCompile(`^<\?xpacket begin="\x{FEFF}" id="W5M0MpCehiHzreSzNTczkc9d"\?>`).Match(f.xmp),
					"the packet begins with %.60q", f.xmp))
		}},
	{"6.6.3", "the document information says what the metadata say, property by property", func(f archive) []string {
		var wrong []string
		info := f.trailer.Key("Info")
		known := map[string]string{"Title": "title>Alt>li", "Subject": "description>Alt>li", "Creator": "CreatorTool",
			"Producer": "Producer", "CreationDate": "CreateDate"}
		for _, key := range info.Keys() {
			path, ok := known[key]
			said, got := info.Key(key).Text(), f.property(path)
			if key == "CreationDate" {
				got = "D:" + strings.ReplaceAll(got, "-", "")
			}
			wrong = append(wrong, unless(ok && said == got, "%s is %q, and %q in the metadata", key, said, got)...)
		}
		return append(wrong, unless(f.property("CreateDate") == "" || !info.Key("CreationDate").IsNull(),
			"the metadata alone have a date")...)
	}},
	{"6.6.4", "the metadata say which part and level: 3, A", func(f archive) []string {
		return unless(f.property("part") == "3" && f.property("conformance") == "A", "part %q, level %q",
			f.property("part"), f.property("conformance"))
	}},
	{"6.8", "an embedded file has a type, a size that is right, two names, a relationship, and is linked from the " +
		"catalogue", func(f archive) []string {
		var wrong []string
		names, af := f.root.Key("Names").Key("EmbeddedFiles").Key("Names"), f.root.Key("AF")
		for i := 0; i < names.Len(); i += 2 {
			name, spec := names.Index(i).Text(), names.Index(i+1)
			file := spec.Key("EF").Key("F")
			data := f.bytesOf(file)
			sum := md5.Sum(data)
			linked := false
			for k := range af.Len() {
				linked = linked || af.Index(k).Key("UF").RawString() == spec.Key("UF").RawString()
			}
			wrong = append(wrong, slices.Concat(
				unless(spec.Key("Type").Name() == "Filespec" && spec.Key("F").Text() == name &&
					spec.Key("UF").Text() == name, "%s: names %q and %q", name, spec.Key("F").Text(),
					spec.Key("UF").Text()),
				unless(file.Key("Type").Name() == "EmbeddedFile" && strings.Contains(file.Key("Subtype").Name(), "/"),
					"%s: type %q", name, file.Key("Subtype").Name()),
				unless(file.Key("Params").Key("Size").Int64() == int64(len(data)) &&
					file.Key("Params").Key("CheckSum").RawString() == string(sum[:]), "%s: size or sum", name),
				unless(slices.Contains([]string{"Source", "Data", "Alternative", "Supplement", "Unspecified"},
					spec.Key("AFRelationship").Name()), "%s: related as %s", name, spec.Key("AFRelationship").Name()),
				unless(linked, "%s is not linked from the catalogue", name),
				unless(i == 0 || names.Index(i-2).RawString() < names.Index(i).RawString(), "%s is not in its place",
					name))...)
		}
		return append(wrong, unless(names.Len() == 2*f.attachments && af.Len() == f.attachments, "%d attachments of %d",
			names.Len()/2, f.attachments)...)
	}},
	{"6.9", "there is no optional content", func(f archive) []string { return unless(f.root.Key("OCProperties").IsNull(), "there are layers") }},
	{"6.10", "there are no alternate presentations or page transitions", func(f archive) []string {
		wrong := unless(f.root.Key("Names").Key("AlternatePresentations").IsNull(), "there are presentations")
		for n := 1; n <= f.r.NumPage(); n++ {
			wrong = append(wrong, unless(f.r.Page(n).V.Key("PresSteps").IsNull() && f.r.Page(n).V.Key("AA").IsNull(),
				"page %d", n)...)
		}
		return wrong
	}},
}

func TestArchiveRules(t *testing.T) {
	dated := demoOptions
	dated.Issued = "2026-11-25"
	for _, c := range []struct {
		name string
		d    document.Document
		o    Options
	}{{"demo", demo(), demoOptions}, {"dated", demo(), dated}, {"hard", hard(), Options{Program: "wedgework"}},
		{"edges", edges(), Options{}}, {"empty", document.Document{}, Options{}}} {
		file, _ := mustRender(t, c.d, c.o)
		f := readArchive(t, file, c.o)
		for _, r := range slices.Concat(archiveRules, tagRules) {
			for _, wrong := range r.check(f) {
				t.Errorf("%s: ISO 19005-3, %s: %s: %s", c.name, r.clause, r.rule, wrong)
			}
		}
	}
}

// The list must find what it is for: each of these changes breaks a rule.
func TestArchiveRulesBite(t *testing.T) {
	file, _ := mustRender(t, demo(), demoOptions)
	for _, c := range []struct{ clause, from, to string }{
		{"6.1.2", "\n%\xE2\xE3\xCF\xD3\n", "\n%abcd\n"},
		{"6.1.3", "/ID [", "/Id ["},
		{"6.2.3", "/S /GTS_PDFA1", "/S /GTS_PDFX "},
		{"6.2.11.3", "/Encoding /Identity-H", "/Encoding /Identity-V"},
		{"6.2.11.4", "/FontFile2 ", "/FontFile9 "},
		{"6.2.11.4", "/WEDGEW+Lib", "/Wedgework+"},
		{"6.2.11.5", "/W [ 32 [", "/X [ 32 ["},
		{"6.3", "/Subtype/Link/F 4/", "/Subtype/Link/F 2/"},
		{"6.4, 6.5", "/Type /Catalog", "/AA 1 /B /Catl"},
		{"6.6.2", "/Subtype /XML", "/Subtype /XMM"},
		{"6.6.3", "/Producer (", "/Keywords ("},
		{"6.6.4", "conformance>A<", "conformance>B<"},
		{"6.8", "/AFRelationship /Data", "/AFRelationship /Dada"},
		{"6.8", "/UF (report.ipynb)", "/UF (repart.ipynb)"},
		{"6.8", "/AF [", "/Af ["},
		{"6.6.2.3.3", ">pdfuaid</pdfaSchema:prefix>", ">pdfuaix</pdfaSchema:prefix>"},
		{"6.7.2", "/Marked true", "/Narked true"},
		{"6.7.2", "/StructTreeRoot ", "/StructTreeRoof "},
		{"6.7.3", "/RoleMap<<", "/RoleMop<<"},
		{"6.7.4", "/Lang (en-GB)", "/Lang (en_GB)"},
		{"UA 7.1", "/StructParents ", "/StructParentz "},
		{"UA 7.1", "/Nums[0[", "/Nums[1["},
		{"UA 7.3, 7.7", "/Alt(", "/Alx("},
		{"UA 7.4", "/S/H1/", "/S/H2/"},
		{"UA 7.5", "/Scope/Column", "/Scape/Column"},
		{"UA 7.5", "/S/TH/", "/S/TD/"},
		{"UA 7.6", "/S/Lbl/", "/S/Lbx/"},
		{"UA 7.18", "/Tabs/S", "/Tabs/R"},
		{"UA 7.18", "/StructParent ", "/StructParenz "},
		{"UA 7.18", "/Contents (", "/Contentz ("},
	} {
		broken := bytes.ReplaceAll(file, []byte(c.from), []byte(c.to))
		if len(c.from) != len(c.to) || bytes.Equal(broken, file) {
			t.Errorf("%q is not in the file, or its place cannot be taken by %q", c.from, c.to)
			continue
		}
		f := readArchive(t, broken, demoOptions)
		found := false
		for _, r := range slices.Concat(archiveRules, tagRules) {
			found = found || r.clause == c.clause && len(r.check(f)) > 0
		}
		if !found {
			t.Errorf("%q for %q: rule %s finds nothing wrong", c.to, c.from, c.clause)
		}
	}
}

func unless(ok bool, format string, args ...any) []string {
	if ok {
		return nil
	}
	return []string{fmt.Sprintf(format, args...)}
}

// archive is a file taken apart for the rules.
type archive struct {
	raw           []byte
	r             *reader.Reader
	trailer, root reader.Value
	all           []reader.Value // every value that can be reached from the trailer
	dictionaries  []reader.Value // those of streams included
	streams       []reader.Value
	xmp           []byte
	attachments   int
	blank         bool // nothing is printed on the pages
}

func readArchive(t *testing.T, file []byte, o Options) archive {
	t.Helper()
	r := open(t, file)
	f := archive{raw: file, r: r, trailer: r.Trailer(), root: r.Trailer().Key("Root"), attachments: len(o.Attachments)}
	f.walk(t, f.trailer, 0)
	f.xmp = f.bytesOf(f.root.Key("Metadata"))
	f.blank = true
	for n := 1; n <= r.NumPage(); n++ {
		f.blank = f.blank && len(pageStrings(r, n)) == 0
	}
	if len(f.streams) < 2 || len(f.dictionaries) < 5 {
		t.Fatalf("the walk found %d streams and %d dictionaries", len(f.streams), len(f.dictionaries))
	}
	return f
}

// walk lists what can be reached, without going up to parents or across to pages by their destinations.
func (f *archive) walk(t *testing.T, v reader.Value, depth int) {
	t.Helper()
	if depth > 400 {
		t.Fatal("the file nests without end")
	}
	f.all = append(f.all, v)
	switch v.Kind() {
	case reader.Array:
		for i := range v.Len() {
			f.walk(t, v.Index(i), depth+1)
		}
	case reader.Dict, reader.Stream:
		f.dictionaries = append(f.dictionaries, v)
		if v.Kind() == reader.Stream {
			f.streams = append(f.streams, v)
		}
		for _, key := range v.Keys() {
			if !slices.Contains([]string{"Parent", "Prev", "Last", "Dest", "OpenAction", "P", "Pg", "Obj",
				"ParentTree"}, key) {
				f.walk(t, v.Key(key), depth+1)
			}
		}
	}
}

func filters(v reader.Value) []string {
	f := v.Key("Filter")
	if f.Kind() == reader.Name {
		return []string{f.Name()}
	}
	var names []string
	for i := range f.Len() {
		names = append(names, f.Index(i).Name())
	}
	return names
}

func (f archive) bytesOf(v reader.Value) []byte {
	if v.Kind() != reader.Stream {
		return nil
	}
	data, err := io.ReadAll(v.Reader())
	if err != nil {
		return nil
	}
	return data
}

// property returns the text of an element of the metadata, "" when there is none.
func (f archive) property(path string) string {
	last := path[strings.LastIndex(path, ">")+1:]
	first, _, nested := strings.Cut(path, ">")
	d := xml.NewDecoder(bytes.NewReader(f.xmp))
	inside := !nested
	for {
		token, err := d.Token()
		if err != nil {
			return ""
		}
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		inside = inside || e.Name.Local == first
		if inside && e.Name.Local == last {
			var text string
			if d.DecodeElement(&text, &e) != nil {
				return ""
			}
			return text
		}
	}
}

// embeddedFont is what a face says about its codes.
type embeddedFont struct {
	glyphs  map[uint16]uint16 // by the map from codes to glyphs
	stated  map[uint16]int    // widths in the file
	unicode map[uint16]rune
	program []byte
}

// advance is the width of a glyph by the tables of the face (OpenType: head, hhea, hmtx), in thousandths of the size.
func (e embeddedFont) advance(glyph uint16) int {
	tables := map[string][]byte{}
	for i := range int(binary.BigEndian.Uint16(e.program[4:])) {
		row := e.program[12+16*i:]
		tables[string(row[:4])] = e.program[binary.BigEndian.Uint32(row[8:]):]
	}
	metrics := binary.BigEndian.Uint16(tables["hhea"][34:])
	n := min(glyph, metrics-1)
	return int(binary.BigEndian.Uint16(tables["hmtx"][4*int(n):])) *
		1000 / int(binary.BigEndian.Uint16(tables["head"][18:]))
}

func (f archive) font(v reader.Value) embeddedFont {
	d := v.Key("DescendantFonts").Index(0)
	e := embeddedFont{map[uint16]uint16{}, map[uint16]int{}, map[uint16]rune{},
		f.bytesOf(d.Key("FontDescriptor").Key("FontFile2"))}
	for code, m := 0, f.bytesOf(d.Key("CIDToGIDMap")); 2*code+1 < len(m); code++ {
		e.glyphs[uint16(code)] = binary.BigEndian.Uint16(m[2*code:])
	}
	w := d.Key("W")
	for i := 0; i < w.Len(); {
		first := int(w.Index(i).Int64())
		if list := w.Index(i + 1); list.Kind() == reader.Array {
			for k := range list.Len() {
				e.stated[uint16(first+k)] = int(list.Index(k).Int64())
			}
			i += 2
			continue
		}
		for code := first; code <= int(w.Index(i+1).Int64()); code++ {
			e.stated[uint16(code)] = int(w.Index(i + 2).Int64())
		}
		i += 3
	}
	number := func(hex string) int {
		n, _ := strconv.ParseUint(hex, 16, 32)
		return int(n)
	}
	toUnicode := string(f.bytesOf(v.Key("ToUnicode")))
	for _, m := range regexp.MustCompile(`<(\w{4})>\s*<(\w{4})>\s*<(\w{4})>`).FindAllStringSubmatch(toUnicode, -1) {
		if m[1][:2] != m[2][:2] {
			// a range may differ in its last byte only: this one maps nothing (6.2.11.7.2, by veraPDF's reading)
			continue
		}
		for code := number(m[1]); code <= number(m[2]); code++ {
			e.unicode[uint16(code)] = rune(number(m[3]) + code - number(m[1]))
		}
	}
	return e
}

// eachGlyph checks every code that a page shows once, in its face.
func (f archive) eachGlyph(check func(name string, font embeddedFont, code uint16) []string) []string {
	var wrong []string
	fonts := map[string]embeddedFont{}
	seen := map[string]bool{}
	for n := 1; n <= f.r.NumPage(); n++ {
		page := f.r.Page(n)
		name := ""
		reader.Interpret(page.V.Key("Contents"), func(stk *reader.Stack, op string) {
			var args []reader.Value
			for stk.Len() > 0 {
				args = append(args, stk.Pop())
			}
			switch op {
			case "Tf":
				v := page.Resources().Key("Font").Key(args[1].Name())
				name = v.Key("BaseFont").Name()
				if _, ok := fonts[name]; !ok {
					fonts[name] = f.font(v)
				}
			case "TJ", "'", "\"":
				wrong = append(wrong, "page "+strconv.Itoa(n)+" shows text by "+op+", which this check does not read")
			case "Tj":
				for raw := args[0].RawString(); len(raw) >= 2; raw = raw[2:] {
					code := uint16(raw[0])<<8 | uint16(raw[1])
					if key := fmt.Sprintf("%s %04X", name, code); !seen[key] {
						seen[key] = true
						wrong = append(wrong, check(name, fonts[name], code)...)
					}
				}
			}
		})
	}
	return append(wrong, unless(f.blank || len(seen) > 0, "no glyph was looked at")...)
}
