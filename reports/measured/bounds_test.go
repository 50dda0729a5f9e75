package measured

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// megabytes is the size of the hostile files of these tests; the soak takes those that were found to fill a machine.
func megabytes() int {
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		return 200
	}
	return 12
}

// hostile are files that hold hardly anything, each of about so many bytes, and what becomes of them.
var hostile = []struct {
	name string
	make func(size int) []byte
	want string
}{
	{"commas", func(n int) []byte { return bytes.Repeat([]byte(","), n) }, "found a line of more than 1 MB"},
	{"newlines", func(n int) []byte { return bytes.Repeat([]byte("\n"), n) }, "found an empty file"},
	{"carriage returns", func(n int) []byte { return bytes.Repeat([]byte("\r"), n) }, "found an empty file"},
	{"newlines below a row", func(n int) []byte {
		return append([]byte(head+"1550,23,40\n"), bytes.Repeat([]byte("\n"),
			n)...)
	}, ""},
	{"commas in lines", func(n int) []byte { return bytes.Repeat([]byte(strings.Repeat(",", 999)+"\n"), n/1000) },
		"no row with the heads"},
	{"commas below heads", func(n int) []byte {
		return append([]byte(head), bytes.Repeat([]byte(",,\n"), n/3)...)
	}, "rows of 3 columns, which need"},
	{"metadata", func(n int) []byte { return bytes.Repeat([]byte("# operator: somebody\n"), n/21) },
		"found more metadata and comments, expected at most 10000 lines"},
	{"keys above the heads", func(n int) []byte { return bytes.Repeat([]byte("operator,somebody\n"), n/18) },
		"found more metadata and comments"},
	{"comments below the heads", func(n int) []byte {
		return append([]byte(head+"1550,23,40\n"), bytes.Repeat([]byte("# dust on it\n"), n/13)...)
	}, "found more metadata and comments"},
	{"columns", func(n int) []byte {
		var b strings.Builder
		for i := 0; b.Len() < min(n, mostLine-100); i++ {
			fmt.Fprintf(&b, "wavelength [nm],%d,", i)
		}
		return []byte(b.String() + "\n1550\n")
	}, "found a field, expected at most 1024 columns"},
	{"units", func(n int) []byte {
		var b bytes.Buffer
		b.WriteString("unit,wavelength [nm],temperature [degC],isolation [dB]\n")
		for i := 0; b.Len() < n; i++ {
			fmt.Fprintf(&b, "%d,1550,23,40\n", i)
		}
		return b.Bytes()
	}, "line 10002, column 1 (unit): found \"10000\", expected one of at most 10000 different names"},
	{"empty columns", func(n int) []byte {
		var heads, row strings.Builder
		heads.WriteString("wavelength [nm],temperature [degC],isolation [dB]")
		row.WriteString("1550,23,40")
		for i := range 400 {
			fmt.Fprintf(&heads, ",%d", i)
			row.WriteString(",")
		}
		return append([]byte(heads.String()+"\n"), bytes.Repeat([]byte(row.String()+"\n"), n/row.Len())...)
	}, "rows of 403 columns, which need"},
	{"no heads at all", func(n int) []byte { return bytes.Repeat([]byte("a,b,c,d\n"), n/8) },
		"expected the heads of the columns"},
	{"UTF-16", func(n int) []byte { return bytes.Repeat([]byte("\n\x00"), n/2) }, "found an empty file"},
	{"quotes", func(n int) []byte { return bytes.Repeat([]byte("\"\n"), n/2) },
		"found a quoted field that runs over the end of its line"},
}

// passing is what looking for heads in the lines above the data may leave behind, a few kB a line.
const passing = 64 << 20

// TestHostileFiles: a file that holds hardly anything is read or refused within a multiple of its size. What is
// counted is all that is ever allocated, of which the memory in use is a part.
func TestHostileFiles(t *testing.T) {
	for _, c := range hostile {
		f := File{Name: "hostile.csv", Data: c.make(megabytes() << 20)}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := ReadPart(t.Context(), f, Part{})
		runtime.ReadMemStats(&after)
		if used, most := after.TotalAlloc-before.TotalAlloc,
			uint64(mostMultiple*max(len(f.Data), smallFile)+passing); used > most {
			t.Errorf("%s: %d MB for %d MB", c.name, used>>20, len(f.Data)>>20)
		}
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
	}
}

