package notebooks

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"wedgework/reports/readout"
)

// mostScreen is what a report for a screen may take, so that any mail takes it along.
const mostScreen = 2e6

// cleanScreen asks what every page for a screen must keep, whatever its notebook holds: elements and attributes that
// this program writes and no others, no script but its own, nothing that is fetched, headings without a gap, and no
// text of a notebook that became part of the page.
func cleanScreen(t *testing.T, page []byte) {
	t.Helper()
	root, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	known := strings.Fields("html head meta link title style body a header h1 h2 h3 h4 h5 h6 p div table caption " +
		"thead tbody tr th td main section nav ol ul li strong em span code sub sup pre blockquote hr br figure " +
		"figcaption img svg g path text image script footer")
	last := 0
	for n := range root.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		if !slices.Contains(known, n.Data) {
			t.Errorf("element %s", n.Data)
		}
		if len(n.Data) == 2 && n.Data[0] == 'h' && n.Data[1] > '0' && n.Data[1] < '7' {
			if level := int(n.Data[1] - '0'); level > last+1 {
				t.Errorf("a heading of level %d follows one of level %d", level, last)
			}
			last = int(n.Data[1] - '0')
		}
		for _, a := range n.Attr {
			switch {
			case a.Key == "style" && n.Data != "style", strings.HasPrefix(a.Key, "on"):
				t.Errorf("<%s %s=%q>", n.Data, a.Key, a.Val)
			case (a.Key == "src" || a.Key == "href" && n.Data != "a") && !strings.HasPrefix(a.Val, "data:"):
				t.Errorf("<%s> asks for %q", n.Data, a.Val)
			case n.Data == "a" && a.Key == "href" && !strings.HasPrefix(a.Val, "#") &&
				!strings.HasPrefix(a.Val, "https://") && !strings.HasPrefix(a.Val, "http://") &&
				!strings.HasPrefix(a.Val, "mailto:"):
				t.Errorf("a link to %q", a.Val)
			case n.Data == "script" && (a.Key != "type" || a.Val != "application/json"):
				t.Errorf("<script %s=%q>", a.Key, a.Val)
			}
		}
		if n.Data == "script" && len(n.Attr) == 0 && n.FirstChild.Data != readout.Script {
			t.Errorf("a script that is not ours: %.80q", n.FirstChild.Data)
		}
	}
}
