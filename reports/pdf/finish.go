package pdf

import (
	"bytes"
	"cmp"
	"compress/zlib"
	"crypto/md5"
	"crypto/sha256"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf16"
)

// metadata is what the finishing step adds to the file that fpdf writes. fpdf cannot write it, or writes it
// so that every bookmark leads astray.
type metadata struct {
	title, subject, program string
	issued                  string // day, as 2026-11-25, or ""
	attachments             []packed
	fonts                   []subset
	tags                    *tags
}

// object is one numbered object of a file, from its number to its endobj.
type object struct {
	number int
	body   []byte
}

var (
	trailerForm = regexp.MustCompile(`trailer\n<<\n/Size (\d+)\n/Root (\d+) 0 R\n/Info (\d+) 0 R\n>>\nstartxref\n(\d+)\n%%EOF\s*$`)
	namesForm   = regexp.MustCompile(`(?s)/Names <<\n/EmbeddedFiles .*?\n>>\n`)
)

// finish writes the file anew: the objects in their order, pages with their links and their places in the tree of
// elements, faces under their own names, that tree, then attachments, colour profile, metadata, catalogue,
// cross-references and an identifier made of the content. Dates are left out.
func finish(raw []byte, m metadata) ([]byte, error) {
	objects, root, info, err := split(raw)
	if err != nil {
		return nil, err
	}
	f := &file{next: len(objects) + 1}
	list := f.reserve(m.fonts)
	f.reserveTags(m.tags)
	// The comment of four bytes above 127 tells programs that copy the file that it is binary.
	f.out.WriteString("%PDF-1.7\n%\xE2\xE3\xCF\xD3\n")
	var catalogue string
	for _, o := range objects {
		switch o.number {
		case root:
			if catalogue, err = dictionary(o.body); err != nil {
				return nil, fmt.Errorf("catalogue: %w", err)
			}
		case info:
			// written below, without its dates
		case resources:
			body := bytes.Replace(o.body, []byte("\n/Font <<\n>>\n"), []byte("\n/Font <<"+list+">>\n"), 1)
			if len(m.fonts) > 0 && len(body) == len(o.body) {
				return nil, errors.New("the resources are not as expected")
			}
			f.put(o.number, body)
		default:
			body := compressed(o.body)
			if isPage(o.body) {
				if body, err = f.page(o.number, o.body); err != nil {
					return nil, err
				}
			}
			f.put(o.number, body)
		}
	}
	f.embed(m.fonts)
	if err := f.putTags(); err != nil {
		return nil, err
	}
	names, attached := f.attach(m.attachments)
	profile := f.stream("/N 3", thorough.deflate(srgbProfile()))
	xmp := xmpPacket(m)
	// Not compressed: programs that know nothing of PDF find it by searching the file.
	meta := f.object(fmt.Sprintf("<</Type /Metadata /Subtype /XML /Length %d>>\nstream\n%s\nendstream", len(xmp), xmp))
	f.put(info, fmt.Appendf(nil, "%d 0 obj\n<<%s>>\nendobj\n", info, m.information()))

	// All that leads to other objects; a file without attachments has no empty name tree.
	extra := fmt.Sprintf("/StructTreeRoot %d 0 R\n/MarkInfo <</Marked true>>\n/Metadata %d 0 R\n"+
		"/ViewerPreferences <</DisplayDocTitle true>>\n"+
		"/OutputIntents [<</Type /OutputIntent /S /GTS_PDFA1 /OutputConditionIdentifier (sRGB) "+
		"/RegistryName (http://www.color.org) /Info (sRGB IEC61966-2.1) /DestOutputProfile %d 0 R>>]\n",
		f.treeRoot, meta, profile)
	if len(m.attachments) > 0 {
		extra += fmt.Sprintf("/AF [%s]\n/Names <</EmbeddedFiles <</Names [%s]>>>>\n", attached, names)
	}
	catalogue = namesForm.ReplaceAllString(catalogue, "")
	f.put(root, fmt.Appendf(nil, "%d 0 obj\n<<\n%s%s>>\nendobj\n", root, catalogue, extra))
	return f.close(root, info), nil
}

