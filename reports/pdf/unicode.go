package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
)

// wholeRange is the one range by which fpdf maps all codes to Unicode. A range may differ in its last byte only (Adobe
// Technical Note 5014, CMap and CIDFont Files Specification, begincidrange): of this one, viewers that keep to that
// read nothing above U+00FF, and PDF/A-3 level U refuses it (ISO 19005-3, 6.2.11.7.2).
const wholeRange = "1 beginbfrange\n<0000> <FFFF> <0000>\nendbfrange\n"

// mostRanges is how many ranges one section of a map may hold.
const mostRanges = 100

// mapped returns an object of a face; in what maps its codes to Unicode the one range is replaced by those of the
// characters used.
func mapped(body []byte, used *characters) ([]byte, error) {
	if !bytes.Contains(body, []byte("begincmap")) {
		return body, nil
	}
	m := plainForm.FindSubmatch(body)
	if m == nil || !bytes.Contains(body, []byte(wholeRange)) {
		return nil, errors.New("the map of characters to Unicode is not as expected")
	}
	stream := bytes.Replace(body[len(m[0]):], []byte(wholeRange), []byte(used.ranges()), 1)
	end := bytes.Index(stream, []byte("\nendstream"))
	if end < 0 {
		return nil, errors.New("the map of characters to Unicode does not end")
	}
	return append(fmt.Appendf(nil, "%s<</Length %d>>\nstream\n", m[1], end), stream...), nil
}

// ranges writes the characters as ranges of a map from codes, which are the characters, to Unicode.
func (c *characters) ranges() string {
	var all []string
	for first := 0; first < 1<<16; first++ {
		if !c.has(first) {
			continue
		}
		last := first
		for last&0xff != 0xff && c.has(last+1) {
			last++
		}
		all = append(all, fmt.Sprintf("<%04X> <%04X> <%04X>\n", first, last, first))
		first = last
	}
	var b strings.Builder
	for len(all) > 0 {
		n := min(len(all), mostRanges)
		fmt.Fprintf(&b, "%d beginbfrange\n%sendbfrange\n", n, strings.Join(all[:n], ""))
		all = all[n:]
	}
	return b.String()
}

func (c *characters) has(r int) bool { return c[r/64]>>(r%64)&1 != 0 }
