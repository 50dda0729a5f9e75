package pdf

import (
	"errors"

	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
)

// figure sets a drawing and its caption as one box, so that neither is cut nor parted. A drawing larger
// than the page is made smaller as a whole.
func (w *writer) figure(f document.Figure, at place) ([]box, error) {
	if f.Drawing == nil {
		return nil, errors.New("it has no drawing")
	}
	const gap, heading = 5.0, 50.0 // a heading before it finds room on the same page
	caption := w.breakLines(captionSpans(f.Caption), captionSize, at.width, ink)
	below := gap + captionLeading*float64(len(caption))
	fw, fh := f.Size()
	most := pageHeight - marginTop - w.footHeight - below - heading
	if most < 60 {
		return nil, errors.New("its caption fills the page")
	}
	scale := min(1, at.width/float64(fw), most/float64(fh))
	width, height := float64(fw)*scale, float64(fh)*scale
	return []box{{height: height + below, above: gapTable, below: gapTable, draw: func(w *writer, y float64) error {
		c := newCanvas(w, at.x, y, width, height, scale)
		defer c.close()
		if err := f.Drawing.Draw(c); err != nil {
			return err
		}
		c.close()
		for i, l := range caption {
			w.line(l, at.x, y+height+gap+float64(i)*captionLeading, captionLeading)
		}
		return nil
	}}}, nil
}

var _ vg.CanvasSizer = (*canvas)(nil)
