package pdf

import (
	"bytes"
	"flag"
	"image"
	_ "image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"wedgework/reports/require"
)

var update = flag.Bool("update", false, "rewrite the golden pictures from what the program draws now")

// TestPagesLookAsTheyDid holds pages of the demonstration report against small grey pictures of them: verdicts and
// a table, a figure. Renderings differ by version in the edges of letters, so what is asked is that no picture
// differs by more on the average than a lost line of text would make it.
func TestPagesLookAsTheyDid(t *testing.T) {
	tool := require.Tool(t, "pdftoppm")
	file, _ := mustRender(t, demo(), demoOptions)
	path := write(t, file)
	for _, page := range []int{1, 2} {
		golden := filepath.Join("testdata", "page-"+strconv.Itoa(page)+".png")
		n := strconv.Itoa(page)
		got, err := exec.Command(tool, "-r", "36", "-gray", "-png", "-f", n, "-l", n, path).Output()
		if err != nil {
			t.Fatal(err)
		}
		if *update {
			if err := os.WriteFile(golden, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatalf("%v; go test ./reports/pdf -update writes it", err)
		}
		a, b := picture(t, got), picture(t, want)
		if a.Bounds() != b.Bounds() {
			t.Errorf("page %d is %v, want %v", page, a.Bounds(), b.Bounds())
			continue
		}
		// A strip of ten pixels is about a line of text; a strip that was lost or came new differs by 10 or more of 255.
		const strip, most = 10, 4.0
		for y := 0; y < a.Bounds().Dy(); y += strip {
			sum, count := 0.0, 0
			for v := y; v < min(y+strip, a.Bounds().Dy()); v++ {
				for x := range a.Bounds().Dx() {
					sum += math.Abs(grey8(a, x, v) - grey8(b, x, v))
					count++
				}
			}
			if d := sum / float64(count); d > most {
				t.Errorf("page %d differs by %.1f of 255 at %d of %d: look at it, and at %s", page, d, y, a.Bounds().Dy(), golden)
			}
		}
	}
}

func picture(t *testing.T, data []byte) image.Image {
	t.Helper()
	m, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func grey8(m image.Image, x, y int) float64 {
	r, g, b, _ := m.At(x, y).RGBA()
	return float64(r+g+b) / 3 / 257
}
