package regenerate

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"unicode/utf8"

	"wedgework/reports/files"
	"wedgework/reports/index/table"
	"wedgework/reports/reason"
)

// Pattern stands for files below a folder. Its elements are divided by slashes; in one, * stands for any text, ? for
// one character and {name} for any text that is then known by that name, the same wherever the name comes again. An
// element ** stands for any number of folders. Neither crosses a slash, and none matches a name that begins with a
// point unless the element does.
type Pattern struct {
	text     string
	elements []element
	groups   []string
}

// element is one part of a pattern between slashes.
type element struct {
	plain string         // the name, when it stands for itself
	match *regexp.Regexp // else what names look like
	names []string       // of the groups of match
	point bool           // it begins with a point, and so matches names that do
	deep  bool           // **
}

// Match is a file that a pattern stands for.
type Match struct {
	Path   string // below the folder, with slashes
	Groups Groups
	Err    error // why it cannot be read, or what is below it when it is a folder
}

// Groups say what each named group is. They are a list, since they are few and there can be a hundred thousand of them;
// one is not changed once it has been made.
type Groups []Group

// Group is a named group and its value.
type Group struct{ Name, Value string }

// Get returns the value of a group.
func (g Groups) Get(name string) (value string, known bool) {
	for _, one := range g {
		if one.Name == name {
			return one.Value, true
		}
	}
	return "", false
}