// information is what the document information says; the XMP packet says the same. Without a day that was asked for
// there is no date.
func (m metadata) information() string {
	s := fmt.Sprintf("/Title %s /Creator %s /Producer %s", textString(m.title), textString(m.program),
		textString(m.program))
	if m.subject != "" {
		s += " /Subject " + textString(m.subject)
	}
	if m.issued != "" {
		s += fmt.Sprintf(" /CreationDate (D:%s)", strings.ReplaceAll(m.issued, "-", ""))
	}
	return s
}

// split takes a file of fpdf apart by its own table. What does not look as this release writes it is an
// error: it must never be guessed where an object ends.
func split(raw []byte) (objects []object, root, info int, err error) {
	tail := raw[max(0, len(raw)-400):]
	t := trailerForm.FindSubmatch(tail)
	if t == nil {
		return nil, 0, 0, errors.New("the trailer is not as expected")
	}
	var n [4]int
	for i := range n {
		if n[i], err = strconv.Atoi(string(t[i+1])); err != nil {
			return nil, 0, 0, fmt.Errorf("trailer: %w", err)
		}
	}
	size, xref := n[0], n[3]
	const row = 20 // bytes of an entry of the table
	head := fmt.Sprintf("xref\n0 %d\n0000000000 65535 f \n", size)
	if xref >= len(raw) || !bytes.HasPrefix(raw[xref:], []byte(head)) || len(raw) < xref+len(head)+(size-1)*row {
		return nil, 0, 0, errors.New("the cross-reference table is not as expected")
	}
	type entry struct{ number, offset int }
	entries := make([]entry, size-1)
	for i := range entries {
		at := xref + len(head) + i*row
		offset, err := strconv.Atoi(string(raw[at : at+10]))
		if err != nil || offset <= 0 || offset >= xref {
			return nil, 0, 0, fmt.Errorf("the place of object %d is %q", i+1, raw[at:at+10])
		}
		entries[i] = entry{i + 1, offset}
	}
	slices.SortFunc(entries, func(a, b entry) int { return cmp.Compare(a.offset, b.offset) })
	for i, e := range entries {
		end := xref
		if i+1 < len(entries) {
			end = entries[i+1].offset
		}
		body := raw[e.offset:end]
		if !bytes.HasPrefix(body, fmt.Appendf(nil, "%d 0 obj\n", e.number)) || !bytes.HasSuffix(body,
			[]byte("endobj\n")) {
			return nil, 0, 0, fmt.Errorf("object %d is not as expected", e.number)
		}
		objects = append(objects, object{e.number, body})
	}
	return objects, n[1], n[2], nil
}

// dictionary returns what stands between the brackets of an object that is one dictionary.
func dictionary(body []byte) (string, error) {
	from, to := bytes.Index(body, []byte("<<\n")), bytes.LastIndex(body, []byte(">>\nendobj"))
	if from < 0 || to < from {
		return "", errors.New("it is not a dictionary")
	}
	return string(body[from+3 : to]), nil
}

// resources is the number that fpdf gives to the resources of all pages.
const resources = 2

func isPage(body []byte) bool {
	return bytes.Contains(body[:min(len(body), 64)], []byte("<</Type /Page\n"))
}

var plainForm = regexp.MustCompile(`^(\d+ 0 obj\n)<</Length (\d+)>>\nstream\n`)

