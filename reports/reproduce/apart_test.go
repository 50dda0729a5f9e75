package reproduce

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"testing"
)

// apart is a file taken apart by means of its own, to be changed and put together again.
type apart struct {
	header  []byte
	objects []piece
	trailer string // without its keys Size and ID
	size    int

	old []byte // the file as it was
}

type piece struct {
	number       int
	head, stream []byte // stream is nil where there is none
}

var (
	objectHead = regexp.MustCompile(`\A(\d+) 0 obj\n`)
	lengthKey  = regexp.MustCompile(`/Length (\d+)`)
	trailerAll = regexp.MustCompile(`trailer\n<</Size (\d+) (.*) /ID \[<\w+> <\w+>\]>>\n`)
)

// takeApart knows how reports are written: it finds the ends of streams by their lengths and those of objects by their
// lines.
func takeApart(t testing.TB, pdf []byte) *apart {
	t.Helper()
	at := bytes.Index(pdf, []byte("\n%")) + 7
	x := &apart{header: pdf[:at]}
	for {
		m := objectHead.FindSubmatch(pdf[at:])
		if m == nil {
			break
		}
		n, _ := strconv.Atoi(string(m[1]))
		at += len(m[0])
		end, stream := bytes.Index(pdf[at:], []byte("\nendobj\n")), bytes.Index(pdf[at:], []byte("\nstream\n"))
		p := piece{number: n}
		if stream >= 0 && stream < end {
			p.head = bytes.Clone(pdf[at : at+stream])
			size, err := strconv.Atoi(string(lengthKey.FindSubmatch(p.head)[1]))
			if err != nil {
				t.Fatal(err)
			}
			at += stream + len("\nstream\n")
			p.stream = bytes.Clone(pdf[at : at+size])
			at += size + len("\nendstream")
			end = 0
		} else {
			p.head = bytes.Clone(pdf[at : at+end])
		}
		at += end + len("\nendobj\n")
		x.objects = append(x.objects, p)
	}
	m := trailerAll.FindSubmatch(pdf[at:])
	if m == nil || len(x.objects) == 0 {
		t.Fatalf("the file was not taken apart: %d objects", len(x.objects))
	}
	x.size, _ = strconv.Atoi(string(m[1]))
	x.trailer = string(m[2])
	if !bytes.Equal(x.bytes(), pdf) {
		t.Fatal("put together again the file is another one")
	}
	return x
}

func (x *apart) clone() *apart {
	y := *x
	y.objects = nil
	for _, p := range x.objects {
		p.head = bytes.Clone(p.head)
		if p.stream != nil {
			p.stream = append([]byte{}, p.stream...)
		}
		y.objects = append(y.objects, p)
	}
	return &y
}

// written is an object as it is written, its length put right.
func (p piece) written() []byte {
	b := fmt.Appendf(nil, "%d 0 obj\n", p.number)
	if p.stream == nil {
		return fmt.Appendf(b, "%s\nendobj\n", p.head)
	}
	head := lengthKey.ReplaceAll(p.head, []byte("/Length "+strconv.Itoa(len(p.stream))))
	return fmt.Appendf(b, "%s\nstream\n%s\nendstream\nendobj\n", head, p.stream)
}

// body is the file up to its table, and where each object begins.
func (x *apart) body(write func(piece) []byte) ([]byte, map[int]int) {
	b, offsets := bytes.Clone(x.header), map[int]int{}
	for _, p := range x.objects {
		offsets[p.number] = len(b)
		b = append(b, write(p)...)
	}
	return b, offsets
}

// bytes puts the file together with lengths, places and identifier as they belong.
func (x *apart) bytes() []byte { return x.closed(x.body(piece.written)) }

func (x *apart) closed(b []byte, offsets map[int]int) []byte {
	id, at := sha256.Sum256(b), len(b)
	b = fmt.Appendf(b, "xref\n0 %d\n0000000000 65535 f \n", x.size)
	for n := 1; n < x.size; n++ {
		b = fmt.Appendf(b, "%010d 00000 n \n", offsets[n])
	}
	return fmt.Appendf(b, "trailer\n<</Size %d %s /ID [<%X> <%[3]X>]>>\nstartxref\n%d\n%%%%EOF\n", x.size, x.trailer,
		id[:16], at)
}

func inflated(t testing.TB, packed []byte) []byte {
	t.Helper()
	z, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		t.Fatal(err)
	}
	plain, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return plain
}

// deflated packs at another level than reports are packed at.
func deflated(plain []byte) []byte {
	var b bytes.Buffer
	w, _ := zlib.NewWriterLevel(&b, 9)
	w.Write(plain)
	w.Close()
	return b.Bytes()
}
