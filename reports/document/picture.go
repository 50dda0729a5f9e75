package document

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"image"
	_ "image/gif" // what a notebook's pictures may be
	_ "image/jpeg"
	_ "image/png"
	"net/url"
	"strings"

	"gonum.org/v1/plot/vg"
)

// Picture is an image of pixels, as from a notebook's Markdown, that draws itself over a whole canvas. Data
// is the file it came from, in the Format of package image: a canvas may embed it as it is.
type Picture struct {
	image.Image
	Data   []byte
	Format string // "png", "jpeg" or "gif"
}

const (
	mostPixels   = 40e6                // of a picture: above, decoding would take more memory than a report may
	pixel        = 0.75 * vg.Inch / 72 // its size on the page, 96 pixels to the inch
	leastPicture = 4 * vg.Inch / 72    // of a side: a dot should still be seen
	mostHeight   = 120 * vg.Millimeter // of a picture on the page: it shares the page with its text
	wanted       = "a PNG, JPEG or GIF picture"
)

// ReadPicture decodes a picture. The error says what was found instead of one.
func ReadPicture(data []byte) (Picture, error) {
	c, format, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return Picture{}, fmt.Errorf("found %s, expected %s", looksLike(data), wanted)
	}
	if c.Width < 1 || c.Height < 1 || float64(c.Width)*float64(c.Height) > mostPixels {
		return Picture{}, fmt.Errorf("found %d by %d pixels, expected at most %g million in all", c.Width, c.Height,
			mostPixels/1e6)
	}
	m, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return Picture{}, fmt.Errorf("the %s file is damaged: %w", strings.ToUpper(format), err)
	}
	return Picture{Image: m, Data: data, Format: format}, nil
}

// looksLike names what is no picture.
func looksLike(data []byte) string {
	head := strings.ToLower(strings.TrimSpace(string(data[:min(len(data), 256)])))
	switch {
	case len(data) == 0:
		return "nothing"
	case strings.HasPrefix(head, "<svg"), strings.HasPrefix(head, "<?xml") && strings.Contains(head, "<svg"):
		return "an SVG drawing"
	case strings.HasPrefix(head, "%pdf"):
		return "a PDF file"
	}
	return fmt.Sprintf("%d bytes of another kind", len(data))
}

// Draw implements Drawing.
func (p Picture) Draw(c vg.CanvasSizer) error {
	w, h := c.Size()
	c.DrawImage(vg.Rectangle{Max: vg.Point{X: w, Y: h}}, p)
	return nil
}

// Figure returns the picture as a block: in its own size where it fits the text, else as large as fits.
func (p Picture) Figure(caption string) Figure {
	b := p.Bounds()
	w, h := vg.Length(b.Dx())*pixel, vg.Length(b.Dy())*pixel
	scale := min(1, DefaultWidth/w, mostHeight/h)
	text := fmt.Sprintf("A picture of %d by %d pixels.", b.Dx(), b.Dy())
	return Figure{Caption: caption, Text: text, Width: max(w*scale, leastPicture), Height: max(h*scale, leastPicture),
		Drawing: p}
}

// dataPicture decodes the data: address of a picture (RFC 2397).
func dataPicture(address string) ([]byte, error) {
	head, body, ok := strings.Cut(strings.TrimPrefix(address, "data:"), ",")
	if !ok {
		return nil, errors.New("found no comma in the data: address")
	}
	body, err := url.PathUnescape(body)
	if err != nil {
		return nil, fmt.Errorf("data: address: %w", err)
	}
	if !strings.HasSuffix(head, ";base64") {
		return []byte(body), nil
	}
	// Line breaks and missing padding are as harmless here as in a browser.
	body = strings.TrimRight(strings.Join(strings.Fields(body), ""), "=")
	data, err := base64.RawStdEncoding.DecodeString(body)
	if err != nil {
		return nil, fmt.Errorf("data: address: %w", err)
	}
	return data, nil
}
