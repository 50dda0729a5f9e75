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
	Path   string            // below the folder, with slashes
	Groups map[string]string // what each named group is in it
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
// only files that agree with them are found. A folder that is not there holds no files; one that cannot be read is an
// error.
func (p *Pattern) Find(folder string, given map[string]string) ([]Match, error) {
	var found []Match
	start := folder
	elements := p.elements
	if elements[0].plain == "" && elements[0].match == nil && !elements[0].deep { // an absolute path
		start, elements = "/", elements[1:]
	} else if filepath.IsAbs(filepath.FromSlash(p.text)) { // a volume
		start, elements = elements[0].plain+"/", elements[1:]
	}
	err := walk(start, "", elements, given, func(path string, groups map[string]string) {
		if start != folder {
			path = start + path
		}
		found = append(found, Match{path, groups})
	})
	slices.SortFunc(found, func(a, b Match) int { return strings.Compare(a.Path, b.Path) })
	return slices.CompactFunc(found, func(a, b Match) bool { return a.Path == b.Path }), err
}

// walk follows the elements from start/path on.
func walk(start, path string, elements []element, groups map[string]string,
	found func(string, map[string]string)) error {
	if len(elements) == 0 {
		info, err := os.Stat(filepath.Join(start, filepath.FromSlash(path)))
		if err == nil && info.Mode().IsRegular() {
			found(path, groups)
		}
		return missingIsNone(err)
	}
	e, rest := elements[0], elements[1:]
	if !e.deep && e.match == nil {
		return walk(start, join(path, e.plain), rest, groups, found)
	}
	if e.deep {
		if err := walk(start, path, rest, groups, found); err != nil {
			return err
		}
	}
	names, err := os.ReadDir(filepath.Join(start, filepath.FromSlash(path)))
	if err != nil {
		return missingIsNone(err)
	}
	for _, n := range names {
		folder := n.IsDir() || n.Type()&fs.ModeSymlink != 0
		switch {
		case len(rest) > 0 && !folder || e.deep && !n.IsDir(): // ** does not follow links, which may lead in a circle
		case e.deep:
			if !strings.HasPrefix(n.Name(), ".") {
				err = walk(start, join(path, n.Name()), elements, groups, found)
			}
		default:
			if with, ok := e.matches(n.Name(), groups); ok {
				err = walk(start, join(path, n.Name()), rest, with, found)
			}
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "/" + name
}

// missingIsNone forgives what is not there: a pattern that finds nothing.
func missingIsNone(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// matches reports whether a name is one of the element's, and what the groups then are.
func (e element) matches(name string, groups map[string]string) (map[string]string, bool) {
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
	with := make(map[string]string, len(groups)+len(e.names))
	for k, v := range groups {
		with[k] = v
	}
	for i, n := range e.names {
		if v, ok := with[n]; ok && v != m[i+1] {
			return nil, false
		}
		with[n] = m[i+1]
	}
	return with, true
}
