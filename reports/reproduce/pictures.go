package reproduce

import (
	"bytes"
	"encoding/base64"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"

	"wedgework/reports/archive"
)

// samePicture tells whether two texts of a kind that shows pictures are the same but for points that moved within
// Tolerance. Other kinds are compared to the letter by whoever asks.
func samePicture(mime, a, b string) bool {
	switch mime {
	case "image/svg+xml":
		return sameSVG(a, b)
	case "text/html":
		return sameHTML(a, b)
	case "image/png":
		return samePNG(a, b)
	}
	return false
}

// near tells whether two numbers are the same but for Tolerance, and for what writing them in binary adds to it. What
// is not written as a number is near nothing.
func near(a, b archive.Number) bool {
	x, errA := a.Float()
	y, errB := b.Float()
	return errA == nil && errB == nil && close(x, y)
}

func close(x, y float64) bool { return math.Abs(x-y) <= Tolerance*1.0001 }

// figureMark stands before a figure in HTML.
const figureMark = "data:image/svg+xml;base64,"

// sameHTML compares HTML to the letter and the figures in it as pictures.
func sameHTML(a, b string) bool {
	x, y := strings.Split(a, figureMark), strings.Split(b, figureMark)
	if len(x) != len(y) || x[0] != y[0] {
		return false
	}
	for i := range x[1:] {
		codeA, restA, _ := strings.Cut(x[i+1], `"`)
		codeB, restB, _ := strings.Cut(y[i+1], `"`)
		svgA, errA := base64.StdEncoding.Strict().DecodeString(codeA)
		svgB, errB := base64.StdEncoding.Strict().DecodeString(codeB)
		if restA != restB || errA != nil || errB != nil || !sameSVG(string(svgA), string(svgB)) {
			return false
		}
	}
	return true
}

// mostShade is by how much of 255 a pixel may differ. A line that moves by Tolerance covers a thirtieth more or less of
// it, at the 120 pixels an inch that figures have; and the palette then has other shades, 16 apart. A choice.
const mostShade = 32

// samePNG compares pictures of pixels. The file must be what these pixels are written as, with nothing in it that is
// not shown.
func samePNG(a, b string) bool {
	x, okA := pixels(a)
	y, okB := pixels(b)
	if !okA || !okB || x.Bounds() != y.Bounds() {
		return false
	}
	for row := x.Bounds().Min.Y; row < x.Bounds().Max.Y; row++ {
		for col := x.Bounds().Min.X; col < x.Bounds().Max.X; col++ {
			p, q := color.NRGBAModel.Convert(x.At(col, row)).(color.NRGBA),
				color.NRGBAModel.Convert(y.At(col, row)).(color.NRGBA)
			for _, d := range [][2]uint8{{p.R, q.R}, {p.G, q.G}, {p.B, q.B}, {p.A, q.A}} {
				if max(d[0], d[1])-min(d[0], d[1]) > mostShade {
					return false
				}
			}
		}
	}
	return true
}

// mostPixels of a picture that is looked at; those of a cell have less. A choice.
const mostPixels = 1 << 24

// pixels reads a picture as the cells show it.
func pixels(text string) (image.Image, bool) {
	data, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		return nil, false
	}
	c, err := png.DecodeConfig(bytes.NewReader(data))
	if err != nil || c.Width <= 0 || c.Height <= 0 || c.Width > mostPixels/c.Height {
		return nil, false
	}
	m, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, false
	}
	var again bytes.Buffer
	if err := png.Encode(&again, m); err != nil || !bytes.Equal(again.Bytes(), data) {
		return nil, false
	}
	return m, true
}
