package pdf

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// stack describes pages as the names of their boxes with their heights from the top.
func stack(pages [][]placed) []string {
	var out []string
	for _, p := range pages {
		var parts []string
		for _, b := range p {
			parts = append(parts, fmt.Sprintf("%s@%g", b.block, b.y-marginTop))
		}
		out = append(out, strings.Join(parts, " "))
	}
	return out
}

func TestPaginate(t *testing.T) {
	b := func(name string, height float64) box { return box{block: name, height: height} }
	kept := func(name string, height float64) box { return box{block: name, height: height, keep: true} }
	spaced := func(name string, height, above, below float64) box {
		return box{block: name, height: height, above: above, below: below}
	}
	head := b("head", 10)
	row := func(name string, height float64) box { return box{block: name, height: height, head: &head} }
	loose := func(name string, height float64) box {
		return box{block: name, height: height, keep: true, loose: true, head: &head}
	}
	figure := func(name string, height, give float64) box {
		f := box{block: name, height: height, give: give}
		f.lower = func(h float64) func(*writer, float64) error {
			if h < height-give || h >= height {
				t.Errorf("%s is drawn %g high, want from %g to less than %g", name, h, height-give, height)
			}
			return nil
		}
		return f
	}
	tests := []struct {
		name  string
		boxes []box
		want  []string
	}{
		{"nothing gives one page", nil, []string{""}},
		{"fills a page exactly", []box{b("a", 60), b("b", 40)}, []string{"a@0 b@60"}},
		{"turns the page", []box{b("a", 60), b("b", 41)}, []string{"a@0", "b@0"}},
		{"the greater space counts", []box{spaced("a", 10, 5, 8), spaced("b", 10, 3, 0)}, []string{"a@0 b@18"}},
		{"no space on top", []box{b("a", 95), spaced("b", 10, 5, 0)}, []string{"a@0", "b@0"}},
		{"a heading goes with its text", []box{b("a", 80), kept("h", 10), b("t", 20)}, []string{"a@0", "h@0 t@10"}},
		{"two headings go together", []box{b("a", 70), kept("h", 10), kept("i", 10), b("t", 20)},
			[]string{"a@0", "h@0 i@10 t@20"}},
		{"a chain longer than a page is broken", []box{kept("a", 60), kept("b", 30), kept("c", 60), b("d", 10)},
			[]string{"a@0 b@60", "c@0 d@60"}},
		{"a heading at the very end", []box{b("a", 10), kept("h", 10)}, []string{"a@0 h@10"}},
		{"a table's head is repeated", []box{kept("head", 10), row("1", 50), row("2", 40), row("3", 10)},
			[]string{"head@0 1@10 2@60", "head@0 3@10"}},
		{"a figure gives way", []box{b("a", 60), figure("f", 45, 5), b("b", 1)}, []string{"a@0 f@60", "b@0"}},
		{"but not too much", []box{b("a", 60), figure("f", 46, 5)}, []string{"a@0", "f@0"}},
		{"under its heading too", []box{b("a", 60), kept("h", 10), figure("f", 35, 5)}, []string{"a@0 h@60 f@70"}},
		{"a loose chain goes whole where little is left empty", []box{b("a", 70), loose("1", 20), loose("2", 20),
			b("3", 20)}, []string{"a@0", "head@0 1@10 2@30 3@50"}},
		{"and is broken where much would be", []box{b("a", 50), kept("head", 10), loose("1", 10), loose("2", 20),
			row("3", 20), b("4", 20)}, []string{"a@0 head@50 1@60 2@70", "head@0 3@10 4@30"}},
		{"but not after a box that must be kept", []box{b("a", 60), kept("head", 10), kept("1", 20), loose("2", 20),
			b("3", 20)}, []string{"a@0", "head@0 1@10 2@30 3@50"}},
		{"the repeated head needs its room", []box{kept("head", 10), row("1", 90), row("2", 90), row("3", 5)},
			[]string{"head@0 1@10", "head@0 2@10", "head@0 3@10"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			pages, err := paginate(tt.boxes, 100)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(stack(pages), tt.want); diff != "" {
				t.Errorf("pages (-got +want):\n%s", diff)
			}
		})
	}
	if _, err := paginate([]box{b("monster", 101)}, 100); err == nil || !strings.Contains(err.Error(),
		"monster is 101 points high") {
		t.Errorf("a box higher than a page gave error %v, want one that names it", err)
	}
}
