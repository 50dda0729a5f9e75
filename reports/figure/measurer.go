package figure

import (
	"sync"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
)

// measurer is the library's text handler, which loads every glyph of a text to measure it, each of the many times that
// an axis asks: this one keeps what it has measured. Figures of many reports have the same labels.
type measurer struct {
	text.Plain
	mu     sync.Mutex
	widths map[labelled]vg.Length
}

type labelled struct {
	text string
	font font.Font
}

// mostWidths bounds what is kept, some 100 bytes each.
const mostWidths = 10000

// Box returns the bounding box of a line of text, as text.Plain does.
func (m *measurer) Box(txt string, f font.Font) (width, height, depth vg.Length) {
	m.mu.Lock()
	defer m.mu.Unlock()
	width, ok := m.widths[labelled{txt, f}]
	if !ok {
		width, _, _ = m.Plain.Box(txt, f)
		if len(m.widths) >= mostWidths {
			clear(m.widths)
		}
		m.widths[labelled{txt, f}] = width
	}
	e := m.Extents(f)
	return width, e.Ascent, e.Descent
}
