package reproduce

import (
	"fmt"
	"strings"
	"testing"
)

// The points of a drawing may move by Tolerance each, and nothing else may.
func TestSameSVG(t *testing.T) {
	const drawing = `<svg viewBox="0 0 9 9">
<path fill="none" stroke="#222222" stroke-width=".5" d="M1 2l.5-3.5 1 1c1 1 2 2 3 3q1 1 2 0z"/>
<text x="4" y="5" font-size="8">41.34 x="5"</text><text transform="translate(3 4) rotate(-90)">dB</text></svg>`
	for _, c := range []struct {
		from, to string
		same     bool
	}{
		{"M1 2", "M1.02 2", true}, {"M1 2", "M1.03 2", false}, {"M1 2", "M1e0 2", false}, {"M1 2", "M1 2,", false},
		{"l.5-3.5", "l.52-3.5", true}, {"l.5-3.5", "L.5-3.5", false}, {"l.5-3.5", "l.5 -3.5", true},
		{"l.5-3.5 1 1", "l.52-3.5 1.02 1", false}, // 0.04 in all
		{"l.5-3.5 1 1", "l.52-3.5 .98 1", true},
		{"c1 1 2 2 3 3", "c1 1 2.02 2 3 3", true}, {"c1 1 2 2 3 3", "c1 1 2 2 3 3 3 3", false}, {"z", "", false},
		{`x="4"`, `x="4.01"`, true}, {`y="5"`, `y="5.03"`, false}, {`translate(3 4)`, `translate(3 4.02)`, true},
		{`rotate(-90)`, `rotate(-90.01)`, false}, {"8", "8.01", false}, {"41.34", "41.35", false},
		{`x="5"`, `x="5.01"`, false}, {"0 0 9 9", "0 0 9.01 9", false}, {".5", ".51", false},
		{"#222222", "#222221", false},
	} {
		changed := strings.Replace(drawing, c.from, c.to, 1)
		if changed == drawing {
			t.Fatalf("the drawing has no %q", c.from)
		}
		if same := sameSVG(drawing, changed); same != c.same {
			t.Errorf("%q for %q: same is %t, want %t", c.to, c.from, same, c.same)
		}
	}
	// Many small steps lead far.
	var a, b strings.Builder
	for range 100 {
		fmt.Fprint(&a, " 1 1")
		fmt.Fprint(&b, " 1.01 1")
	}
	if sameSVG(`<path d="M0 0l`+a.String()+`"/>`, `<path d="M0 0l`+b.String()+`"/>`) {
		t.Error("a hundred steps of 0.01 more end where those without end")
	}
}