// TestReaderLooksAtItsContext: reading is ended by its context once in a megabyte of whatever it reads. The context of
// the test ends when it has been looked at so often.
func TestReaderLooksAtItsContext(t *testing.T) {
	size := megabytes() << 20
	rows := append([]byte(head), bytes.Repeat([]byte("1550,23,40\n"), size/11)...)
	for _, c := range []struct {
		name string
		data []byte
	}{
		{"newlines", bytes.Repeat([]byte("\n"), size)},
		{"wide letters", bytes.Repeat([]byte("µ"), size/2)},
		{"rows", rows},
		{"rows in quotes", append([]byte(head), bytes.Repeat([]byte("1550,23,\"40\"\n"), size/13)...)},
		{"western letters", bytes.Repeat([]byte("# \xe4\n"), size/4)},
		{"UTF-16", bytes.Repeat([]byte("#\x00\n\x00"), size/4)},
	} {
		ctx := &countdown{Context: t.Context(), left: 3}
		_, err := readPart(ctx, File{Name: "long.csv", Data: c.data}, Part{})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%s: got %v, want the end of the context: it was looked at %d times in %d MB", c.name, err,
				3-ctx.left, size>>20)
		}
	}
}

// countdown is a context that ends when it has been looked at so often.
type countdown struct {
	context.Context
	left int
}

func (c *countdown) Err() error {
	if c.left--; c.left <= 0 {
		return context.Canceled
	}
	return nil
}

// TestReadSheetReturnsWithItsContext: the call returns when its context ends, wherever the reading stands.
func TestReadSheetReturnsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancelCause(t.Context())
	enough := errors.New("enough")
	cancel(enough)
	data := append([]byte(head), bytes.Repeat([]byte("1550,23,40\n"), 1<<20)...)
	if _, err := ReadPart(ctx, File{Name: "long.csv", Data: data}, Part{}); !errors.Is(err, enough) &&
		!errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want the cause", err)
	}
}

// spreadsheetSpace is the name space of ECMA-376.
const spreadsheetSpace = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"

// TestSharedStringsBomb: a workbook of some kilobytes whose table of texts holds millions of empty ones is refused
// before the library makes a structure of each.
func TestSharedStringsBomb(t *testing.T) {
	book := bytesOf(t, func(f *excelize.File) error { return sheetOf(f, "Sheet1", plainRows...) })
	for _, c := range []struct{ name, part, what string }{
		{"texts", "xl/sharedStrings.xml", `<sst xmlns="` + spreadsheetSpace + `">` + strings.Repeat("<si/>",
			4_000_000) + "</sst>"},
		{"attributes", "xl/sharedStrings.xml", `<sst xmlns="` + spreadsheetSpace + `"` + strings.Repeat(` a=""`,
			9_000_000) + "/>"},
		{"cells", "xl/worksheets/sheet1.xml", `<worksheet xmlns="` + spreadsheetSpace + `"><sheetData><row>` +
			strings.Repeat("<c/>", 4_000_000) + "</row></sheetData></worksheet>"},
		{"styles", "xl/styles.xml", `<styleSheet xmlns="` + spreadsheetSpace + `"><cellXfs>` + strings.Repeat("<xf/>",
			4_000_000) + "</cellXfs></styleSheet>"},
	} {
		f := NewFile("bomb.xlsx", replaced(t, book, c.part, []byte(c.what)))
		if len(f.Data) > 1<<20 {
			t.Fatalf("%s: the file has %d bytes, want a small one", c.name, len(f.Data))
		}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := Read(f)
		runtime.ReadMemStats(&after)
		if err == nil || !strings.Contains(err.Error(),
			"found a workbook of more than 3 million elements or 8 million attributes") {
			t.Errorf("%s: got %v", c.name, err)
		}
		if used := after.TotalAlloc - before.TotalAlloc; used > 1<<26 {
			t.Errorf("%s: %d MB for a file of %d kB", c.name, used>>20, len(f.Data)>>10)
		}
	}
}

// TestValidTextInPieces: a letter that lies across two pieces is whole, and a broken one is found wherever it lies.
func TestValidTextInPieces(t *testing.T) {
	for _, letter := range []string{"µ", "€", "🙂"} {
		for shift := range 4 {
			text := bytes.Repeat([]byte("x"), 1<<20-shift)
			text = append(text, letter+"x"...)
			if ok, err := validText(t.Context(), text); !ok || err != nil {
				t.Errorf("%s, %d bytes before a piece ends: %v, %v, want it valid", letter, shift, ok, err)
			}
			if ok, _ := validText(t.Context(), text[:len(text)-2]); ok {
				t.Errorf("%s, %d bytes before a piece ends, cut off: said to be valid", letter, shift)
			}
			broken := append(bytes.Clone(text[:1<<20-shift+1]), text[1<<20-shift+2:]...)
			if ok, _ := validText(t.Context(), append(broken, "xyz"...)); ok {
				t.Errorf("%s, %d bytes before a piece ends, without its second byte: said to be valid", letter, shift)
			}
		}
	}
}
