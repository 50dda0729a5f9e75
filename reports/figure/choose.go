package figure

import "gonum.org/v1/plot/vg"

// usualWidth is the width of a curve.
const usualWidth vg.Length = 1.1

// chooser fills in what series and bands left open. It is asked for all panels of a figure in turn: what
// has the same label looks the same in each, what has another looks different.
type chooser struct {
	colors, lines, markers, shades int
	known                          map[string]Series
	tints                          map[string]Color
}

func (c *chooser) series(series []Series) []Series {
	out := append([]Series(nil), series...)
	for i := range out {
		s := &out[i]
		twin, ok := c.known[s.Label]
		points := len(s.Err) > 0 || s.Marker > NoMarker
		if s.Color == AutoColor {
			if s.Color = twin.Color; !ok {
				s.Color = ColorAt(c.colors)
				c.colors++
			}
		}
		if s.Line == AutoLine {
			switch {
			case points:
				s.Line = NoLine
			case ok && twin.Line != NoLine:
				s.Line = twin.Line
			default:
				s.Line = LineAt(c.lines)
				c.lines++
			}
		}
		if s.Marker == AutoMarker {
			switch {
			case s.Line != NoLine:
				s.Marker = NoMarker
			case ok && twin.Marker != NoMarker:
				s.Marker = twin.Marker
			default:
				s.Marker = MarkerAt(c.markers)
				c.markers++
			}
		}
		if s.Width <= 0 {
			s.Width = usualWidth
		}
		if s.Label != "" && !ok {
			if c.known == nil {
				c.known = map[string]Series{}
			}
			c.known[s.Label] = *s
		}
	}
	return out
}

func (c *chooser) bands(bands []Band) []Band {
	out := append([]Band(nil), bands...)
	for i := range out {
		b := &out[i]
		if b.Color != AutoColor {
			continue
		}
		twin, ok := c.tints[b.Label]
		if b.Color = twin; !ok {
			b.Color = ColorAt(c.shades)
			c.shades++
		}
		if b.Label != "" {
			if c.tints == nil {
				c.tints = map[string]Color{}
			}
			c.tints[b.Label] = b.Color
		}
	}
	return out
}
