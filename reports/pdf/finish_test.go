package pdf

import (
	"encoding/binary"
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"

	"wedgework/reports/document"
)

func TestMetadata(t *testing.T) {
	d := document.Document{Title: "Prüfung (λ) & <Ziel>", Subtitle: "ein \\ Untertitel"}
	file, _ := mustRender(t, d, Options{Program: "wedgework 0.1"})
	if !strings.HasPrefix(string(file), "%PDF-1.7\n%\xE2\xE3\xCF\xD3\n") {
		t.Errorf("the file begins with %q, want the version and a binary comment", file[:16])
	}
	trailer := open(t, file).Trailer()
	for key, want := range map[string]string{"Title": d.Title, "Subject": d.Subtitle, "Producer": "wedgework 0.1",
		"Creator": "wedgework 0.1"} {
		if got := trailer.Key("Info").Key(key).Text(); got != want {
			t.Errorf("Info %s is %q, want %q", key, got, want)
		}
	}
	root := trailer.Key("Root")
	xmp, err := io.ReadAll(root.Key("Metadata").Reader())
	if err != nil {
		t.Fatal(err)
	}
	var packet struct {
		RDF struct {
			Description struct {
				Title string `xml:"title>Alt>li"`
				Tool  string `xml:"CreatorTool"`
			}
		}
	}
	if err := xml.Unmarshal(xmp, &packet); err != nil {
		t.Fatalf("the metadata are not well-formed: %v\n%s", err, xmp)
	}
	if got := packet.RDF.Description; got.Title != d.Title || got.Tool != "wedgework 0.1" {
		t.Errorf("the metadata say %+v, want the title and the program", got)
	}
	if got := root.Key("OutputIntents").Index(0).Key("DestOutputProfile").Key("N").Int64(); got != 3 {
		t.Errorf("the output intent's profile has %d components, want 3", got)
	}
	if !root.Key("Names").IsNull() || !root.Key("AF").IsNull() {
		t.Error("a file without attachments has a name tree or a list of them")
	}
}

func TestSplitRefusesWhatItDoesNotKnow(t *testing.T) {
	w := testWriter()
	w.pdf.AddPage()
	raw, err := w.output()
	if err != nil {
		t.Fatal(err)
	}
	if _, _, _, err := split(raw); err != nil {
		t.Fatalf("split of a good file: %v", err)
	}
	s := string(raw)
	tests := []struct{ name, file, want string }{
		{"empty", "", "the trailer is not as expected"},
		{"cut", s[:len(s)-10], "the trailer is not as expected"},
		{"table elsewhere", strings.Replace(s, "startxref\n", "startxref\n9", 1),
			"the cross-reference table is not as expected"},
		{"place is no number", strings.Replace(s, "0000000009 00000 n", "00000000x9 00000 n", 1),
			`the place of object`},
		{"object elsewhere", strings.Replace(s, "3 0 obj", "9 0 obj", 1), "object 3 is not as expected"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if tt.file == s {
				t.Fatal("the case does not change the file")
			}
			_, err := finish([]byte(tt.file), metadata{})
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got error %v, want %q in it", err, tt.want)
			}
		})
	}
}

func TestTextString(t *testing.T) {
	tests := []struct{ in, want string }{
		{"plain", "(plain)"},
		{`a (b) \ c`, `(a \(b\) \\ c)`},
		{"λ", "<FEFF03BB>"},
		{"\U0001F600", "<FEFFD83DDE00>"},
		{"a\nb", "<FEFF0061000A0062>"},
	}
	for _, tt := range tests {
		if got := textString(tt.in); got != tt.want {
			t.Errorf("textString(%q) = %s, want %s", tt.in, got, tt.want)
		}
	}
	if got := pdfName("text/x y(#)é"); got != "text#2Fx#20y#28#23#29#C3#A9" {
		t.Errorf("pdfName = %s", got)
	}
}

// TestProfile compares the profile with the colorants published for sRGB in ICC profiles (International
// Color Consortium, "sRGB v2 profile" and IEC 61966-2-1:1999 with D50 adaptation).
func TestProfile(t *testing.T) {
	p := srgbProfile()
	if got := int(binary.BigEndian.Uint32(p)); got != len(p) {
		t.Errorf("the profile states %d bytes, has %d", got, len(p))
	}
	if got := string(p[36:40]); got != "acsp" {
		t.Errorf("signature %q, want acsp", got)
	}
	tags := map[string][]byte{}
	n := int(binary.BigEndian.Uint32(p[128:]))
	for i := range n {
		e := p[132+12*i:]
		off, size := binary.BigEndian.Uint32(e[4:]), binary.BigEndian.Uint32(e[8:])
		if int(off+size) > len(p) || off%4 != 0 {
			t.Fatalf("tag %s lies at %d with %d bytes, outside the profile or not on a word", e[:4], off, size)
		}
		tags[string(e[:4])] = p[off : off+size]
	}
	const tolerance = 3e-4 // published colorants differ by this much in the rounding of D50 and D65
	for name, want := range map[string][3]float64{
		"rXYZ": {0.4361, 0.2225, 0.0139}, "gXYZ": {0.3851, 0.7169, 0.0971}, "bXYZ": {0.1431, 0.0606, 0.7141},
		"wtpt": {0.9642, 1, 0.8249},
	} {
		for i, v := range want {
			got := float64(int32(binary.BigEndian.Uint32(tags[name][8+4*i:]))) / 65536
			if math.Abs(got-v) > tolerance {
				t.Errorf("%s[%d] = %.4f, want %.4f", name, i, got, v)
			}
		}
	}
	curve := tags["gTRC"]
	if n := binary.BigEndian.Uint32(curve[8:]); n != 1024 {
		t.Fatalf("the curve has %d points, want 1024", n)
	}
	at := func(i int) float64 { return float64(binary.BigEndian.Uint16(curve[12+2*i:])) / 65535 }
	if at(0) != 0 || at(1023) != 1 || math.Abs(at(512)-0.2145) > 5e-4 { // ((0.5005+0.055)/1.055)^2.4
		t.Errorf("the curve is %g, %g, %g at 0, half and 1, want 0, 0.2145, 1", at(0), at(512), at(1023))
	}
}
