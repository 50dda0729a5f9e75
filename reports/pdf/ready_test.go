package pdf

import (
	"bytes"
	"compress/zlib"
	"io"
	"os"
	"testing"
)

// TestReadyFaces holds the faces that the program carries against what is cut from the fonts. Streams are compared
// unpacked: another version of Go may pack them otherwise.
func TestReadyFaces(t *testing.T) {
	if err := os.MkdirAll("ready", 0o755); err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{}
	for k := range programs {
		x := newFonts(nil).get(k)
		usual := x.usual()
		x.used = &usual
		known[x.name] = true
		cut, err := x.cut()
		if err != nil {
			t.Fatal(err)
		}
		if *update {
			if err := os.WriteFile(x.readyName(), cut.bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		ready, err := x.subset()
		if err != nil {
			t.Errorf("%v (go test ./reports/pdf -run TestReadyFaces -update writes it)", err)
			continue
		}
		for i := range cut.objects {
			if !bytes.Equal(unpackedObject(t, ready.objects[i]), unpackedObject(t, cut.objects[i])) {
				t.Errorf("%s: object %d is not what is cut now (go test ./reports/pdf -run TestReadyFaces -update)",
					x.name, i+1)
			}
		}
	}
	files, err := os.ReadDir("ready")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !known[f.Name()] {
			t.Errorf("ready/%s is no face of the program", f.Name())
		}
	}
}

// unpackedObject is an object without the length of its stream, which is unpacked.
func unpackedObject(t *testing.T, body []byte) []byte {
	t.Helper()
	head, stream, found := bytes.Cut(body, []byte("\nstream\n"))
	if !found || !bytes.Contains(head, []byte("/FlateDecode")) {
		return body
	}
	r, err := zlib.NewReader(bytes.NewReader(stream))
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(head, []byte("/Length "))
	if at < 0 {
		t.Fatalf("%.80q has no length", head)
	}
	return append(bytes.TrimRight(head[:at], " "), data...)
}

// TestReadySubsetsThatDoNotRead: what is not what bytes writes is refused.
func TestReadySubsetsThatDoNotRead(t *testing.T) {
	whole := subset{objects: make([][]byte, fontObjects)}
	for i := range whole.objects {
		whole.objects[i] = []byte("1 0 obj\n<<>>\nendobj\n")
	}
	data := whole.bytes()
	if s, err := readSubset(data); err != nil || !bytes.Equal(s.bytes(), data) {
		t.Errorf("got %q, %v, want what was written", s.bytes(), err)
	}
	for name, bad := range map[string][]byte{
		"nothing":          nil,
		"cut":              data[:len(data)-1],
		"an object less":   data[len(data)/fontObjects:],
		"a length of text": append([]byte("x\n"), data...),
		"below nothing":    append([]byte("-1\n"), data...),
	} {
		if _, err := readSubset(bad); err == nil {
			t.Errorf("%s: read", name)
		}
	}
}
