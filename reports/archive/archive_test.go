package archive

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/document"
	"wedgework/reports/pdf"
	"wedgework/reports/require"
)

// carried is a small report and what it carries.
func carried(t testing.TB) (file []byte, want []Attachment) {
	t.Helper()
	var attachments []pdf.Attachment
	for i, name := range []string{"record.json", "Prüfling (λ).csv", "a.txt", "empty"} {
		data := bytes.Repeat([]byte{byte(i), '(', ')', '\\', 255}, 100*i)
		attachments = append(attachments, pdf.Attachment{Name: name, MIME: "text/plain", Relation: "Data", Data: data})
	}
	file, _, err := pdf.Render(document.Document{Title: "T", Sections: []document.Section{{Title: "First",
		Blocks: []document.Block{document.Plain("some words")}}}},
		pdf.Options{Attachments: attachments})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range attachments {
		want = append(want, Attachment{a.Name, a.Data})
	}
	return file, want
}

func sorted(as []Attachment) map[string]string {
	m := map[string]string{}
	for _, a := range as {
		m[a.Name] = string(a.Data)
	}
	return m
}

func read(t testing.TB, file []byte) map[string]string {
	t.Helper()
	f, err := Open(file)
	if err != nil {
		t.Fatal(err)
	}
	as, err := f.Attachments()
	if err != nil {
		t.Fatal(err)
	}
	return sorted(as)
}

func TestAttachmentsComeBack(t *testing.T) {
	file, want := carried(t)
	if diff := cmp.Diff(read(t, file), sorted(want)); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
	f, err := Open(file)
	if err != nil {
		t.Fatal(err)
	}
	if pages, err := f.Pages(); err != nil || len(pages) != 1 {
		t.Errorf("pages %v, %v, want one", pages, err)
	}
}

// Another program appends to a report, as one that stamps or signs it does: the latest tables hold.
func TestUpdatesAreRead(t *testing.T) {
	file, want := carried(t)
	at := bytes.LastIndex(file, []byte("startxref\n"))
	var previous int
	fmt.Sscanf(string(file[at:]), "startxref\n%d", &previous)
	trailer := string(file[bytes.LastIndex(file, []byte("trailer")):at])
	grown := append(bytes.Clone(file), "9999 0 obj\n(stamped)\nendobj\n"...)
	table := len(grown)
	grown = fmt.Appendf(grown, "xref\n9999 1\n%010d 00000 n \n%s /Prev %d>>\nstartxref\n%d\n%%%%EOF\n",
		len(file), strings.TrimSuffix(strings.TrimSpace(trailer), ">>"), previous, table)
	if diff := cmp.Diff(read(t, grown), sorted(want)); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
	f, err := Open(grown)
	if err != nil {
		t.Fatal(err)
	}
	if v, err := f.Object(9999); err != nil || v != String("stamped") {
		t.Errorf("the added object is %v, %v", v, err)
	}
}

// qpdf writes a report anew: with tables it is read, with cross-reference streams the error says what to do.
func TestWrittenAnew(t *testing.T) {
	tool := require.Tool(t, "qpdf")
	file, want := carried(t)
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.pdf"), filepath.Join(dir, "out.pdf")
	put(t, in, file)
	for _, how := range []string{"disable", "generate"} {
		if printed, err := exec.Command(tool, "--object-streams="+how, in, out).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, printed)
		}
		anew := get(t, out)
		if how == "disable" {
			if diff := cmp.Diff(read(t, anew), sorted(want)); diff != "" {
				t.Errorf("-got +want:\n%s", diff)
			}
			continue
		}
		if _, err := Open(anew); err == nil || !strings.Contains(err.Error(), "qpdf --object-streams=disable") {
			t.Errorf("got %v, want an error that says how to get tables", err)
		}
	}
}

