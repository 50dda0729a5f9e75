package pdf

import (
	"bytes"
	"fmt"
	"testing"

	"wedgework/reports/document"
)

// TestSubsetsAreKept: a file is the same whether its faces were cut for it or for another before, and none gets the
// characters of another.
func TestSubsetsAreKept(t *testing.T) {
	set := func(text string) []byte {
		t.Helper()
		file, warnings, err := Render(document.Document{Title: "x", Sections: []document.Section{{Title: "S", Level: 1,
			Blocks: []document.Block{
				document.Plain(text)}}}}, Options{})
		if err != nil || len(warnings) > 0 {
			t.Fatal(err, warnings)
		}
		return file
	}
	fresh := func(text string) []byte {
		subsets.Lock()
		clear(subsets.known)
		subsets.Unlock()
		return set(text)
	}
	texts := make([]string, mostSubsets+2)
	for i := range texts {
		texts[i] = fmt.Sprintf("λ = 1550 nm, (a) \\ %c", 'А'+rune(i))
	}
	want := make([][]byte, len(texts))
	for i, s := range texts {
		want[i] = fresh(s)
	}
	for range 2 {
		for i, s := range texts {
			if !bytes.Equal(set(s), want[i]) {
				t.Errorf("%q is another file after others", s)
			}
		}
	}
	if n := len(subsets.known); n == 0 || n > mostSubsets {
		t.Errorf("%d subsets are kept, want some and at most %d", n, mostSubsets)
	}
}
