package material

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
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
	Others        []otherFit   `json:"other_fits"`
	Caution       string       `json:"caution"`
	NotModelled   string       `json:"not_modelled"`
}

// builtin reads every embedded file once. A file that does not read is a mistake in the program.
var builtin = sync.OnceValue(func() (all struct {
	crystals    map[string]*Crystal
	glasses     map[string]*Glass
	garnets     map[string]Garnet
	paramagnets map[string]*Paramagnet
}) {
	all.crystals, all.glasses = map[string]*Crystal{}, map[string]*Glass{}
	all.garnets, all.paramagnets = map[string]Garnet{}, map[string]*Paramagnet{}
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
			keep(entry.Name(), all.crystals, func() string { return c.name }, c, err)
		case "glass":
			g, err := readGlass(data)
			keep(entry.Name(), all.glasses, func() string { return g.name }, g, err)
		case "garnet film":
			g, err := readGarnet(data)
			keep(entry.Name(), all.garnets, func() string { return g.Name }, g, err)
		case "paramagnet":
			p, err := readParamagnet(data)
			keep(entry.Name(), all.paramagnets, func() string { return p.name }, p, err)
		default:
			panic(fmt.Sprintf("material: %s: unknown kind %q", entry.Name(), head.Kind))
		}
	}
	return all
})

// SHA256 returns the hash, in hexadecimal, of the constants of all built-in materials: the names and contents of their
// files, in the order of the names.
func SHA256() string {
	entries, err := files.ReadDir("data")
	if err != nil {
		panic(err)
	}
	h := sha256.New()
	for _, entry := range entries {
		data, err := files.ReadFile("data/" + entry.Name())
		if err != nil {
			panic(err)
		}
		fmt.Fprintf(h, "%s %d\n", entry.Name(), len(data))
		h.Write(data)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// keep files a material under its name, which is asked for only where there is a material.
func keep[T any](file string, in map[string]T, name func() string, material T, err error) {
	if err != nil {
		panic(fmt.Sprintf("material: %s: %v", file, err))
	}
	in[name()] = material
}

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
	if err := f.Thermo.settle(f.Expansion); err != nil {
		return nil, err
	}
	if err := checkOthers(f.Others); err != nil {
		return nil, err
	}
	return &Crystal{
		medium: medium{
			name: f.Name, dispersionBy: f.Source, reference: quantity.Celsius(f.Reference), roomNote: f.RoomNote,
			caution: f.Caution, notModelled: f.NotModelled, others: f.Others, data: data,
		},
		o: f.Ordinary, e: f.Extraordinary, thermo: f.Thermo, expansion: f.Expansion,
	}, nil
}

func checkOthers(others []otherFit) error {
	for i := range others {
		if err := others[i].check(); err != nil {
			return err
		}
	}
	return nil
}

// strict decodes JSON and refuses fields it does not know, so that a misspelt constant is not lost.
func strict(data []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	return d.Decode(into)
}

// Named returns the built-in crystal of that name, ignoring case; an unknown name is an error that lists the known.
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