// bomb is a stream of many zeros.
func bomb(n int) string {
	var b bytes.Buffer
	z := zlib.NewWriter(&b)
	for range n >> 20 {
		z.Write(make([]byte, 1<<20))
	}
	z.Close()
	return b.String()
}

// doubling are nodes of a tree from number first on, each with the next one twice.
func doubling(first, n int) []string {
	var all []string
	for i := range n {
		all = append(all, fmt.Sprintf("<</Kids [%d 0 R %[1]d 0 R]>>", first+i+1))
	}
	return append(all, "<</Names []>>")
}

// content is a stream of packed bytes.
func content(packed string) string {
	return fmt.Sprintf("<</Filter /FlateDecode /Length %d>>\nstream\n%s\nendstream", len(packed), packed)
}

// file puts objects into a file with a table: what a hostile hand would write.
func file(trailer string, objects ...string) []byte {
	var b bytes.Buffer
	b.WriteString("%PDF-1.7\n")
	var offsets []int
	for i, o := range objects {
		offsets = append(offsets, b.Len())
		fmt.Fprintf(&b, "%d 0 obj\n%s\nendobj\n", i+1, o)
	}
	at := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(objects)+1)
	for _, o := range offsets {
		fmt.Fprintf(&b, "%010d 00000 n \n", o)
	}
	fmt.Fprintf(&b, "trailer\n<</Root 1 0 R %s>>\nstartxref\n%d\n%%%%EOF\n", trailer, at)
	return b.Bytes()
}

// What a small file can cost is bounded in all: it may name one thing any number of times.
func TestSmallFilesThatGrow(t *testing.T) {
	names := "<</Names <</EmbeddedFiles 2 0 R>>>>"
	long := "(" + strings.Repeat("a", 1<<20-1) + ")"
	twenty := content(bomb(20 << 20))
	const many = 20_000 // more than are read
	var each strings.Builder
	for i := range many {
		fmt.Fprintf(&each, "(%d) <</UF 3 0 R /EF <</F 4 0 R>>>> ", i)
	}
	for _, c := range []struct {
		name, want string
		data       []byte
	}{
		{"one object that is two attachments", "object 3 is two attachments",
			file("", names, "<</Names [(a) 3 0 R (b) 3 0 R]>>", "<</UF (a) /EF <</F 4 0 R>>>>", content(bomb(1)))},
		{"one content that is two attachments", "object 5 is two attachments",
			file("", names, "<</Names [(a) 3 0 R (b) 4 0 R]>>", "<</UF (a) /EF <</F 5 0 R>>>>",
				"<</UF (b) /EF <</F 5 0 R>>>>", content(bomb(1)))},
		{"a name without end", "expected at most 1024",
			file("", names, "<</Names [(a) <</UF 3 0 R>>]>>", long)},
		{"a node that is read again and again", "again and again", file("", names,
			"<</Kids ["+strings.Repeat("3 0 R ", 1000)+"]>>", "<</Names [] /X "+long+">>")},
		{"a string without end", "more than 1048576 bytes", file("", names, "("+strings.Repeat("a", 2<<20)+")")},
		{"a string in hexadecimal without end", "more than 1048576 bytes", file("", names,
			"<"+strings.Repeat("a", 4<<20)+">")},
		{"nodes that double", "values", file("", append([]string{names}, doubling(2, 50)...)...)},
		{"many names of one attachment", "is two attachments", file("", names,
			"<</Names ["+strings.Repeat("(a) 3 0 R ", many)+"]>>", "<</UF (a) /EF <</F 4 0 R>>>>", twenty)},
		{"many attachments of one content", "is two attachments", file("", names, "<</Names ["+each.String()+"]>>", "(a)",
			twenty)},
		{"many attachments of one long name", "expected at most 1024", file("", names,
			"<</Names ["+each.String()+"]>>", long, twenty)},
		{"many attachments", "more than 16384 attachments", manyAttachments(many)},
	} {
		f, err := Open(c.data)
		if err == nil {
			_, err = f.Attachments()
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %.200v, want an error with %q", c.name, err, c.want)
		}
	}
}