// compressed returns an object that is a plain stream as a compressed one; all others as they are.
func compressed(body []byte) []byte {
	m := plainForm.FindSubmatch(body)
	if m == nil {
		return body
	}
	n, err := strconv.Atoi(string(m[2]))
	const tail = "\nendstream\nendobj\n"
	if err != nil || len(body) != len(m[0])+n+len(tail) {
		return body
	}
	data := quick.deflate(body[len(m[0]) : len(m[0])+n])
	out := fmt.Appendf(make([]byte, 0, len(data)+100), "%s<</Filter /FlateDecode /Length %d>>\nstream\n", m[1],
		len(data))
	return append(append(out, data...), tail...)
}

// file collects objects and where they begin.
type file struct {
	out     bytes.Buffer
	offsets []int // of the objects, by their numbers
	next    int
	fonts   int // the number reserved for the first object of a font

	tags              *tags
	shared            map[string]int // numbers of the attributes that many elements have
	treeRoot, parents int            // numbers of the root of the tree, and of what leads back to it
	scratch           []byte
}

func (f *file) put(number int, body []byte) {
	f.begin(number)
	f.out.Write(body)
}

// begin notes where an object begins.
func (f *file) begin(number int) {
	if more := number + 1 - len(f.offsets); more > 0 {
		f.offsets = append(f.offsets, make([]int, more)...)
	}
	f.offsets[number] = f.out.Len()
}

// putAs adds an object with a content under a number that was reserved.
func (f *file) putAs(number int, content []byte) {
	f.begin(number)
	f.out.Write(strconv.AppendInt(f.out.AvailableBuffer(), int64(number), 10))
	f.out.WriteString(" 0 obj\n")
	f.out.Write(content)
	f.out.WriteString("\nendobj\n")
}

// object adds an object under a new number.
func (f *file) object(content string) int {
	n := f.next
	f.next++
	f.put(n, fmt.Appendf(nil, "%d 0 obj\n%s\nendobj\n", n, content))
	return n
}

// stream adds a stream under a new number, compressed already.
func (f *file) stream(dict string, z []byte) int {
	return f.object(fmt.Sprintf("<<%s /Filter /FlateDecode /Length %d>>\nstream\n%s\nendstream", dict, len(z), z))
}

// Pages of lines and text become little smaller by more work, and at level 4 attachments take half the time of the
// usual one for files a hundredth larger.
var thorough, quick = compressor{level: 4}, compressor{level: zlib.BestSpeed}

// compressor keeps its writer for reuse: that is the better part of a megabyte, and a pool would drop it with every
// collection. Documents that one process writes side by side take turns.
type compressor struct {
	level int
	sync.Mutex
	writer *zlib.Writer
}

func (c *compressor) deflate(data []byte) []byte {
	c.Lock()
	defer c.Unlock()
	if c.writer == nil {
		c.writer, _ = zlib.NewWriterLevel(nil, c.level) // a level that there is
	}
	var z bytes.Buffer
	z.Grow(len(data) / 3) // mostly they become smaller than that
	c.writer.Reset(&z)
	_, _ = c.writer.Write(data) // into memory, which does not fail
	_ = c.writer.Close()
	c.writer.Reset(nil) // or what was written last would be kept too
	return z.Bytes()
}

// close writes the table and the trailer. The identifier is a hash of everything before it: equal files
// have equal ones, and no clock is asked.
func (f *file) close(root, info int) []byte {
	id := sha256.Sum256(f.out.Bytes())
	at := f.out.Len()
	fmt.Fprintf(&f.out, "xref\n0 %d\n0000000000 65535 f \n", f.next)
	for _, offset := range f.offsets[1:f.next] {
		const zeros = "0000000000"
		digits := strconv.Itoa(offset)
		f.out.WriteString(zeros[len(digits):])
		f.out.WriteString(digits)
		f.out.WriteString(" 00000 n \n")
	}
	fmt.Fprintf(&f.out, "trailer\n<</Size %d /Root %d 0 R /Info %d 0 R /ID [<%X> <%X>]>>\nstartxref\n%d\n%%%%EOF\n",
		f.next, root, info, id[:16], id[:16], at)
	return f.out.Bytes()
}

