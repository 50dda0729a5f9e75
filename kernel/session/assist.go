package session

import (
	"go.starlark.net/starlark"

	"wedgework/reports/document"
)

// Match is one way to go on writing.
type Match struct {
	Text   string // what stands between Start and End of the Completion then
	Kind   string // one of the kinds below
	Detail string // one line for people; may be empty
}

// Kinds of Match.
const (
	NameMatch      = "name"      // a name that a cell has assigned, or a built-in function
	WordMatch      = "word"      // a word of the vocabulary
	UnitMatch      = "unit"      // what a number is multiplied with
	ArgumentMatch  = "argument"  // an argument of the call around the cursor, "apex="
	AttributeMatch = "attribute" // a field of a value
	MethodMatch    = "method"    // a method of a value
	TextMatch      = "text"      // inside a string: what the argument or the index may be
	KeywordMatch   = "keyword"   // of the language
)

// Completion is what may stand at a cursor. Start and End are the code points of the source that a match
// replaces; they enclose what is typed of it.
type Completion struct {
	Matches    []Match
	Start, End int
}

// Describer is a value or a word that tells of itself. Detail 0 asks for what fits a hint beside the line,
// 1 for all there is. It is called while cells run.
type Describer interface {
	Describe(detail int) []document.Block
}

// Summarizer is a value with a line about itself, for the list of matches.
type Summarizer interface{ Summary() string }

// Light is a value whose arithmetic with numbers and others of its kind is quick and changes nothing, so
// that completion may do it: a quantity. One that is a Factor is offered after * and /: a unit.
type Light interface {
	starlark.Value
	Factor() bool
}

// Signed is a function that tells what it takes and gives.
type Signed interface {
	starlark.Callable
	Signature() Signature
}

// Signature is what a function takes and gives.
type Signature struct {
	Parameters []Parameter
	Gives      string // the type of the result, as Outlines know it; may be empty
}

// Parameter is one of them.
type Parameter struct {
	Name   string
	Detail string // one line: "(deg): an angle such as 13*deg; default 0*deg", without the unit where there is none
	Doc    string // what it means
	Place  Place
	// Suggest proposes what may be given: names of the session, or texts where the site is Quoted. It may
	// be nil.
	Suggest func(Site) []Match
}

// Place says how a parameter is given.
type Place uint8

// The places of a Parameter.
const (
	ByPosition Place = iota // by position or by name
	ByName                  // by name only
	AllFurther              // all further positional arguments
	AnyName                 // all further named arguments
)

// Site is where an argument is about to be written.
type Site struct {
	Quoted   bool           // inside a string
	Key      bool           // the string stands before a colon, or where one may come: the key of a dict
	Receiver starlark.Value // whose method is called; nil when it is not there yet
	// Argument returns another argument of the call, nil when it is not given or has no value yet.
	Argument func(name string) starlark.Value
	// Values are what the names of the session hold, in the order of the names; functions are left out.
	Values []Named
	// Local returns what Config.Local has under a key.
	Local func(key string) any
}

// Named is a value under a name.
type Named struct {
	Name  string
	Value starlark.Value
}

// Outline is what values of one type have, for expressions whose value is not there before they run.
type Outline struct {
	Attributes []Attribute
	Item       string // the type of what an index gives; may be empty
}

// Attribute is one field or method of an Outline.
type Attribute struct {
	Name    string
	Summary string
	Gives   string     // the type of a field
	Call    *Signature // of a method; nil for a field
	Doc     func(detail int) []document.Block
	// Held means that reading the field computes nothing: completion then looks at the value itself.
	Held bool
}

// Keyed is a value that is indexed with texts.
type Keyed interface {
	starlark.Value
	Keys() []Match
}
