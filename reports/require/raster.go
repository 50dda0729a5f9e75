package require

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	_ "image/png"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
)

const (
	// strip of ten pixels is about a line of text at the 36 dots per inch of the pictures.
	strip = 10
	// most is what a strip may differ by on the average, of 255. Renderings differ by version in the edges of letters;
	// a line of text that was lost, or came new, differs by 10 or more.
	most = 4.0
)

// Pages holds pages of a PDF file against small grey pictures of them, golden-1.png and so on; with update it writes
// those.
func Pages(t testing.TB, path, golden string, update bool, pages ...int) {
	t.Helper()
	tool := Tool(t, "pdftoppm")
	for _, page := range pages {
		n := strconv.Itoa(page)
		got, err := exec.Command(tool, "-r", "36", "-gray", "-png", "-f", n, "-l", n, path).Output()
		if err != nil {
			t.Fatalf("page %d of %s: %v", page, path, err)
		}
		name := golden + "-" + n + ".png"
		if update {
			if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(name, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(name)
		if errors.Is(err, fs.ErrNotExist) {
			t.Fatalf("%s is missing; -update writes it", name)
		}
		if err == nil {
			err = alike(got, want)
		}
		if err != nil {
			t.Errorf("page %d: %v: look at it, and at %s", page, err, name)
		}
	}
}

// coded is where the code of page one stands, whose dots follow from every figure of the record: other tests read it.
func coded(x, y int, page image.Rectangle) bool {
	return x > page.Dx()*4/5 && y > page.Dy()/15 && y < page.Dy()/7
}

// alike compares two pictures strip by strip.
func alike(got, want []byte) error {
	a, _, err := image.Decode(bytes.NewReader(got))
	if err != nil {
		return err
	}
	b, _, err := image.Decode(bytes.NewReader(want))
	if err != nil {
		return err
	}
	if a.Bounds() != b.Bounds() {
		return fmt.Errorf("it is %v, want %v", a.Bounds(), b.Bounds())
	}
	grey := func(m image.Image, x, y int) float64 {
		r, g, b, _ := m.At(x, y).RGBA()
		return float64(r+g+b) / 3 / 257
	}
	for y := 0; y < a.Bounds().Dy(); y += strip {
		sum, count := 0.0, 0
		for v := y; v < min(y+strip, a.Bounds().Dy()); v++ {
			for x := range a.Bounds().Dx() {
				if coded(x, v, a.Bounds()) {
					continue
				}
				sum += math.Abs(grey(a, x, v) - grey(b, x, v))
				count++
			}
		}
		if d := sum / float64(count); d > most {
			return fmt.Errorf("it differs by %.1f of 255 at line %d of %d", d, y, a.Bounds().Dy())
		}
	}
	return nil
}
