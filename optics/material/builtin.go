package material

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"

	"wedgework/optics/quantity"
)

//go:embed data/*.json
var files embed.FS

// crystalFile is the layout of an embedded crystal.
type crystalFile struct {
	Name          string       `json:"name"`
	Kind          string       `json:"kind"`
	Ordinary      dispersion   `json:"ordinary"`
	Extraordinary dispersion   `json:"extraordinary"`
	Source        string       `json:"dispersion_source"`
	Reference     float64      `json:"reference_celsius"`
	RoomNote      string       `json:"reference_note"`
	Thermo        *thermoOptic `json:"thermo_optic"`
	Expansion     *Expansion   `json:"expansion"`
}

// builtin reads every embedded file once. A file that does not read is a mistake in the program.
var builtin = sync.OnceValue(func() (all struct {
	crystals map[string]*Crystal
	garnets  map[string]Garnet
}) {
	all.crystals, all.garnets = map[string]*Crystal{}, map[string]Garnet{}
	entries, err := files.ReadDir("data")
	if err != nil {
		panic(err)
	}
	for _, entry := range entries {
		data, err := files.ReadFile("data/" + entry.Name())
		if err != nil {
			panic(err)
		}
		var head struct{ Kind string }
		if err := json.Unmarshal(data, &head); err != nil {
			panic(fmt.Sprintf("material: %s: %v", entry.Name(), err))
		}
		switch head.Kind {
		case "uniaxial":
			c, err := readCrystal(data)
			if err != nil {
				panic(fmt.Sprintf("material: %s: %v", entry.Name(), err))
			}
			all.crystals[c.name] = c
		case "garnet film":
			g, err := readGarnet(data)
			if err != nil {
				panic(fmt.Sprintf("material: %s: %v", entry.Name(), err))
			}
			all.garnets[g.Name] = g
		default:
			panic(fmt.Sprintf("material: %s: unknown kind %q", entry.Name(), head.Kind))
		}
	}
	return all
})

func readCrystal(data []byte) (*Crystal, error) {
	var f crystalFile
	if err := strict(data, &f); err != nil {
		return nil, err
	}
	for _, d := range []*dispersion{&f.Ordinary, &f.Extraordinary} {
		if err := d.check(); err != nil {
			return nil, err
		}
	}
	return &Crystal{
		name: f.Name, o: f.Ordinary, e: f.Extraordinary, dispersionBy: f.Source,
		reference: quantity.Celsius(f.Reference), roomNote: f.RoomNote,
		thermo: f.Thermo, expansion: f.Expansion, data: data,
	}, nil
}

// strict decodes JSON and refuses fields it does not know, so that a misspelt constant is not lost.
func strict(data []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	return d.Decode(into)
}

// Named returns the built-in crystal of that name, ignoring case.
func Named(name string) (*Crystal, error) {
	return lookup("crystal", name, builtin().crystals)
}

// Names lists the built-in crystals in alphabetical order.
func Names() []string { return names(builtin().crystals) }

func lookup[T any](kind, name string, in map[string]T) (T, error) {
	for _, n := range names(in) {
		if strings.EqualFold(n, name) {
			return in[n], nil
		}
	}
	var none T
	return none, fmt.Errorf("no %s is called %q: known are %s", kind, name, strings.Join(names(in), ", "))
}

func names[T any](in map[string]T) []string {
	s := make([]string, 0, len(in))
	for n := range in {
		s = append(s, n)
	}
	slices.SortFunc(s, func(a, b string) int { return strings.Compare(strings.ToLower(a), strings.ToLower(b)) })
	return s
}
