package pdf

import (
	"fmt"
	"strings"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/qr"
)

// squares is a QR code (ISO/IEC 18004); nil draws nothing and takes no room.
type squares struct{ code barcode.Barcode }

const (
	squareSize = 1.2 // points, 0.42 mm: a camera reads it from paper
	quiet      = 4   // squares that stay white around the code (ISO/IEC 18004, 6.3.8)
)

// newSquares makes the code of a text. It stands up to the loss of 15 % of its area.
func newSquares(text string) (*squares, error) {
	if text == "" {
		return nil, nil
	}
	code, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return nil, fmt.Errorf("QR code of %q: %w", text, err)
	}
	return &squares{code}, nil
}

// side is the length of a side, without what stays white around.
func (s *squares) side() float64 {
	if s == nil {
		return 0
	}
	return squareSize * float64(s.code.Bounds().Dx())
}

// room is what the code keeps to itself on one side.
func (s *squares) room() float64 {
	if s == nil {
		return 0
	}
	return s.side() + quiet*squareSize
}

// draw fills the dark squares of the code, its upper left corner at x, y.
func (s *squares) draw(w *writer, x, y float64) {
	if s == nil {
		return
	}
	w.tags.target.attributes = boundingBox(x, y, s.side(), s.side())
	w.setFill(ink)
	w.enter(w.tags.target)
	n := s.code.Bounds().Dx()
	var b strings.Builder
	for row := range n {
		for from := 0; from < n; from++ {
			to := from
			for to < n && s.dark(to, row) {
				to++
			}
			if to > from { // neighbours in a row are one rectangle, or viewers show seams between them
				fmt.Fprintf(&b, "%.2f %.2f %.2f %.2f re ", x+squareSize*float64(from),
					w.paper.height-y-squareSize*float64(row+1), squareSize*float64(to-from), squareSize)
				from = to
			}
		}
	}
	w.pdf.RawWriteStr(b.String() + "f")
}

func (s *squares) dark(x, y int) bool {
	r, _, _, _ := s.code.At(x, y).RGBA()
	return r == 0
}