// packed is an attachment, compressed.
type packed struct {
	Attachment
	z   []byte
	sum [md5.Size]byte
}

// pack compresses attachments beside whatever else is done until they are asked for, and puts them in the order of
// their names, which a reader searches by halving.
func pack(as []Attachment) func() ([]packed, error) {
	all := make([]packed, len(as))
	for i, a := range slices.SortedFunc(slices.Values(as), func(a, b Attachment) int {
		return cmp.Compare(textString(a.Name), textString(b.Name))
	}) {
		all[i].Attachment = a
	}
	var work sync.WaitGroup
	var err error
	work.Go(func() {
		defer catch(&err)
		for i := range all {
			all[i].z, all[i].sum = thorough.deflate(all[i].Data), md5.Sum(all[i].Data)
		}
	})
	return func() ([]packed, error) { work.Wait(); return all, err }
}

// attach adds the attachments.
func (f *file) attach(all []packed) (names, list string) {
	var n, l strings.Builder
	for _, a := range all {
		data := f.stream(fmt.Sprintf("/Type /EmbeddedFile /Subtype /%s /Params <</Size %d /CheckSum <%X>>>",
			pdfName(a.MIME), len(a.Data), a.sum), a.z)
		name := textString(a.Name)
		spec := f.object(fmt.Sprintf("<</Type /Filespec /F %s /UF %s /Desc %s /AFRelationship /%s /EF <</F %d 0 R "+
			"/UF %d 0 R>>>>",
			name, name, textString(a.Description), a.Relation, data, data))
		fmt.Fprintf(&n, "%s %d 0 R ", name, spec)
		fmt.Fprintf(&l, "%d 0 R ", spec)
	}
	return strings.TrimSpace(n.String()), strings.TrimSpace(l.String())
}

// checkAttachments refuses what cannot be named or found again.
func checkAttachments(as []Attachment) error {
	seen := map[string]bool{}
	for i, a := range as {
		switch {
		case a.Name == "" || strings.ContainsAny(a.Name, "/\\\x00"):
			return fmt.Errorf("pdf: attachment %d is named %q, expected a plain file name", i+1, a.Name)
		case seen[a.Name]:
			return fmt.Errorf("pdf: two attachments are named %q", a.Name)
		case a.MIME == "":
			return fmt.Errorf("pdf: attachment %q has no MIME type", a.Name)
		case !slices.Contains([]string{"Source", "Data", "Alternative", "Supplement", "Unspecified"}, a.Relation):
			return fmt.Errorf("pdf: attachment %q is related as %q, expected Source, Data, Alternative, Supplement "+
				"or Unspecified", a.Name, a.Relation)
		}
		seen[a.Name] = true
	}
	return nil
}

var escapes = strings.NewReplacer(`\`, `\\`, "(", `\(`, ")", `\)`)

// textString writes a text string of PDF: as it is where plain ASCII will do, else as UTF-16 in hexadecimal.
func textString(s string) string {
	plain := true
	for _, r := range s {
		if r < ' ' || r > '~' {
			plain = false
		}
	}
	if plain {
		return "(" + escapes.Replace(s) + ")"
	}
	return fmt.Sprintf("<%X>", utf16Text(s))
}

// utf16Text encodes text for PDF, the byte order mark before it.
func utf16Text(s string) []byte {
	b := []byte{0xFE, 0xFF}
	for _, u := range utf16.Encode([]rune(s)) {
		b = append(b, byte(u>>8), byte(u))
	}
	return b
}

// pdfName writes a name of PDF, as a MIME type with its slash.
func pdfName(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if c := s[i]; c <= ' ' || c > '~' || strings.IndexByte("/#()<>[]{}%", c) >= 0 {
			fmt.Fprintf(&b, "#%02X", c)
		} else {
			b.WriteByte(c)
		}
	}
	return b.String()
}
