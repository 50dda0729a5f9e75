package pdf

import (
	"errors"
	"fmt"

	"gonum.org/v1/plot/vg"

	"wedgework/reports/document"
)

// figure sets a drawing and its caption as one box, so that neither is cut nor parted. A drawing larger
// than the page is made smaller as a whole; one that just misses the rest of a page is drawn a little lower.
func (w *writer) figure(f document.Figure, at place) ([]box, error) {
	if f.Drawing == nil {
		return nil, errors.New("it has no drawing")
	}
	tag, end := w.group("Figure")
	defer end()
	tag.alt = w.alt(f)
	captionTag := w.leaf("Caption")
	const gap, heading = 5.0, 50.0 // a heading before it finds room on the same page
	caption := w.breakLines(captionSpans(f.Caption), captionSize, at.width, ink)
	var rest []line // of a caption that is longer than any
	if len(caption) > tallCaption {
		caption, rest = caption[:tallCaption], caption[tallCaption:]
	}
	below := gap + captionLeading*float64(len(caption))
	fw, fh := f.Size()
	most := w.paper.height - marginTop - w.footHeight - below - heading
	scale := min(1, at.width/float64(fw), most/float64(fh))
	width, height := float64(fw)*scale, float64(fh)*scale
	draw := func(high float64) func(w *writer, y float64) error {
		height := high - below
		return func(w *writer, y float64) error {
			tag.attributes = boundingBox(at.x, w.paper.height-y, width, height)
			c := newCanvas(w, at.x, y, width, height, scale)
			defer c.close()
			if err := f.Drawing.Draw(c); err != nil {
				return err
			}
			c.close()
			w.within(captionTag, func() {
				for i, l := range caption {
					w.line(l, at.x, y+height+gap+float64(i)*captionLeading, captionLeading)
				}
			})
			return nil
		}
	}
	b := box{height: height + below, tag: tag, above: gapTable, below: gapTable, draw: draw(height + below)}
	if height > low {
		b.give, b.lower = height*giveWay, draw
	}
	boxes := []box{b}
	if len(rest) > 0 {
		boxes[0].below, boxes[0].keep = 0, true
		boxes = append(boxes, w.lines(captionTag, rest, at, captionLeading, 0, gapTable)...)
	}
	return boxes, nil
}

// alt is what is read in the place of a figure.
func (w *writer) alt(f document.Figure) string {
	if alt := w.meta(f.Alt()); alt != "" {
		return alt
	}
	return "a figure without a caption"
}

// boundingBox says where on its page a figure stands, whose top lies so far above the foot of the paper (ISO 32000-1,
// table 344).
func boundingBox(x, top, width, height float64) string {
	return fmt.Sprintf("<</O/Layout/BBox[%.2f %.2f %.2f %.2f]>>", x, top-height, x+width, top)
}

const (
	tallCaption = 10    // lines of a caption that stand with the figure
	giveWay     = 0.35  // share of its height that a figure gives up to stand on the page where it is spoken of
	low         = 150.0 // height of a figure that gives up nothing, in points
)

var _ vg.CanvasSizer = (*canvas)(nil)
