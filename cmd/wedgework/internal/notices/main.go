// Command notices writes the file that `wedgework licences` prints: the licence of the program, of the Go
// standard library, and of every module linked into the program on any of the systems it is built for,
// from the module cache. It is run by go generate in cmd/wedgework.
//
// A module without a licence file is an error: its notice would be missing from what is handed on.
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"unicode/utf8"
)

// systems are those whose builds are looked at: a module may be linked on one of them only.
var systems = []string{"linux", "darwin", "windows"}

// licence matches the names of the files that hold a module's terms.
var licence = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([-._].*)?$`)

// further lists terms that lie elsewhere in a module.
var further = map[string][]string{
	"github.com/golang/freetype": {"licenses/ftl.txt"}, // the one of its two licences that is chosen here
}

const preface = `wedgework is licensed under the Apache License, Version 2.0, which stands first below.

The program contains the parts listed here, each under its own terms.
`

// acknowledged are sentences that a module's terms ask for, or that say which of its terms is chosen.
var acknowledged = map[string]string{
	"codeberg.org/go-fonts/liberation": "It embeds the Liberation fonts, which are under the SIL Open Font License, " +
		"Version 1.1, and puts subsets of\nthem into reports.",
	"github.com/ajstarks/svgo": "It contains SVGo by Anthony Starks, unchanged, under the Creative Commons " +
		"Attribution 4.0 International licence.",
	"github.com/golang/freetype": "Portions of this software are copyright The FreeType Project (www.freetype.org). " +
		"All rights reserved.",
}

type module struct {
	Path, Version, Dir string
	Main               bool
}

func main() {
	out := flag.String("out", "notices.txt", "file to write")
	flag.Parse()
	if err := write(*out); err != nil {
		fmt.Fprintln(os.Stderr, "notices:", err)
		os.Exit(1)
	}
}

func write(path string) error {
	modules, err := linked()
	if err != nil {
		return err
	}
	text, err := compose(modules)
	if err != nil {
		return err
	}
	return os.WriteFile(path, text, 0o644)
}

// linked lists the modules of the program, sorted by path, its own first and the standard library second.
func linked() ([]module, error) {
	all := map[string]module{}
	for _, system := range systems {
		list := exec.Command("go", "list", "-deps", "-json=Module", ".")
		list.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")
		list.Stderr = os.Stderr
		data, err := list.Output()
		if err != nil {
			return nil, fmt.Errorf("go list for %s: %w", system, err)
		}
		d := json.NewDecoder(bytes.NewReader(data))
		for {
			var p struct{ Module *module }
			if err := d.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				return nil, err
			}
			if p.Module != nil {
				all[p.Module.Path] = *p.Module
			}
		}
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, fmt.Errorf("go env GOROOT: %w", err)
	}
	list := []module{{Path: "the Go standard library", Version: runtime.Version(),
		Dir: strings.TrimSpace(string(root))}}
	for _, m := range all {
		list = append(list, m)
	}
	slices.SortFunc(list[1:], func(a, b module) int {
		if a.Main != b.Main {
			return map[bool]int{true: -1, false: 1}[a.Main]
		}
		return strings.Compare(a.Path, b.Path)
	})
	list[0], list[1] = list[1], list[0]
	return list, nil
}

// compose lists the modules and then the texts; a text that several modules have stands once.
func compose(modules []module) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString(preface)
	for _, m := range modules {
		if s, ok := acknowledged[m.Path]; ok {
			fmt.Fprintln(&b, s)
		}
	}
	var texts []string
	users := map[string][]string{}
	for _, m := range modules {
		names, err := files(m)
		if err != nil {
			return nil, err
		}
		for _, name := range names {
			data, err := os.ReadFile(filepath.Join(m.Dir, name))
			if err != nil {
				return nil, err
			}
			text := strings.TrimRight(strings.ReplaceAll(decode(data), "\r\n", "\n"), "\n\t ")
			if users[text] == nil {
				texts = append(texts, text)
			}
			users[text] = append(users[text], m.title()+" ("+filepath.ToSlash(name)+")")
		}
	}
	for _, text := range texts {
		rule := strings.Repeat("=", 100)
		fmt.Fprintf(&b, "\n%s\n%s\n%s\n\n%s\n", rule, strings.Join(users[text], "\n"), rule, text)
	}
	return b.Bytes(), nil
}

// decode returns a text in UTF-8. An old licence is in Latin-1, whose bytes are code points.
func decode(data []byte) string {
	if utf8.Valid(data) {
		return string(data)
	}
	runes := make([]rune, len(data))
	for i, b := range data {
		runes[i] = rune(b)
	}
	return string(runes)
}

func (m module) title() string {
	if m.Version == "" {
		return m.Path
	}
	return m.Path + " " + m.Version
}

func files(m module) ([]string, error) {
	entries, err := os.ReadDir(m.Dir)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() && licence.MatchString(e.Name()) {
			names = append(names, e.Name())
		}
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("%s has no licence file in %s", m.title(), m.Dir)
	}
	return append(names, further[m.Path]...), nil
}
