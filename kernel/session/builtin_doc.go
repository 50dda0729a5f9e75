package session

import (
	"strings"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
)

// builtinDoc is what inspection shows of a function or a method of the language itself.
type builtinDoc struct{ call, summary, gives string }

// builtinDocs are by name, "len", or by type and name, "string.join".
var builtinDocs = map[string]builtinDoc{
	"abs":       {"abs(x)", "the value without its sign", ""},
	"all":       {"all(x)", "whether every element is true", "bool"},
	"any":       {"any(x)", "whether an element is true", "bool"},
	"bool":      {"bool(x)", "True or False", "bool"},
	"bytes":     {"bytes(x)", "the bytes of a text or of numbers from 0 to 255", "bytes"},
	"chr":       {"chr(i)", "the character of a code point", "string"},
	"dict":      {"dict(pairs)", "a dict of pairs and of named arguments", "dict"},
	"dir":       {"dir(x)", "the names of the attributes of a value, or of all that a cell can use", "list"},
	"enumerate": {"enumerate(x, start=0)", "a list of pairs: a number and an element", "list"},
	"fail":      {"fail(*parts, sep=\" \")", "ends the cell with an error", ""},
	"float":     {"float(x)", "a floating-point number", "float"},
	"getattr":   {"getattr(x, name, default)", "the attribute of that name, or the default", ""},
	"hasattr":   {"hasattr(x, name)", "whether there is an attribute of that name", "bool"},
	"hash":      {"hash(x)", "a whole number that equal texts share", "int"},
	"int":       {"int(x, base)", "a whole number: of a number its whole part, of a text what it reads", "int"},
	"len":       {"len(x)", "how many elements there are", "int"},
	"list":      {"list(x)", "a list of the elements", "list"},
	"ord":       {"ord(x)", "the code point of a character", "int"},
	"print": {"print(*parts, sep=\" \", end=\"\\n\")",
		"prints its arguments as an output of the cell; str() gives a quantity with all digits", "NoneType"},
	"range":    {"range(start, stop, step=1)", "the whole numbers from start to before stop", "range"},
	"repr":     {"repr(x)", "the value as a cell would write it", "string"},
	"reversed": {"reversed(x)", "a list of the elements, last first", "list"},
	"set":      {"set(x)", "a set of the elements", "set"},
	"sorted":   {"sorted(x, key=None, reverse=False)", "a sorted list of the elements", "list"},
	"str":      {"str(x)", "the value as text", "string"},
	"tuple":    {"tuple(x)", "a tuple of the elements", "tuple"},
	"type":     {"type(x)", "the name of the type of a value", "string"},
	"zip":      {"zip(*lists)", "a list of tuples, one element of each list in each", "list"},

	"string.count":      {"count(part, start, end)", "how often the part occurs in the text", "int"},
	"string.endswith":   {"endswith(suffix, start, end)", "whether the text ends with the suffix", "bool"},
	"string.find":       {"find(part, start, end)", "position of the part where it first occurs, or -1", "int"},
	"string.format":     {"format(*values, **named)", "the text with its {} filled in", "string"},
	"string.join":       {"join(texts)", "the texts in one, with this one between them", "string"},
	"string.lower":      {"lower()", "the text in lower case", "string"},
	"string.lstrip":     {"lstrip(characters)", "the text without leading space or characters", "string"},
	"string.partition":  {"partition(at)", "what stands before, the part itself, what stands after", "tuple"},
	"string.replace":    {"replace(old, new, count=-1)", "the text with old replaced by new", "string"},
	"string.rstrip":     {"rstrip(characters)", "the text without trailing space or characters", "string"},
	"string.split":      {"split(at, most=-1)", "the parts between white space or separators", "list"},
	"string.splitlines": {"splitlines(keepends=False)", "the lines", "list"},
	"string.startswith": {"startswith(prefix, start, end)", "whether the text begins with the prefix", "bool"},
	"string.strip":      {"strip(characters)", "the text without space or characters at its ends", "string"},
	"string.title":      {"title()", "every word with a capital", "string"},
	"string.upper":      {"upper()", "the text in capitals", "string"},

	"list.append": {"append(x)", "adds an element at the end", "NoneType"},
	"list.clear":  {"clear()", "takes all elements away", "NoneType"},
	"list.extend": {"extend(elements)", "adds elements at the end", "NoneType"},
	"list.index":  {"index(x, start, end)", "position of the first such element", "int"},
	"list.insert": {"insert(i, x)", "puts an element before the one at i", "NoneType"},
	"list.pop":    {"pop(i=-1)", "takes an element away and returns it", ""},
	"list.remove": {"remove(x)", "takes the first such element away", "NoneType"},

	"dict.clear":      {"clear()", "takes all entries away", "NoneType"},
	"dict.get":        {"get(key, default=None)", "the value of a key, or the default", ""},
	"dict.items":      {"items()", "a list of pairs of key and value", "list"},
	"dict.keys":       {"keys()", "a list of the keys", "list"},
	"dict.pop":        {"pop(key, default)", "takes an entry away and returns its value", ""},
	"dict.popitem":    {"popitem()", "takes the first entry away and returns it", "tuple"},
	"dict.setdefault": {"setdefault(key, default=None)", "the value of a key, which is set if it is missing", ""},
	"dict.update":     {"update(pairs, **named)", "sets entries", "NoneType"},
	"dict.values":     {"values()", "a list of the values", "list"},
}

// docOf returns what is known of a built-in function or method.
func docOf(b *starlark.Builtin) builtinDoc {
	name := b.Name()
	if r := b.Receiver(); r != nil {
		name = r.Type() + "." + name
	}
	return builtinDocs[name]
}

// builtinSignature reads the parameters off the line that documents the function.
func builtinSignature(b *starlark.Builtin) *Signature {
	d := docOf(b)
	_, list, _ := strings.Cut(strings.TrimSuffix(d.call, ")"), "(")
	sig := &Signature{Gives: d.gives}
	for _, part := range strings.Split(list, ", ") {
		name, dflt, optional := strings.Cut(part, "=")
		switch {
		case !optional: // the language takes these by position only
			continue
		default:
			sig.Parameters = append(sig.Parameters, Parameter{Name: name, Detail: "default " + dflt, Place: ByName})
		}
	}
	return sig
}

func builtinBlocks(b *starlark.Builtin) []document.Block {
	d := docOf(b)
	if d.call == "" {
		return []document.Block{document.Code{Text: b.Name() + "(...)"}}
	}
	return []document.Block{document.Code{Text: d.call}, document.Plain(d.summary)}
}