// Unicode classes take a good part of a millisecond to compile, which most starts of the program can do without.
var groupName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[\pL_][\pL\pN_]*$`) })

// ParsePattern reads a pattern. It is an error for a brace to be left open or for a group to have no proper name.
func ParsePattern(text string) (*Pattern, error) {
	if text == "" {
		return nil, errors.New("found nothing, expected a file or a pattern, as in \"incoming/{unit}.csv\"")
	}
	p := &Pattern{text: text}
	slashed := filepath.ToSlash(text)
	for i, part := range strings.Split(slashed, "/") {
		e, err := parseElement(part)
		if err != nil {
			return nil, fmt.Errorf("found %q, %w", text, err)
		}
		if part == "" && i > 0 {
			return nil, fmt.Errorf("found %q, expected a name between two slashes and after the last", text)
		}
		for _, n := range e.names {
			if !slices.Contains(p.groups, n) {
				p.groups = append(p.groups, n)
			}
		}
		p.elements = append(p.elements, e)
	}
	if p.elements[len(p.elements)-1].deep {
		return nil, fmt.Errorf("found %q, expected a name after **", text)
	}
	return p, nil
}

func parseElement(part string) (element, error) {
	if part == "**" {
		return element{deep: true}, nil
	}
	var re strings.Builder
	re.WriteString("^(?s)")
	var names []string
	open := false
	for rest := part; rest != ""; {
		switch c := rest[0]; c {
		case '*', '?':
			open = true
			re.WriteString(map[byte]string{'*': ".*", '?': "."}[c])
			rest = rest[1:]
		case '{':
			name, after, ok := strings.Cut(rest[1:], "}")
			if !ok || !groupName().MatchString(name) {
				return element{}, errors.New("expected a name in braces, as in {unit}")
			}
			open = true
			names = append(names, name)
			re.WriteString("(.+)")
			rest = after
		case '}':
			return element{}, errors.New("expected no closing brace without an opening one")
		default:
			n := strings.IndexAny(rest, "*?{}")
			if n < 0 {
				n = len(rest)
			}
			re.WriteString(regexp.QuoteMeta(rest[:n]))
			rest = rest[n:]
		}
	}
	if !open {
		return element{plain: part}, nil
	}
	compiled, err := regexp.Compile(re.String() + "$")
	if err != nil {
		return element{}, err
	}
	return element{match: compiled, names: names, point: strings.HasPrefix(part, ".")}, nil
}

// String returns the pattern as it was written.
func (p *Pattern) String() string { return p.text }

// Groups lists the names in braces, in the order of their first places.
func (p *Pattern) Groups() []string { return p.groups }

// Many reports whether the pattern can stand for more than one file.
func (p *Pattern) Many() bool {
	return slices.ContainsFunc(p.elements, func(e element) bool { return e.match != nil || e.deep })
}

// Find returns the files below folder that the pattern stands for, sorted by path. Groups in given hold from the start:
// only files that agree with them are found. A folder that is not there holds no files. One that cannot be read, a loop
// of links or a name that is not UTF-8 is a match with an error: it is no reason not to find the others.
func (p *Pattern) Find(folder string, given Groups) []Match {
	start := folder
	elements := p.elements
	if elements[0].plain == "" && elements[0].match == nil && !elements[0].deep { // an absolute path
		start, elements = "/", elements[1:]
	} else if filepath.IsAbs(filepath.FromSlash(p.text)) { // a volume
		start, elements = elements[0].plain+"/", elements[1:]
	}
	w := walker{start: start, named: !p.Many()}
	if start != folder {
		w.before = start
	}
	w.walk("", elements, given)
	slices.SortFunc(w.found, func(a, b Match) int { return strings.Compare(a.Path, b.Path) })
	return slices.CompactFunc(w.found, func(a, b Match) bool { return a.Path == b.Path })
}

// Folder is the folder, as seen from that of the plan, below which all files of the pattern lie.
func (p *Pattern) Folder(folder string) string {
	var plain []string
	for _, e := range p.elements[:len(p.elements)-1] {
		if e.match != nil || e.deep {
			break
		}
		plain = append(plain, e.plain)
	}
	path := strings.Join(plain, "/")
	if path == "" && strings.HasPrefix(p.text, "/") {
		path = "/"
	}
	return below(folder, path)
}

// walker follows the elements of a pattern through folders.
type walker struct {
	start, before string // where it begins; what goes before the path of a match
	named         bool   // the pattern stands for one file
	found         []Match
}

func (w *walker) match(path string, groups Groups, err error) {
	if errors.Is(err, fs.ErrNotExist) { // a pattern that finds nothing
		return
	}
	w.found = append(w.found, Match{w.before + path, groups, reason.Bare(err)})
}

func (w *walker) walk(path string, elements []element, groups Groups) {
	here := filepath.Join(w.start, filepath.FromSlash(path))
	if len(elements) == 0 {
		info, err := os.Stat(here)
		if err == nil {
			err = files.Regular(info.Mode())
		}
		if !w.named && table.Is(here) { // of an index in the same folder, which is no file of readings
			return
		}
		if err == nil || info == nil || w.named { // what a wildcard finds and is no file, is not meant
			w.match(path, groups, err)
		}
		return
	}
	e, rest := elements[0], elements[1:]
	if !e.deep && e.match == nil {
		w.walk(join(path, e.plain), rest, groups)
		return
	}
	if e.deep {
		w.walk(path, rest, groups)
	}
	names, err := os.ReadDir(here)
	if err != nil && !errors.Is(err, syscall.ENOTDIR) { // a link to a file where a folder is asked for is none
		w.match(path, groups, err)
	}
	for _, n := range names {
		w.enter(path, n, elements, groups)
	}
}

// enter takes one name of a folder.
func (w *walker) enter(path string, n fs.DirEntry, elements []element, groups Groups) {
	e, rest := elements[0], elements[1:]
	folder := n.IsDir() || n.Type()&fs.ModeSymlink != 0
	switch {
	case len(rest) > 0 && !folder || e.deep && !n.IsDir(): // ** does not follow links, which may lead in a circle
	case e.deep:
		if !strings.HasPrefix(n.Name(), ".") {
			w.walk(join(path, n.Name()), elements, groups)
		}
	default:
		with, ok := e.matches(n.Name(), groups)
		switch {
		case !ok:
		case !utf8.ValidString(n.Name()):
			w.match(join(path, n.Name()), groups, errNotUTF8)
		case len(rest) == 0 && n.Type().IsRegular() && table.Heads[n.Name()] == nil: // nothing more to be looked at
			w.match(join(path, n.Name()), with, nil)
		default:
			w.walk(join(path, n.Name()), rest, with)
		}
	}
}

var errNotUTF8 = errors.New("found a name that is not UTF-8, expected one that is")

func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "/" + name
}

// matches reports whether a name is one of the element's, and what the groups then are.
func (e element) matches(name string, groups Groups) (Groups, bool) {
	if strings.HasPrefix(name, ".") && !e.point {
		return nil, false
	}
	m := e.match.FindStringSubmatch(name)
	if m == nil {
		return nil, false
	}
	if len(e.names) == 0 {
		return groups, true
	}
	with := append(make(Groups, 0, len(groups)+len(e.names)), groups...)
	for i, n := range e.names {
		if v, ok := with.Get(n); !ok {
			with = append(with, Group{n, m[i+1]})
		} else if v != m[i+1] {
			return nil, false
		}
	}
	return with, true
}
