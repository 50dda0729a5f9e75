package vocab

import (
	"reflect"
	"regexp"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
)

// signature is what completion needs to know of a word.
func (w *Word) signature() session.Signature {
	sig := session.Signature{Gives: w.gives()}
	for _, p := range w.Params {
		suggest := p.Suggest
		if suggest == nil {
			suggest = p.Kind.suggest
		}
		sig.Parameters = append(sig.Parameters, session.Parameter{
			Name: p.Name, Detail: strings.TrimLeft(p.line()[len(p.Name):], ": "),
			Doc: p.Doc, Place: places[p.Mode], Suggest: suggest,
		})
	}
	return sig
}

var places = map[Mode]session.Place{Either: session.ByPosition, Keyword: session.ByName, Many: session.AllFurther,
	Others: session.AnyName}

// oneOf proposes texts from a fixed list.
func oneOf(names func() []string) func(session.Site) []session.Match {
	return func(at session.Site) []session.Match {
		if !at.Quoted {
			return nil
		}
		return textMatches(names())
	}
}

// filesLike proposes the files that the cells can read whose names end in one of some ways.
func filesLike(endings ...string) func(session.Site) []session.Match {
	return func(at session.Site) []session.Match {
		h, ok := at.Local(HostKey).(Listing)
		if !at.Quoted || !ok {
			return nil
		}
		return textMatches(slices.DeleteFunc(h.Files(), func(name string) bool {
			return !slices.ContainsFunc(endings, func(e string) bool {
				return strings.HasSuffix(strings.ToLower(name), e)
			})
		}))
	}
}

// tables are the endings of files that hold tables of numbers.
var tables = []string{".csv", ".txt", ".tsv", ".dat", ".xlsx"}

func textMatches(list []string) []session.Match {
	m := make([]session.Match, len(list))
	for i, s := range list {
		m[i] = session.Match{Text: s, Kind: session.TextMatch}
	}
	return m
}

// suggest proposes what the kind accepts: in a string the words it names, or the paths of parameters where its
// example is one; else units, and the values of the session.
func (k Kind) suggest(at session.Site) []session.Match {
	if at.Quoted {
		if examplePath.MatchString(k.Want) {
			return PathsOf(at)
		}
		return textMatches(k.words())
	}
	if k.accepts(starlark.None) {
		return nil // any value
	}
	if k.accepts(units["nm"]) {
		return unitMatches(at.Receiver)
	}
	var list []session.Match
	for _, v := range at.Values {
		if k.accepts(v.Value) {
			list = append(list, session.Match{Text: v.Name, Kind: session.NameMatch, Detail: describe(v.Value)})
		}
	}
	return list
}

func (k Kind) accepts(v starlark.Value) bool { ok, _ := k.accept(v); return ok }

var (
	examplePath = regexp.MustCompile(`"[a-z]+[0-9]\.[a-z_]+"`)
	quoted      = regexp.MustCompile(`"([^"]+)"`)
)

// words returns the texts that the kind is a choice of; none when it accepts any text.
func (k Kind) words() []string {
	if k.accepts(starlark.String("\x00")) {
		return nil
	}
	var list []string
	for _, m := range quoted.FindAllStringSubmatch(k.Want, -1) {
		if k.accepts(starlark.String(m[1])) {
			list = append(list, m[1])
		}
	}
	return list
}

// unitMatches proposes the units that what is measured can be given in, or all of them.
func unitMatches(of starlark.Value) []session.Match {
	var dimension *quantity.Dimension
	switch v := of.(type) {
	case Quantity:
		d := v.Quantity.Dimension()
		dimension = &d
	case *Series:
		d := quantity.Attach(1, v.unit).Dimension()
		dimension = &d
	case *Sweep:
		d := quantity.Attach(1, v.unit).Dimension()
		dimension = &d
	}
	var list []session.Match
	for _, name := range quantity.Names() {
		u := units[name]
		if dimension == nil || quantity.Attach(1, u.Unit).Dimension() == *dimension {
			list = append(list, session.Match{Text: name, Kind: session.UnitMatch, Detail: u.Summary()})
		}
	}
	return list
}

// stacksOf returns the stacks that a text may speak of: the one whose method is called or that the call is
// given, else all of the session.
func stacksOf(at session.Site) []*Stack {
	if s, ok := at.Receiver.(*Stack); ok {
		return []*Stack{s}
	}
	if at.Argument != nil {
		if s, ok := at.Argument("stack").(*Stack); ok {
			return []*Stack{s}
		}
	}
	var list []*Stack
	for _, v := range at.Values {
		if s, ok := v.Value.(*Stack); ok {
			list = append(list, s)
		}
	}
	return list
}

// PathsOf proposes the paths "element.parameter" of the stacks that a text may speak of, with the value they
// have. It is meant for session.Config.Keys as well.
func PathsOf(at session.Site) []session.Match {
	var list []session.Match
	for _, s := range stacksOf(at) {
		for _, p := range s.stack.Parameters() {
			m := session.Match{Text: p.Path, Kind: session.TextMatch, Detail: written(p.Value)}
			if !slices.ContainsFunc(list, func(o session.Match) bool { return o.Text == m.Text }) {
				list = append(list, m)
			}
		}
	}
	return list
}

// turnable proposes the parts that can be turned.
func turnable(at session.Site) []session.Match {
	var list []session.Match
	for _, s := range stacksOf(at) {
		for _, e := range s.stack.Spec().Elements {
			if at.Quoted && !reflect.DeepEqual(e.Rolled(1), e) {
				list = append(list, session.Match{Text: e.Label(), Kind: session.TextMatch, Detail: e.Kind()})
			}
		}
	}
	return list
}
