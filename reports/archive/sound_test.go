package archive

import (
	"bytes"
	"compress/zlib"
	"math/rand/v2"
	"strings"
	"testing"
)

// What this toolchain packs at any level is sound, and nothing that is changed in it is what unpacks to the same.
func TestSound(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	noise := make([]byte, 70_000)
	for i := range noise {
		noise[i] = byte(random.Uint32())
	}
	for name, plain := range map[string][]byte{
		"nothing": nil, "a byte": {'a'}, "zeros": make([]byte, 100_000), "noise": noise,
		"text": []byte(strings.Repeat("12.34 56.78 l\n", 5000) + "end"), "two": []byte("ab"),
		"runs": bytes.Repeat([]byte("aab"), 99),
	} {
		for level := zlib.HuffmanOnly; level <= zlib.BestCompression; level++ {
			packed := pack(plain, level)
			if err := Sound(packed); err != nil {
				t.Errorf("%s at level %d: %v", name, level, err)
			}
			for _, bad := range [][]byte{append(bytes.Clone(packed), 0), packed[:len(packed)-1], nil,
				append([]byte{0x18, 0x19}, packed[2:]...)} {
				if err := Sound(bad); err == nil && bytes.Equal(unpack(bad), plain) && len(bad) != len(packed) {
					t.Errorf("%s at level %d: sound with %d bytes of %d", name, level, len(bad), len(packed))
				}
			}
		}
	}
}

// Whatever is sound unpacks: the two decoders share nothing.
func FuzzSound(f *testing.F) {
	f.Add(pack([]byte("12.34 56.78 l\n12.34 56.79 l\n"), 6))
	f.Add(pack(bytes.Repeat([]byte("aab"), 99), 1))
	f.Fuzz(func(t *testing.T, packed []byte) {
		if Sound(packed) != nil {
			return
		}
		z, err := zlib.NewReader(bytes.NewReader(packed))
		if err != nil {
			t.Fatalf("sound, and zlib says %v", err)
		}
		var out bytes.Buffer
		if _, err := out.ReadFrom(z); err != nil && err != zlib.ErrChecksum {
			t.Fatalf("sound, and zlib says %v", err)
		}
	})
}

// Codes and blocks that decoders read differently, as bits: those of RFC 1951 from the lowest bit of each byte on.
func TestUnsound(t *testing.T) {
	for _, c := range []struct {
		name, want string
		deflated   []byte
	}{
		{"a third kind of block", "no known kind", []byte{7}},
		{"nothing", "cut short", []byte{}},
		{"a stored block with bits before it", "are not zero", []byte{1 | 0x80, 0, 0, 0xff, 0xff}},
		{"a stored block of another length", "length of a stored block", []byte{1, 1, 0, 0xff, 0xff, 'a'}},
		{"a stored block that is cut short", "length of a stored block", []byte{1, 2, 0, 0xfd, 0xff, 'a'}},
		{"bytes after the last block", "after the last block", []byte{1, 0, 0, 0xff, 0xff, 0}},
		{"bits after the last block", "after the last block", []byte{0x03, 0xf0}},
		{"a match before the beginning", "before the beginning", []byte{0x03, 0x02, 0, 0}},
		{"30 codes too many", "expected at most 286 and 30", []byte{0xfd, 0xff, 0xff}},
	} {
		packed := append(append([]byte{0x78, 0x9c}, c.deflated...), 0, 0, 0, 1)
		if err := Sound(packed); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
	for _, head := range []string{"\x08\x1d", "\x78\x9d", "\x78\xbb", "\x79\x99"} {
		if Sound([]byte(head+"\x03\x00\x00\x00\x00\x01")) == nil {
			t.Errorf("%q begins a stream that is sound", head)
		}
	}
}

func pack(plain []byte, level int) []byte {
	var b bytes.Buffer
	w, _ := zlib.NewWriterLevel(&b, level)
	w.Write(plain)
	w.Close()
	return b.Bytes()
}

func unpack(packed []byte) []byte {
	z, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil
	}
	var out bytes.Buffer
	out.ReadFrom(z)
	return out.Bytes()
}