// manyAttachments is a file of so many attachments, each an object of its own.
func manyAttachments(n int) []byte {
	objects := []string{"<</Names <</EmbeddedFiles 2 0 R>>>>", ""}
	var names strings.Builder
	for i := range n {
		fmt.Fprintf(&names, "(%d) <</UF (a) /EF <</F %d 0 R>>>> ", i, i+3)
		objects = append(objects, "<</Length 1>>\nstream\nx\nendstream")
	}
	objects[1] = "<</Names [" + names.String() + "]>>"
	return file("", objects...)
}

func TestHostileFiles(t *testing.T) {
	names := "<</Names <</EmbeddedFiles 2 0 R>>>>"
	spec := "<</Names [(a) <</UF (a) /EF <</F 3 0 R>>>>]>>"
	packed, nearly := bomb(maxStream+1<<20), bomb(maxStream-1<<20)
	circle := file("/Prev 00", names)
	circle = bytes.Replace(circle, []byte("/Prev 00"), fmt.Appendf(nil, "/Prev %d",
		bytes.Index(circle, []byte("xref"))), 1)
	for _, c := range []struct {
		name, want string
		data       []byte
	}{
		{"empty", "not a PDF file", nil},
		{"cut short", "startxref is missing", []byte("%PDF-1.7\n")},
		{"no table", "no cross-reference table", []byte("%PDF-1.7\nstartxref\n0\n%%EOF\n")},
		{"table beyond the end", "expected one within the file", []byte("%PDF-1.7\nstartxref\n999999\n%%EOF\n")},
		{"table before the start", "expected one within the file", []byte("%PDF-1.7\nstartxref\n-5\n%%EOF\n")},
		{"tables in a circle", "expected one within the file", circle},
		{"encrypted", "encrypted", file("/Encrypt 2 0 R", names)},
		{"a million objects", "cross-reference table", []byte("%PDF-1.7\nxref\n0 999999999\nstartxref\n9\n%%EOF\n")},
		{"a tree without end", "has no end", file("", names, "<</Kids [2 0 R]>>")},
		{"a reference to itself", "without end", file("", names, "2 0 R")},
		{"nested without end", "deep", file("", names, strings.Repeat("[", 100000))},
		{"an attachment that is none", "has no content", file("", names, spec, "(text)")},
		{"an attachment without a name", "has no name", file("", names, "<</Names [(a) <</EF <</F 3 0 R>>>>]>>", "1")},
		{"a stream longer than the file", "which the file does not have",
			file("", names, spec, "<</Length 99999999>>\nstream\nx\nendstream")},
		{"a negative length", "which the file does not have",
			file("", names, spec, "<</Length -1>>\nstream\nx\nendstream")},
		{"a length that is its own stream", "without a length",
			file("", names, spec, "<</Length 3 0 R>>\nstream\nx\nendstream")},
		{"unpacks to too much", "bytes unpacked",
			file("", names, spec, fmt.Sprintf("<</Filter /FlateDecode /Length %d>>\nstream\n%s\nendstream", len(packed),
				packed))},
		{"unpacks to too much in all", "in all", file("", names,
			"<</Names [(a) 3 0 R (b) 4 0 R (c) 5 0 R (d) 6 0 R]>>",
			"<</UF (a) /EF <</F 7 0 R>>>>", "<</UF (b) /EF <</F 8 0 R>>>>", "<</UF (c) /EF <</F 9 0 R>>>>",
			"<</UF (d) /EF <</F 10 0 R>>>>", content(nearly), content(nearly), content(nearly), content(nearly))},
		{"another filter", "expected FlateDecode",
			file("", names, spec, "<</Filter /LZWDecode /Length 1>>\nstream\nx\nendstream")},
		{"another object than the table says", "there is no object 2", bytes.Replace(file("", names, spec),
			[]byte("\n2 0 obj"), []byte("\n7 0 obj"), 1)},
	} {
		f, err := Open(c.data)
		if err == nil {
			_, err = f.Attachments()
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %.200v, want an error with %q", c.name, err, c.want)
		}
	}
}

