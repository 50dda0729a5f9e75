// Package topics holds the pages of help that explain the program where no single word or command does: one Markdown
// file each in text, whose first line is "# name: summary". They are read as they are, in a terminal, in the pager of a
// notebook and on the web.
package topics

import (
	"embed"
	"slices"
	"strings"
	"sync"
)

//go:embed text/*.md
var files embed.FS

// Topic is one page of help.
type Topic struct {
	Name    string // one word, lower case: what help is asked for
	Summary string // one line, no full stop
	Text    string // the whole page, as Markdown
}

// pages reads them when help is first asked for. One without its head is a slip in the program's source and panics.
var pages = sync.OnceValue(func() []Topic {
	entries, err := files.ReadDir("text")
	if err != nil {
		panic(err)
	}
	var list []Topic
	for _, e := range entries {
		data, err := files.ReadFile("text/" + e.Name())
		if err != nil {
			panic(err)
		}
		head, _, _ := strings.Cut(string(data), "\n")
		name, summary, ok := strings.Cut(strings.TrimPrefix(head, "# "), ": ")
		if !ok || name+".md" != e.Name() {
			panic("topics: " + e.Name() + " does not begin with its name and summary")
		}
		list = append(list, Topic{name, summary, string(data)})
	}
	return list
})

// All returns the topics in the order of their names.
func All() []Topic { return slices.Clone(pages()) }

// Named returns the topic of a name.
func Named(name string) (Topic, bool) {
	all := pages()
	i := slices.IndexFunc(all, func(t Topic) bool { return t.Name == name })
	if i < 0 {
		return Topic{}, false
	}
	return all[i], true
}
