package document

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"testing"

	_ "gonum.org/v1/plot" // its faces
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// scene has all that a drawing can hold: fills, strokes, dashes, arcs, curves, closed and open lines, text upright,
// scaled and turned, a picture, and colours that let others through. Its points are off by so much, at random.
type scene struct{ off float64 }

func (s scene) Draw(c vg.CanvasSizer) error {
	rng := rand.New(rand.NewPCG(1, 2))
	at := func(x, y float64) vg.Point {
		return vg.Point{X: vg.Length(x * (1 + s.off*(2*rng.Float64()-1))), Y: vg.Length(y * (1 + s.off*(2*rng.Float64()-1)))}
	}
	fill := func(col color.Color, p vg.Path) { c.SetColor(col); c.Fill(p) }
	var p vg.Path
	p.Move(at(10, 10))
	p.Line(at(90.125, 12.005))
	p.Line(at(50, 60))
	p.Close()
	fill(color.NRGBA{200, 40, 40, 255}, p)
	fill(color.NRGBA{40, 40, 200, 90}, vg.Rectangle{Min: at(30, 20), Max: at(80.0625, 70)}.Path())
	p = nil
	p.Move(at(140, 50))
	p.Arc(at(120, 50), 20, 0, 2*math.Pi)
	p.Close()
	fill(color.NRGBA{20, 120, 60, 255}, p)
	c.SetColor(color.Black)
	c.SetLineWidth(0.7)
	for k, dash := range [][]vg.Length{nil, {4, 2}, {6, 1.5, 1, 1.5}} {
		c.SetLineDash(dash, vg.Length(k))
		p = nil
		for i := range 41 {
			x := 10 + 3.5*float64(i)
			q := at(x, 90+10*float64(k)+6*math.Sin(x/9))
			if i == 0 {
				p.Move(q)
			} else {
				p.Line(q)
			}
		}
		c.Stroke(p)
	}
	c.SetLineDash(nil, 0)
	c.SetLineWidth(2)
	p = nil
	p.Move(at(150, 20))
	p.QuadTo(at(170, 60), at(190, 20))
	p.CubeTo(at(195, 40), at(185, 60), at(165, 70))
	p.Close()
	c.Stroke(p)
	text := font.Font{Typeface: "Liberation", Variant: "Sans", Size: 9}
	f := font.DefaultCache.Lookup(text, text.Size)
	c.SetColor(color.NRGBA{0, 0, 0, 255})
	c.FillString(f, at(10, 130), "Isolation (dB), AVAV 0123")
	c.Push()
	c.Translate(at(200, 80))
	c.Rotate(math.Pi / 2)
	c.FillString(f, vg.Point{}, "turned")
	c.Pop()
	c.Push()
	c.Scale(1.37, 1.37)
	c.FillString(f, at(110, 96), "larger")
	c.Pop()
	m := image.NewNRGBA(image.Rect(0, 0, 7, 5))
	for i := range m.Pix {
		m.Pix[i] = uint8(37*i) | 3
	}
	c.DrawImage(vg.Rectangle{Min: at(205, 10), Max: at(235, 40)}, m)
	return nil
}

var sceneFigure = Figure{Width: 240, Height: 150}

func pixelsOf(t *testing.T, off float64) ([]byte, image.Image) {
	t.Helper()
	f := sceneFigure
	f.Drawing = scene{off}
	data, err := PNG(f)
	if err != nil {
		t.Fatal(err)
	}
	m, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return data, m
}

// TestLastBits: coordinates that differ in their last bits, as those of other processors do, give the same picture and
// the same drawing to the byte; ones that differ by a thousandth do not.
func TestLastBits(t *testing.T) {
	want, _ := pixelsOf(t, 0)
	f := sceneFigure
	f.Drawing = scene{}
	drawn, err := SVG(f)
	if err != nil {
		t.Fatal(err)
	}
	for off, same := range map[float64]bool{2e-16: true, 1e-12: true, 1e-3: false} {
		f.Drawing = scene{off}
		if got, _ := pixelsOf(t, off); bytes.Equal(got, want) != same {
			t.Errorf("points off by %g: the same pixels %v, want %v", off, !same, same)
		}
		if got, err := SVG(f); err != nil || (got == drawn) != same {
			t.Errorf("points off by %g: the same drawing %v, want %v (%v)", off, !same, same, err)
		}
	}
}

// TestRasterAgainstAnother compares the picture with that of gonum/plot's own canvas of pixels, which works in floats.
func TestRasterAgainstAnother(t *testing.T) {
	_, got := pixelsOf(t, 0)
	c := vgimg.NewWith(vgimg.UseWH(sceneFigure.Width, sceneFigure.Height), vgimg.UseDPI(dotsPerInch))
	if err := (scene{}).Draw(c); err != nil {
		t.Fatal(err)
	}
	want := c.Image()
	if got.Bounds() != want.Bounds() {
		t.Fatalf("%v, want %v", got.Bounds(), want.Bounds())
	}
	sum, far, ink := 0.0, 0, 0
	b := got.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			r, g, bl, _ := got.At(x, y).RGBA()
			r2, g2, b2, _ := want.At(x, y).RGBA()
			d := math.Max(math.Abs(float64(r)-float64(r2)), math.Max(math.Abs(float64(g)-float64(g2)),
				math.Abs(float64(bl)-float64(b2)))) / 0xffff
			sum += d
			if d > 0.5 {
				far++
			}
			if r2+g2+b2 < 3*0xc000 {
				ink++
			}
		}
	}
	n := float64(b.Dx() * b.Dy())
	// Edges are shades of 16 here and of 65536 there, and scaled text is sharp here and blurred there.
	if mean := sum / n; mean > 0.02 || float64(far)/n > 0.01 || float64(ink)/n < 0.1 {
		t.Errorf("the pictures differ by %.4f in the mean, by half of the scale at %.4f of the pixels; %.2f are inked",
			mean, float64(far)/n, float64(ink)/n)
	} else {
		t.Logf("mean %.4f, far %.4f, inked %.2f", mean, float64(far)/n, float64(ink)/n)
	}
}
