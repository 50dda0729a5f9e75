package vocab

import (
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/element"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// attr is a field of the values of one type: what a cell reads as value.name.
type attr[T starlark.Value] struct {
	name    string
	gives   string // the type of what it gives, for completion
	summary string // "": that of the argument of this name
	get     func(T) (starlark.Value, error)

	has       func(T) bool   // which values have it; nil: all
	elsewhere func(T) error  // of a value that does not, where it is to be found; may be nil
	caption   string         // on a card; "": the name
	printed   func(T) string // on a card; nil: as any value is
	computes  bool           // reading it is work: completion does not
	aside     bool           // no part of the JSON
}

func (a attr[T]) of(v T) bool { return a.has == nil || a.has(v) }

// when makes a field None for the values for which it does not hold.
func (a attr[T]) when(known func(T) bool) attr[T] {
	get := a.get
	a.get = func(v T) (starlark.Value, error) {
		if !known(v) {
			return starlark.None, nil
		}
		return get(v)
	}
	return a
}

// only keeps a field to some values of the type.
func (a attr[T]) only(has func(T) bool) attr[T] { a.has = has; return a }

// work marks a field that is computed when it is read.
func (a attr[T]) work() attr[T] { a.computes = true; return a }

// notJSON keeps a field out of the JSON.
func (a attr[T]) notJSON() attr[T] { a.aside = true; return a }

// captioned names a field on a card.
func (a attr[T]) captioned(caption string) attr[T] { a.caption = caption; return a }

// printedAs says how a field is printed on a card.
func (a attr[T]) printedAs(f func(T) string) attr[T] { a.printed = f; return a }

// valueAttr is a field of any type.
func valueAttr[T starlark.Value](name, gives, summary string, get func(T) (starlark.Value, error)) attr[T] {
	return attr[T]{name: name, gives: gives, summary: summary, get: get}
}

func textAttr[T starlark.Value](name, summary string, get func(T) string) attr[T] {
	return valueAttr(name, "string", summary, func(v T) (starlark.Value, error) { return starlark.String(get(v)), nil })
}

func textsAttr[T starlark.Value](name, summary string, get func(T) []string) attr[T] {
	return valueAttr(name, "tuple", summary, func(v T) (starlark.Value, error) { return texts(get(v)), nil })
}

func intAttr[T starlark.Value](name, summary string, get func(T) int) attr[T] {
	return valueAttr(name, "int", summary, func(v T) (starlark.Value, error) { return starlark.MakeInt(get(v)), nil })
}

func floatAttr[T starlark.Value](name, summary string, get func(T) float64) attr[T] {
	return valueAttr(name, "float", summary, func(v T) (starlark.Value, error) { return starlark.Float(get(v)), nil })
}

func boolAttr[T starlark.Value](name, summary string, get func(T) bool) attr[T] {
	return valueAttr(name, "bool", summary, func(v T) (starlark.Value, error) { return starlark.Bool(get(v)), nil })
}

func quantityAttr[T starlark.Value](name, summary string, get func(T) quantity.Quantity) attr[T] {
	return valueAttr(name, "quantity", summary, func(v T) (starlark.Value, error) { return fromQuantity(get(v)), nil })
}

// levelAttr is a quantity in dB.
func levelAttr[T starlark.Value](name, summary string, get func(T) float64) attr[T] {
	return quantityAttr(name, summary, func(v T) quantity.Quantity { return quantity.Of(get(v), "dB") })
}

// tupleAttr is a tuple with a value for each of a list.
func tupleAttr[T, V starlark.Value](name, summary string, get func(T) []V) attr[T] {
	return valueAttr(name, "tuple", summary, func(v T) (starlark.Value, error) {
		all := get(v)
		t := make(starlark.Tuple, len(all))
		for i, one := range all {
			t[i] = one
		}
		return t, nil
	})
}

// attrTable is what the values of one type have: the one place where their fields are named. Cells, completion,
// inspection, cards and JSON read it.
type attrTable[T starlark.Value] struct {
	methods methodSet[T]
	fields  []attr[T]
	// numbers are further fields that each value lists itself: the parameters of a part.
	numbers func(T) []element.Parameter
	samples []T    // values that among them list every number
	item    string // the type of what an index gives; may be empty
}

// knownType is an attrTable of any type of value.
type knownType interface {
	outline(typ string) *session.Outline
	json(starlark.Value) any
}

// types holds the tables by the type of the value, as Value.Type names it.
var types = map[string]knownType{}

// newType enters the table of a type.
func newType[T starlark.Value](typ string, methods methodSet[T], fields ...attr[T]) *attrTable[T] {
	t := &attrTable[T]{methods: methods, fields: fields}
	types[typ] = t
	return t
}

// of says what an index of a value gives.
func (t *attrTable[T]) of(item string) *attrTable[T] { t.item = item; return t }

// numbered adds the numbers that values list themselves; the samples list them all.
func (t *attrTable[T]) numbered(numbers func(T) []element.Parameter, samples ...T) *attrTable[T] {
	t.numbers, t.samples = numbers, samples
	return t
}

// methodsOf adds methods.
func (t *attrTable[T]) methodsOf(methods methodSet[T]) *attrTable[T] {
	t.methods = methods
	return t
}

// narrowed is the table of values like one of the type.
func (t *attrTable[T]) narrowed(like T) *attrTable[T] {
	n := *t
	n.fields = slices.DeleteFunc(slices.Clone(t.fields), func(f attr[T]) bool { return !f.of(like) })
	return &n
}

// attr returns a field or a method, nil for a name that the value does not have.
func (t *attrTable[T]) attr(v T, name string) (starlark.Value, error) {
	for _, f := range t.fields {
		switch {
		case f.name != name:
		case f.of(v):
			return f.get(v)
		case f.elsewhere != nil:
			return nil, f.elsewhere(v)
		}
	}
	if t.numbers != nil {
		for _, p := range t.numbers(v) {
			if p.Path == name {
				return fromQuantity(p.Value), nil
			}
		}
	}
	return t.methods.bind(v, name), nil
}

// names lists the fields and methods of a value, sorted.
func (t *attrTable[T]) names(v T) []string {
	var names []string
	for _, f := range t.fields {
		if f.of(v) {
			names = append(names, f.name)
		}
	}
	if t.numbers != nil {
		names = append(names, namesOf(t.numbers(v))...)
	}
	return t.methods.names(names...)
}

// json is an object of all fields; a value without any is its text.
func (t *attrTable[T]) json(value starlark.Value) any {
	v := value.(T)
	m := map[string]any{}
	for _, f := range t.fields {
		if !f.of(v) || f.aside {
			continue
		}
		if got, err := f.get(v); err == nil {
			m[f.name] = JSON(got)
		}
	}
	if t.numbers != nil {
		for _, p := range t.numbers(v) {
			m[p.Path] = JSON(fromQuantity(p.Value))
		}
	}
	if len(m) == 0 {
		return v.String()
	}
	return m
}

// card shows the fields of a value, a row each.
func (t *attrTable[T]) card(caption string, v T) document.Fields {
	card := document.Fields{Caption: caption}
	for _, f := range t.fields {
		if !f.of(v) {
			continue
		}
		name := f.caption
		if name == "" {
			name = spaced(f.name)
		}
		if f.printed != nil {
			card.Rows = append(card.Rows, document.Field{Name: name, Value: f.printed(v)})
			continue
		}
		if got, err := f.get(v); err == nil {
			card.Rows = append(card.Rows, document.Field{Name: name, Value: entry(got, -1)})
		}
	}
	return card
}

// outline is what completion knows of a value of the type before it is there.
func (t *attrTable[T]) outline(typ string) *session.Outline {
	out := &session.Outline{Item: t.item}
	for _, f := range t.fields {
		summary := f.summary
		if summary == "" {
			summary = aboutNumber(typ, f.name)
		}
		out.Attributes = append(out.Attributes, outlined(typ, f.name, f.gives, summary, !f.computes))
	}
	for _, v := range t.samples {
		for _, p := range t.numbers(v) {
			if slices.ContainsFunc(out.Attributes, func(a session.Attribute) bool { return a.Name == p.Path }) {
				continue
			}
			out.Attributes = append(out.Attributes, outlined(typ, p.Path, fromQuantity(p.Value).Type(),
				aboutNumber(typ, p.Path), true))
		}
	}
	for _, w := range t.methods.words {
		sig := w.signature()
		sig.Gives = givesDirection(w)
		out.Attributes = append(out.Attributes, session.Attribute{Name: w.Name, Summary: w.Summary, Call: &sig,
			Doc: w.Describe})
	}
	slices.SortFunc(out.Attributes, func(a, b session.Attribute) int { return strings.Compare(a.Name, b.Name) })
	return out
}

func outlined(typ, name, gives, summary string, held bool) session.Attribute {
	doc := func(int) []document.Block {
		return []document.Block{document.Code{Text: typ + "." + name + ": " + article(gives)}, document.Plain(summary)}
	}
	return session.Attribute{Name: name, Summary: summary, Gives: gives, Held: held, Doc: doc}
}

// aboutNumber documents a number that a part lists: as the argument of the word that makes the part, where there is one
// of that name.
func aboutNumber(typ, name string) string {
	if w := registry[typ]; w != nil {
		for _, p := range w.Params {
			if p.Name == name {
				return p.Doc
			}
		}
	}
	return derivedNumbers[strings.TrimRight(name, "0123456789")] // the number is that of one ring of several
}

// derivedNumbers are the numbers of parts that come from their materials, coatings and magnets.
var derivedNumbers = map[string]string{
	"index":       "index of refraction",
	"extinction":  "extinction ratio Pmax/Pmin",
	"per_kelvin":  "temperature coefficient of |rotation| of a 45° film",
	"per_nm":      "wavelength coefficient of |rotation| of a 45° film",
	"reflectance": "residual reflectance of each face",

	"remanence":       "remanence of its magnet at 20 °C; positive: magnetized along +z",
	"magnet_position": "position of the centre of its magnet along +z, from its own centre",
}

// spaced writes a name as people do: "working distance".
func spaced(name string) string { return strings.ReplaceAll(name, "_", " ") }
