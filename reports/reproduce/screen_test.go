package reproduce

import (
	"bytes"
	"context"
	"testing"

	"wedgework/reports/publish"
	"wedgework/reports/record"
)

// The page for a screen is made again to the byte, also where another version made the report; any change of it shows.
func TestSamePage(t *testing.T) {
	for _, program := range []record.Program{now, then,
		{Name: "wedgework", Version: "0.2.1", Go: "go1.26.7", Architecture: "amd64"}} {
		r := makeReport(t, program)
		c, err := Open(r.PDF)
		if err != nil {
			t.Fatal(err)
		}
		j, err := c.Job(nil)
		if err != nil {
			t.Fatal(err)
		}
		again, err := publish.Make(context.Background(), j, c.Tools(publish.Tools{Program: now, Open: open}))
		if err != nil {
			t.Fatal(err)
		}
		f, err := Compare(c, again, now)
		if err != nil {
			t.Fatal(err)
		}
		if same, err := SamePage(r.HTML, c, f, again); err != nil || !same {
			t.Errorf("the page made by %s: same is %t, %v", program.Version, same, err)
		}
		for name, page := range forgedPages(t, r.HTML) {
			if same, err := SamePage(page, c, f, again); err != nil || same {
				t.Errorf("%s, made by %s: same is %t, %v, want false", name, program.Version, same, err)
			}
		}
	}
}

// forgedPages are pages of which one part is another.
func forgedPages(t *testing.T, page []byte) map[string][]byte {
	t.Helper()
	all := map[string][]byte{"a space behind": append(bytes.Clone(page), '\n'), "nothing": nil,
		"a mark before": append([]byte("\xEF\xBB\xBF"), page...), "twice": append(bytes.Clone(page), page...)}
	for name, c := range map[string][2]string{
		"a figure":                      {"41.34", "47.34"},
		"another policy":                {"default-src 'none'", "default-src *"},
		"no policy":                     {"Content-Security-Policy", "Content-Security-Polici"},
		"a script more":                 {"</body>", "<script>alert(1)</script></body>"},
		"a style more":                  {"</head>", "<style>main{display:none}</style></head>"},
		"another language":              {`lang="en`, `lang="de`},
		"a title":                       {"<title>", "<title>PASS "},
		"a comment":                     {"<main", "<!-- PASS --><main"},
		"a picture from elsewhere":      {"</main>", `<img src="https://example.org/x.png"></main>`},
		"a link to elsewhere":           {"https://example.org/HA-1550", "https://example.com/HA-1550"},
		"what is said of a figure":      {`aria-label="`, `aria-label="PASS `},
		"a page that leads elsewhere":   {"<meta ", `<meta http-equiv="refresh" content="0;url=//x"><meta `},
		"a line of the drawing":         {" d=\"M", " d=\"M9"},
		"another hash of what is shown": {"sha256-", "sha256-A"},
	} {
		changed := bytes.Replace(page, []byte(c[0]), []byte(c[1]), 1)
		if bytes.Equal(changed, page) {
			t.Errorf("%s: the page does not hold %q", name, c[0])
		}
		all[name] = changed
	}
	return all
}
