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
	for _, program := range []record.Program{now,
		{Name: "wedgework", Version: "1.2.2", Go: "go1.26.7", Architecture: "amd64"}} {
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
		for _, p := range []struct {
			name string
			page []byte
			same bool
		}{
			{"as it was", r.HTML, true},
			{"a figure", bytes.Replace(r.HTML, []byte("41.34"), []byte("47.34"), 1), false},
			{"a space behind", append(bytes.Clone(r.HTML), '\n'), false},
			{"nothing", nil, false},
		} {
			same, err := SamePage(p.page, c, f, again)
			if err != nil || same != p.same {
				t.Errorf("%s, made by %s: same is %t, %v, want %t", p.name, program.Version, same, err, p.same)
			}
		}
		if !bytes.Contains(r.HTML, []byte("41.34")) {
			t.Error("the page does not hold the figure that is forged")
		}
	}
}
