package vocab

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/kernel/topics"
)

// Word is one entry of the vocabulary: a function that cells call, a constant, or a method of a value.
type Word struct {
	Name    string
	Summary string // one line, no full stop
	Params  []Param
	Returns string // what a call gives, as a noun phrase
	Errors  string // when a call is refused, beyond arguments of the wrong kind; may be empty
	Example string // cell source that runs as it stands
	Source  string // where the formula or the definition comes from; may be empty
	Detail  string // more than one line, for help; may be empty

	// Call is given arguments that have passed the checks of Params. Nil for a constant.
	Call func(*starlark.Thread, Args) (starlark.Value, error)
	// Value is what a constant stands for. Nil for a function.
	Value starlark.Value

	owner string // for a method, the type of the value it belongs to
}

// Mode says how an argument may be given.
type Mode uint8

const (
	Either  Mode = iota // by position or by name
	Keyword             // by name only
	Many                // all further positional arguments
	Others              // all further named arguments, whatever they are called
)

// Param is one parameter of a word.
type Param struct {
	Name     string
	Kind     Kind
	Doc      string
	Mode     Mode
	Default  starlark.Value // nil: none
	Optional bool           // may be left out though it has no default; Doc says what happens then

	// Suggest proposes values while a call is written. When nil, what the Kind accepts is proposed.
	Suggest func(session.Site) []session.Match
}

var registry = map[string]*Word{}

// Register enters a word in the vocabulary and returns it. It is meant for a package variable, so that
// a word's own file is all it takes; a duplicate or malformed word is a slip in the program's source and
// panics at start-up.
func Register(w Word) *Word {
	if err := w.check(); err != nil {
		panic("vocab: " + err.Error())
	}
	if _, ok := registry[w.Name]; ok {
		panic("vocab: the word " + w.Name + " is registered twice")
	}
	if _, ok := units[w.Name]; ok {
		panic("vocab: the word " + w.Name + " is the name of a unit")
	}
	registry[w.Name] = &w
	return &w
}

func (w *Word) check() error {
	switch {
	case w.Name == "" || w.Summary == "" || w.Example == "":
		return fmt.Errorf("word %q needs a name, a summary and an example", w.Name)
	case (w.Call == nil) == (w.Value == nil):
		return fmt.Errorf("word %s must be either a function or a constant", w.Name)
	}
	seen := map[string]bool{}
	for _, p := range w.Params {
		if p.Name == "" || p.Doc == "" || seen[p.Name] || p.Kind.accept == nil {
			return fmt.Errorf("word %s: parameter %q needs a name of its own, a kind and a line of documentation",
				w.Name, p.Name)
		}
		seen[p.Name] = true
		if p.Default != nil {
			if problem := p.Kind.problem(p.Default); problem != "" {
				return fmt.Errorf("word %s: default of %s: %s", w.Name, p.Name, problem)
			}
		}
	}
	return nil
}

// Lookup returns the word, unit or constant of that name, or nil.
func Lookup(name string) *Word {
	if w, ok := registry[name]; ok {
		return w
	}
	if u, ok := units[name]; ok {
		return u.word(name)
	}
	return nil
}

// Names lists every name of the vocabulary, words, units and constants, sorted.
func Names() []string {
	s := slices.AppendSeq(slices.Collect(maps.Keys(registry)), maps.Keys(units))
	slices.Sort(s)
	return s
}

// Words returns what a session puts before every cell: all words, units and constants by name. The
// dictionary is new at each call, its values are shared and immutable.
func Words() starlark.StringDict {
	d := make(starlark.StringDict, len(registry)+len(units))
	for name, w := range registry {
		d[name] = w.value()
	}
	for name, u := range units {
		d[name] = u
	}
	return d
}

func (w *Word) value() starlark.Value {
	if w.Value != nil {
		return w.Value
	}
	return &callable{word: w, call: w.Call}
}

// Methods lists the methods of the values of the vocabulary, "series.min", sorted.
func Methods() []*Word {
	s := slices.Clone(methods)
	slices.SortFunc(s, func(a, b *Word) int { return strings.Compare(a.title(), b.title()) })
	return s
}

// HelpNamed explains a word, the methods of a name, alone or with the kind of value they belong to ("trials",
// "stack.trials"), and the topic of that name.
func HelpNamed(name string) (text string, ok bool) {
	var texts []string
	if w := Lookup(name); w != nil {
		texts = append(texts, w.Help())
	} else {
		for _, w := range Methods() {
			if w.Name == name || w.title() == name {
				texts = append(texts, w.Help())
			}
		}
	}
	if t, ok := topics.Named(name); ok {
		texts = append(texts, t.Text)
	}
	return strings.Join(texts, "\n"), len(texts) > 0
}

// Titles lists what help explains: every name of the vocabulary, every method by its title, and every topic.
func Titles() []string {
	s := Names()
	for _, t := range topics.All() {
		s = append(s, t.Name)
	}
	for _, w := range Methods() {
		s = append(s, w.title())
	}
	slices.Sort(s)
	return s
}

// title is the name under which help shows the word: "series.min" for a method.
func (w *Word) title() string {
	if w.owner != "" {
		return w.owner + "." + w.Name
	}
	return w.Name
}
