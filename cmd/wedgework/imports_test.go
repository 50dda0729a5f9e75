package main

import (
	"bytes"
	"encoding/json"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// arrows are the tables of DEVELOPERS.md: for a package or a library, the packages it may import or be
// imported by.
type arrows struct {
	packages, libraries map[string][]string
}

// readArrows reads the two tables between the imports markers.
func readArrows(t *testing.T, file string) arrows {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	_, text, ok := strings.Cut(string(data), "<!-- imports -->")
	text, _, closed := strings.Cut(text, "<!-- /imports -->")
	if !ok || !closed {
		t.Fatalf("%s has no part between <!-- imports --> and <!-- /imports -->", file)
	}
	a := arrows{map[string][]string{}, map[string][]string{}}
	into := a.packages
	for _, line := range strings.Split(text, "\n") {
		cells := strings.Split(strings.Trim(line, "| "), "|")
		name := strings.TrimSpace(cells[0])
		switch {
		case !strings.HasPrefix(line, "|") || strings.HasPrefix(name, "---") || name == "package":
			continue
		case name == "library":
			into = a.libraries
			continue
		}
		list := []string{}
		if len(cells) > 1 {
			for _, s := range strings.Split(cells[1], ",") {
				if s = strings.TrimSpace(s); s != "" {
					list = append(list, s)
				}
			}
		}
		if _, twice := into[name]; twice {
			t.Errorf("%s lists %s twice", file, name)
		}
		into[name] = list
	}
	if len(a.packages) == 0 || len(a.libraries) == 0 {
		t.Fatalf("%s lists %d packages and %d libraries, want both tables", file, len(a.packages), len(a.libraries))
	}
	return a
}

// allows tells whether a list of packages, with a star for a whole folder, holds one.
func allows(list []string, pkg string) bool {
	return slices.ContainsFunc(list, func(p string) bool {
		folder, star := strings.CutSuffix(p, "*")
		return p == pkg || star && strings.HasPrefix(pkg, folder)
	})
}

// floors are the folders from the ground up.
var floors = []string{"optics", "reports", "kernel", "cmd"}

func floor(pkg string) int {
	top, _, _ := strings.Cut(pkg, "/")
	return slices.Index(floors, top)
}

// complaints holds the imports of one package against the tables.
func (a arrows) complaints(pkg string, imports []string) []string {
	var wrong []string
	may, listed := a.packages[pkg]
	if !listed {
		wrong = append(wrong, pkg+" is not in the table of packages")
	}
	for _, i := range imports {
		if ours, ok := strings.CutPrefix(i, module+"/"); ok {
			if !allows(may, ours) {
				wrong = append(wrong, pkg+" imports "+ours+", and the table does not let it")
			}
			continue
		}
		if host, _, _ := strings.Cut(i, "/"); !strings.Contains(host, ".") {
			continue // the standard library
		}
		library := ""
		for l := range a.libraries {
			if (i == l || strings.HasPrefix(i, l+"/")) && len(l) > len(library) {
				library = l
			}
		}
		if library == "" {
			wrong = append(wrong, pkg+" imports "+i+", which is not in the table of libraries")
		} else if !allows(a.libraries[library], pkg) {
			wrong = append(wrong, pkg+" imports "+i+"; only these may: "+strings.Join(a.libraries[library], ", "))
		}
	}
	return wrong
}

const module = "wedgework"

// The arrows between packages are those of DEVELOPERS.md, and no arrow there points up a floor.
func TestImports(t *testing.T) {
	root := filepath.Join("..", "..")
	a := readArrows(t, filepath.Join(root, "DEVELOPERS.md"))
	for _, pkg := range slices.Sorted(maps.Keys(a.packages)) {
		for _, to := range a.packages[pkg] {
			if from := floor(pkg); from >= 0 && floor(to) > from {
				t.Errorf("the table lets %s import %s, which points up", pkg, to)
			}
		}
	}
	list := exec.Command("go", "list", "-json=ImportPath,Imports", "./...")
	list.Dir, list.Stderr = root, os.Stderr
	out, err := list.Output()
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for d := json.NewDecoder(bytes.NewReader(out)); ; seen++ {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := d.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		for _, wrong := range a.complaints(strings.TrimPrefix(p.ImportPath, module+"/"), p.Imports) {
			t.Error(wrong)
		}
	}
	if seen < len(floors) {
		t.Errorf("go list names %d packages, want those of the whole program", seen)
	}
}

func TestComplaints(t *testing.T) {
	a := arrows{
		packages: map[string][]string{"optics/stack": {"optics/*"}, "reports/pdf": {"reports/document"}},
		libraries: map[string][]string{"gonum.org/v1/gonum": {"optics/*"}, "github.com/go-pdf/fpdf": {"reports/pdf"},
			"rsc.io/pdf": {"tests only"}},
	}
	for _, c := range []struct {
		pkg, imported, want string
	}{
		{"optics/stack", "wedgework/optics/ray", ""},
		{"optics/stack", "math", ""},
		{"optics/stack", "gonum.org/v1/gonum/mat", ""},
		{"optics/stack", "wedgework/reports/document",
			"optics/stack imports reports/document, and the table does not let it"},
		{"optics/stack", "github.com/go-pdf/fpdf",
			"optics/stack imports github.com/go-pdf/fpdf; only these may: reports/pdf"},
		{"optics/stack", "example.org/x", "optics/stack imports example.org/x, which is not in the table of libraries"},
		{"reports/pdf", "rsc.io/pdf", "reports/pdf imports rsc.io/pdf; only these may: tests only"},
		{"reports/new", "fmt", "reports/new is not in the table of packages"},
	} {
		if got := strings.Join(a.complaints(c.pkg, []string{c.imported}), "; "); got != c.want {
			t.Errorf("%s importing %s: got %q, want %q", c.pkg, c.imported, got, c.want)
		}
	}
}
