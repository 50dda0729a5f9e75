package pdf

import (
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"wedgework/reports/document"
)

// run is a stretch of text in one style, already cleaned.
type run struct {
	text  string
	face  *face
	size  float64
	drop  float64 // by which a subscript lies below the line
	color rgb
	link  string
	x     float64 // from the start of the line
	width float64
	tag   *element // of a link, a formula, a raised or lowered sign; nil for what is only text
}

// linkTag is the element of the link that a run is part of.
func (r *run) linkTag() *element {
	if r.tag.outer != nil {
		return r.tag.outer
	}
	return r.tag
}

// line is one line of text, broken to a width.
type line struct {
	runs  []run
	width float64
	size  float64
	left  bool // read from right to left
}

// part is a piece of a word: a word may change its style in the middle.
type part struct {
	text  string
	span  int // which span it comes from
	width float64
}

// breakLines breaks spans into lines no wider than width. It breaks at spaces and line feeds, beside the
// characters of scripts that put none between words, and inside a word only when the word alone is wider than
// the line. A line broken at a space ends with it, so that who reads the file does not join the words.
func (w *writer) breakLines(spans []document.Span, size, width float64, color rgb) []line {
	b := breaker{size: size, room: width, color: color}
	tags := inlineTags(spans)
	for i, s := range spans {
		b.add(w.styled(s, size), tags[i])
	}
	for i, s := range b.spans {
		t := s.text
		for len(t) > 0 {
			k := strings.IndexFunc(t, func(r rune) bool { return r == ' ' || r == '\n' || unspaced(r) })
			if k < 0 {
				b.word = append(b.word, part{t, i, s.width(t)})
				break
			}
			if k > 0 {
				b.word = append(b.word, part{t[:k], i, s.width(t[:k])})
			}
			switch t[k] {
			case '\n':
				b.endWord()
				b.newLine(true)
				k++
			case ' ':
				b.endWord()
				b.space, b.joined = i, false
				k++
			default:
				r, n := utf8.DecodeRuneInString(t[k:])
				if !closes(r) { // a stop or a bracket does not begin a line
					b.endWord()
				}
				b.word = append(b.word, part{t[k : k+n], i, s.width(t[k : k+n])})
				k += n
				if next, _ := utf8.DecodeRuneInString(t[k:]); !closes(next) {
					b.endWord()
				}
				b.joined = true
			}
			t = t[k:]
		}
	}
	b.endWord()
	b.newLine(false)
	return b.lines
}

// styled is a span in its face and size, cleaned.
type styled struct {
	text, link string
	face       *face
	size, drop float64
	tag        *element
}

const (
	scriptShare = 0.7   // of the size: subscripts and superscripts
	subDrop     = 0.16  // of the size, below the line
	superDrop   = -0.34 // and above it
)

func (w *writer) styled(s document.Span, size float64) styled {
	out := styled{face: w.fonts.get(keyOf(s.Style)), size: size}
	switch {
	case s.Style&document.Sub != 0:
		out.size, out.drop = size*scriptShare, size*subDrop
	case s.Style&document.Super != 0:
		out.size, out.drop = size*scriptShare, size*superDrop
	}
	out.text = tieUnits(w.fonts.clean(out.face, s.Text))
	if leads(s.Link) {
		out.link = s.Link
	}
	return out
}

func (s styled) width(text string) float64 { return s.face.width(text, s.size) }

// unspaced reports whether r belongs to a script that is broken between any two characters: Chinese and
// Japanese.
func unspaced(r rune) bool {
	return r >= 0x2E80 && r <= 0x9FFF || r >= 0xF900 && r <= 0xFAFF || r >= 0xFF00 && r <= 0xFFEF
}

// closes reports whether r must not begin a line.
func closes(r rune) bool {
	return strings.ContainsRune("\u3001\u3002\uFF0C\uFF0E\uFF01\uFF1F\uFF1A\uFF1B\uFF09\u300B\u300D\u300F\u3011", r)
}

type breaker struct {
	size, room float64
	color      rgb
	spans      []styled
	left       bool // whether the text is read from right to left

	lines  []line
	cur    []part  // parts of the line so far, spaces included
	used   float64 // their width
	word   []part  // the word being read
	space  int     // span of the space before it
	joined bool    // no space stands before it
}

func (b *breaker) add(s styled, tag *element) {
	s.tag = tag
	if len(b.spans) == 0 {
		b.left = leftward(s.text)
	}
	b.spans = append(b.spans, s)
}

// endWord puts the word that was read onto the line, or onto the next one.
func (b *breaker) endWord() {
	if len(b.word) == 0 {
		return
	}
	total := 0.0
	for _, p := range b.word {
		total += p.width
	}
	gap := 0.0
	if len(b.cur) > 0 {
		if !b.joined {
			gap = b.spans[b.space].width(" ")
		}
		if b.used+gap+total > b.room+hair {
			b.newLine(gap > 0)
			gap = 0
		}
	}
	if gap > 0 {
		b.push(part{" ", b.space, gap})
	}
	for _, p := range b.word {
		b.squeeze(p)
	}
	b.word, b.joined = b.word[:0], false
}