// values reads all values of a text.
func values(text []byte, strict bool) ([]Value, error) {
	left := maxValues
	l := lexer{data: text, left: &left, strict: strict}
	var all []Value
	for {
		if l.skip(); l.at >= len(l.data) {
			return all, nil
		}
		v, err := l.value(0)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
}

func TestLexer(t *testing.T) {
	for _, c := range []struct {
		in   string
		want []Value
	}{
		{"1 0 R", []Value{Ref(1)}},
		{"1 0 2", []Value{Number("1"), Number("0"), Number("2")}},
		{"-.5 +3 4.", []Value{Number("-.5"), Number("+3"), Number("4.")}},
		{`(a\(b\)(c)\\\n\101\7)`, []Value{String("a(b)(c)\\\nA\a")}},
		{"(a\\\r\nb)", []Value{String("ab")}},
		{"<48 65 6>", []Value{String("He`")}},
		{"/a#20b /", []Value{Name("a b"), Name("")}},
		{"<</A[1 true null]/B<<>>>>", []Value{Dict{"A": Array{Number("1"), true, nil}, "B": Dict{}}}},
		{"BT % remark\n/F1 9 Tf", []Value{Operator("BT"), Name("F1"), Number("9"), Operator("Tf")}},
	} {
		got, err := values([]byte(c.in), false)
		if diff := cmp.Diff(got, c.want); diff != "" || err != nil {
			t.Errorf("%s: %v, -got +want:\n%s", c.in, err, diff)
		}
	}
	for _, bad := range []string{"(a", "<4", "<4g>", "[1", "<<1 2>>", "<</A", ")", "]", "}", "(a\\"} {
		if got, err := values([]byte(bad), false); err == nil {
			t.Errorf("%q: got %v, want an error", bad, got)
		}
	}
}

// Whatever the bytes, reading ends, in an answer or an error.
func FuzzOpen(f *testing.F) {
	good, _ := carried(f)
	f.Add(good)
	f.Add(file("", "<</Names <</EmbeddedFiles 2 0 R>> /Pages 3 0 R>>", "<</Names [(a) <</UF (a) /EF <</F 3 0 R>>>>]>>",
		"<</Kids [3 0 R]>>"))
	f.Fuzz(func(t *testing.T, data []byte) {
		a, err := Open(data)
		if err != nil {
			return
		}
		_, _ = a.Attachments()
		pages, _ := a.Pages()
		for _, n := range pages {
			if v, err := a.Object(n); err == nil {
				if s, ok := v.(Stream); ok {
					_, _ = a.Unpack(s)
				}
			}
		}
		_, _ = values(data, true)
		_, _ = ReadWritten(data)
		for k := NewTokens(data); ; {
			if piece, err := k.Next(); err != nil || len(piece.Text) == 0 {
				break
			}
		}
	})
}

func put(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

func get(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// A byte that was changed within an attachment is said to be damage to the file, not to be trouble of a packing.
func TestDamagedStream(t *testing.T) {
	file, want := carried(t)
	damaged := 0
	for at := bytes.Index(file, []byte("/EmbeddedFile")); at < len(file); at += 11 {
		broken := bytes.Clone(file)
		broken[at] ^= 0x40
		f, err := Open(broken)
		if err == nil {
			_, err = f.Attachments()
		}
		if err == nil {
			continue
		}
		if s := err.Error(); strings.Contains(s, "zlib") || strings.Contains(s, "flate") {
			if damaged++; !strings.Contains(s, "damaged") {
				t.Errorf("byte %d of %d: %v", at, len(file), err)
			}
		}
	}
	if damaged == 0 {
		t.Errorf("no byte within the %d attachments was hit", len(want))
	}
}
