package pdf

import (
	"bytes"
	"slices"
	"testing"

	"wedgework/reports/document"
)

// A file as Render wrote it is told from one that anything was done to since.
func TestIntact(t *testing.T) {
	page, _, err := Render(document.Document{Title: "Core"}, Options{Program: "wedgework test"})
	if err != nil {
		t.Fatal(err)
	}
	if !Intact(page) {
		t.Fatal("what Render wrote is not taken for intact")
	}
	update := append(slices.Clone(page), "1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\nstartxref\n9\n%%EOF\n"...)
	for name, changed := range map[string][]byte{
		"an incremental update": update,
		"something after it":    append(slices.Clone(page), '\n'),
		"cut short":             page[:len(page)-1],
		"nothing":               nil,
		"the identifier":        bytes.Replace(page, []byte("/ID [<"), []byte("/ID [<0"), 1),
	} {
		if Intact(changed) {
			t.Errorf("%s: taken for intact", name)
		}
	}
	for at := 0; at < len(page); at += 1 + len(page)/200 {
		changed := slices.Clone(page)
		changed[at] ^= 1
		if Intact(changed) && !bytes.Contains(page[max(0, at-30):min(len(page), at+30)], []byte("00000 n")) {
			t.Errorf("byte %d of %d changed: taken for intact", at, len(page))
		}
	}
}