// squeeze puts a part on the line and breaks it where it runs over: after a character at which readers
// expect a break when there is one not too far back, else into equal pieces, so that a hash is compared
// half by half.
func (b *breaker) squeeze(p part) {
	span := b.spans[p.span]
	if len(b.cur) == 0 && p.width > b.room+hair && !strings.ContainsAny(p.text, softBreaks) {
		pieces := math.Ceil(p.width / b.room)
		runes := []rune(p.text)
		for each := int(math.Ceil(float64(len(runes)) / pieces)); each > 0 && len(runes) > each; runes = runes[each:] {
			piece := string(runes[:each])
			w := span.width(piece)
			if w > b.room+hair {
				break // characters of unequal width: go on below
			}
			b.push(part{piece, p.span, w})
			b.newLine(false)
			p.text = string(runes[each:])
		}
		p.width = span.width(p.text)
	}
	for b.used+p.width > b.room+hair {
		fit, soft, used := 0, 0, b.used
		for i, r := range p.text {
			a, _ := span.face.advance(r)
			if used += a * span.size / 1000; used > b.room+hair {
				break
			}
			fit = i + utf8.RuneLen(r)
			if strings.ContainsRune(softBreaks, r) {
				soft = fit
			}
		}
		if soft > fit/2 {
			fit = soft
		}
		if fit == 0 {
			if len(b.cur) > 0 {
				b.newLine(false)
				continue
			}
			_, fit = utf8.DecodeRuneInString(p.text) // a column narrower than one character
		}
		if fit >= len(p.text) {
			break
		}
		b.push(part{p.text[:fit], p.span, span.width(p.text[:fit])})
		b.newLine(false)
		p.text = p.text[fit:]
		p.width = span.width(p.text)
	}
	b.push(p)
}

func (b *breaker) push(p part) {
	b.used += p.width
	if k := len(b.cur) - 1; k >= 0 && b.cur[k].span == p.span {
		b.cur[k].text += p.text
		b.cur[k].width += p.width
		return
	}
	b.cur = append(b.cur, p)
}

// newLine ends the line; at a space it is printed, though nobody sees it.
func (b *breaker) newLine(space bool) {
	l := line{width: b.used, size: b.size, left: b.left}
	if k := len(b.cur) - 1; k >= 0 && space {
		b.cur[k].text += " "
	}
	if b.left {
		slices.Reverse(b.cur)
	}
	x := 0.0
	for _, p := range b.cur {
		s := b.spans[p.span]
		r := run{text: strings.ReplaceAll(p.text, tie, " "), face: s.face, size: s.size, drop: s.drop, color: b.color,
			link: s.link, x: x, width: p.width, tag: s.tag}
		if r.link != "" {
			r.color = linkInk
		}
		l.runs = append(l.runs, r)
		x += p.width
	}
	b.lines = append(b.lines, l)
	b.cur, b.used = nil, 0
}

// softBreaks are the characters after which a long word, as a path or an address, may be broken.
const softBreaks = "/\\-_.,;:=&?+"

// tie is a space at which no line is broken. It is printed as a plain one, so that a search for "30 dB"
// finds it.
const tie = "\u00A0"

// units are what a number is not parted from, and what is not parted from the number after it.
var units = regexp.MustCompile(`([0-9]) (dBm?|[numc]?m|K|°C?|degC?|m?rad|[fpn]?s|min|h|[GTM]?Hz|[num]?W|m?T|%|±)([^\pL\pN]|$)`)
var signs = regexp.MustCompile(`([≥≤±]) ([0-9])`)

func tieUnits(s string) string {
	tied := false // most text has nothing to tie, and the expressions are slow to say so
	for i := 1; i < len(s) && !tied; i++ {
		tied = s[i] == ' ' && (s[i-1] >= '0' && s[i-1] <= '9' || s[i-1] >= 0x80)
	}
	if !tied {
		return s
	}
	return signs.ReplaceAllString(units.ReplaceAllString(s, "$1"+tie+"$2$3"), "$1"+tie+"$2")
}

// hair absorbs rounding when a column is exactly as wide as its text.
const hair = 0.01

// plainLines breaks unstyled text.
func (w *writer) plainLines(s string, style document.Style, size, width float64, color rgb) []line {
	return w.breakLines([]document.Span{{Text: s, Style: style}}, size, width, color)
}

// fit cuts text to one line of a width, with an ellipsis where it was cut.
func (w *writer) fit(s string, style document.Style, size, width float64) string {
	face := w.fonts.get(keyOf(style))
	s = w.fonts.clean(face, strings.Join(strings.Fields(s), " "))
	if face.width(s, size) <= width {
		return s
	}
	for len(s) > 0 {
		_, n := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-n]
		if t := strings.TrimRight(s, " ") + "\u2026"; face.width(t, size) <= width {
			return t
		}
	}
	return ""
}
