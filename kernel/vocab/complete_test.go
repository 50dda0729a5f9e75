package vocab

import (
	"context"
	"slices"
	"strings"
	"testing"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// working session of an engineer: a stack, its responses, readings, in lists and dicts too.
const bench = exampleStack + `
c2 = crystal("calcite")
b = s.backward(sweep(1540*nm, 1560*nm, 10*nm))
p = s.backward(1550*nm)
d = measured("sweep", default="sweep.csv")
q = 1550*nm
y = b.isolation
designs = [s, s.adjusted({"wedge2.axis": 68*deg})]
named = {"nominal": s, "turned": designs[1]}
readings = measured("sweep", default="sweep.csv")
def margin(stack, limit=30*dB, *others, note=None):
    """how far the isolation is above the limit"""
    return stack.backward(1550*nm).isolation - limit
`

func benchSession(t testing.TB) *session.Session {
	t.Helper()
	s, err := session.New(Config(newFakeHost(t)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Run(context.Background(), session.Cell{Name: "cell 1", Source: bench}, nil); err != nil {
		t.Fatal(err)
	}
	return s
}

// at cuts the cursor, a bar, out of a source.
func at(source string) (string, int) {
	before, after, _ := strings.Cut(source, "|")
	return before + after, len([]rune(before))
}

func TestComplete(t *testing.T) {
	s := benchSession(t)
	tests := []struct {
		name, source string
		with         string // matches that must be there, in this order
		without      string // and that must not
		first        string // what must come first
		none         bool
	}{
		{name: "a word", source: "wed|", with: "wedge", without: "stack", first: "wedge"},
		{name: "a name of the session", source: "x = desi|", with: "designs"},
		{name: "a name of the cell itself", source: "apex2 = 5*deg\nap|", with: "apex2"},
		{name: "a keyword of the language", source: "whi|", with: "while"},

		{name: "arguments", source: "wedge(c, |", with: "apex= thickness= axis= slanted= azimuth= coating= name=",
			without: "crystal="},
		{name: "arguments begun", source: "wedge(c, ap|", with: "apex= aperture=", without: "wedge", first: "apex="},
		{name: "arguments given before", source: "wedge(c, apex=5*deg, ap|", with: "aperture=", without: "apex="},
		{name: "arguments given behind", source: "wedge(c, ap|, apex=5*deg)", with: "aperture=", without: "apex="},
		{name: "arguments over lines", source: "w = wedge(\n    c,\n    apex=5*deg,  # the apex\n    thi|",
			with: "thickness=", without: "apex="},
		{name: "arguments of a method", source: "s.assemble(|", with: "turn= peak= at= temperature="},
		{name: "arguments by position are given", source: "s.forward(1550*nm, |", with: "temperature=",
			without: "wavelength="},
		{name: "arguments of a function of the session", source: "margin(s, |", with: "limit= note=",
			without: "stack= others="},
		{name: "no argument inside a value", source: "wedge(c, apex=5*d|", with: "deg", without: "displacer="},
		{name: "no argument inside a list", source: "stack([ap|", without: "apex= align_at="},
		{name: "a value fit for the argument first", source: "wedge(|", first: "c", with: "c c2 crystal="},
		{name: "a closed call is no call", source: "wedge(c) + ap|", without: "apex="},

		{name: "attributes", source: "s.|", with: "adjusted assemble backward beam elements forward parameters",
			without: "wedge"},
		{name: "attributes begun", source: "s.for|", with: "forward", without: "backward"},
		{name: "of a call", source: "s.forward(1550*nm).|", with: "insertion_loss", without: "isolation"},
		{name: "of a call, the other direction", source: "s.backward(sweep(1*nm, 2*nm, count=3)).|",
			with: "isolation isolation_mean", without: "insertion_loss"},
		{name: "of a call of a word", source: `crystal("YVO4").|`, with: "birefringence group_no no walkoff"},
		{name: "of a call that is not closed", source: "plot(s.backward(1550*nm).iso|",
			with: "isolation isolation_mean"},
		{name: "of a response", source: "p.|", with: "isolation matrix paths", without: "insertion_loss"},
		{name: "of a figure", source: "b.isolation.ar|", with: "argmax argmin"},
		{name: "of a difference", source: "(b.isolation - 3*dB).ar|", with: "argmax argmin"},
		{name: "of a quantity in brackets", source: "(1550*nm).|", with: "shown_in to unit value"},
		{name: "of an element of a tuple", source: "s.elements[0].|", with: "apex axis thickness"},
		{name: "of an element of a list", source: "designs[1].|", with: "adjusted forward"},
		{name: "of a value of a dict", source: `named["turned"].|`, with: "adjusted forward"},
		{name: "of the stack of an assembly", source: `s.assemble(turn="wedge2", at=1550*nm).stack.|`, with: "forward"},
		{name: "of what the cell assigns first", source: "r2 = s.forward(1550*nm)\nr2.|", with: "insertion_loss",
			without: "isolation"},
		{name: "of what the cell assigns over lines", source: "r2 = s.forward(\n    1550*nm,\n)\nr2.|",
			with: "insertion_loss"},
		{name: "of a text", source: `"a".jo|`, with: "join"},
		{name: "of a list", source: "designs.app|", with: "append"},
		{name: "of nothing known", source: "unknown_thing.|", none: true},
		{name: "of a number", source: "3.|", none: true},

		{name: "units after *", source: "x = 5*|", with: "deg nm um", without: "wedge s", first: "GHz"},
		{name: "units after * begun", source: "x = 5*n|", with: "nm ns nW", without: "um"},
		{name: "units after /", source: "0.2/|", with: "cm kelvin", without: "wedge"},
		{name: "units after a bracket", source: "(1 + 2)*mr|", with: "mrad"},
		{name: "names after * too", source: "5*desi|", with: "designs"},
		{name: "units in to", source: "q.to(|", with: "nm um mm", without: "deg q wedge"},
		{name: "units in to of a series", source: "y.to(|", with: "dB", without: "nm"},
		{name: "units in to of a chain", source: "b.isolation.to(|", with: "dB nm", without: "wedge"},
		{name: "units in shown_in", source: "q.shown_in(u|", with: "um", without: "nm"},

		{name: "paths of the stack", source: `s.adjusted({"we|`, with: "wedge1.apex wedge2.axis",
			without: "rotator1.angle"},
		{name: "paths, closed", source: `s.adjusted({"wedge2.ax|": 68*deg})`, with: "wedge2.axis",
			without: "wedge1.axis"},
		{name: "paths, a second key", source: `s.adjusted({"wedge2.axis": 68*deg, "rot|`, with: "rotator1.angle"},
		{name: "paths to fit", source: `verify(s, d, fit=["rot|`, with: "rotator1.angle rotator1.extinction"},
		{name: "paths of tolerances", source: `verify(s, d, tolerances={"rot|`, with: "rotator1.angle"},
		{name: "paths of a dict of its own", source: `tol = {"rot|`, with: "rotator1.angle"},
		{name: "no path as a value", source: `tol = {"a": "rot|`, none: true},
		{name: "parts to turn", source: `s.assemble(turn="|`, with: "wedge1 wedge2", without: "gap1"},
		{name: "figures to watch", source: `s.assemble(peak="|`, with: "isolation transmission"},
		{name: "crystals", source: `crystal("|`, with: "LiNbO3 YVO4 calcite"},
		{name: "crystals begun", source: `wedge(crystal("YV|`, with: "YVO4", without: "calcite"},
		{name: "single quotes", source: `crystal('cal|`, with: "calcite"},
		{name: "glasses", source: `glass("fus|`, with: "fused silica"},
		{name: "garnets", source: `garnet("|`, with: "Bi:RIG YIG"},
		{name: "paramagnets", source: `paramagnet("|`, with: "TGG"},
		{name: "materials of magnets", source: `magnet(inner=1*mm, outer=2*mm, length=2*mm, material="|`, with: "Sm2Co17"},
		{name: "columns of readings", source: `readings.column("|`, with: "isolation"},
		{name: "topics of help", source: `help("|`, with: "accuracy"},
		{name: "a choice", source: `wedge(c, slanted="|`, with: "front back"},
		{name: "a choice among others", source: `wedge(c, coating="|`, with: "bare"},
		{name: "keys of a dict", source: `named["|`, with: "nominal turned"},

		{name: "a comment", source: "x = 1 # wed|", none: true},
		{name: "a text", source: `print("wed|`, none: true},
		{name: "a text that is assigned", source: `title = "wed|ge"`, none: true},
		{name: "a doc string", source: "def f():\n    \"\"\"wed|", none: true},
		{name: "a text that is part of a sum", source: `crystal("YVO4" + "|`, none: true},
		{name: "the name of a def", source: "def wed|", none: true},
		{name: "a number", source: "12|", none: true},
		{name: "behind a number", source: "5n|", none: true},
		{name: "behind a text", source: `x = "abc"|`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			source, cursor := at(tt.source)
			c := s.Complete(source, cursor)
			var got []string
			for _, m := range c.Matches {
				got = append(got, m.Text)
			}
			if tt.none && len(got) > 0 {
				t.Errorf("got %q, want nothing", got)
			}
			if tt.first != "" && (len(got) == 0 || got[0] != tt.first) {
				t.Errorf("got %q first", got[:min(3, len(got))])
			}
			for _, want := range fieldsOf(tt.with) {
				if !slices.Contains(got, want) {
					t.Errorf("%s is not among %q", want, got)
				}
			}
			for _, bad := range strings.Fields(tt.without) {
				if slices.Contains(got, bad) {
					t.Errorf("%s is among %q", bad, got)
				}
			}
			typed := string([]rune(source)[c.Start:c.End])
			for _, m := range c.Matches {
				if !strings.HasPrefix(m.Text, typed) || c.End != cursor {
					t.Errorf("%q does not go on from %q", m.Text, typed)
				}
			}
		})
	}
}

func fieldsOf(list string) []string {
	if list == "fused silica" {
		return []string{list}
	}
	return strings.Fields(list)
}

// TestCompletionTellsWhatItOffers: the list beside the cursor shows what a match is.
func TestCompletionTellsWhatItOffers(t *testing.T) {
	s := benchSession(t)
	tests := []struct{ source, text, kind, detail string }{
		{"wedge(c, ap|", "apex=", session.ArgumentMatch, "(deg): an angle such as 13*deg; default 5*deg"},
		{"wed|", "wedge", session.WordMatch, Lookup("wedge").Summary},
		{"5*n|", "nm", session.UnitMatch, "unit of length, printed as nm"},
		{"s.for|", "forward", session.MethodMatch, "response to light from the launching to the receiving collimator"},
		{"s.par|", "parameters", session.AttributeMatch, `all adjustable numbers, by path "element.parameter"`},
		{`s.adjusted({"wedge2.ax|`, "wedge2.axis", session.TextMatch, "67.5 deg"},
		{"le|", "len", session.NameMatch, "how many elements there are"},
		{"designs.app|", "append", session.MethodMatch, "adds an element at the end"},
		{"margin(s, li|", "limit=", session.ArgumentMatch, "default 30 dB"},
	}
	for _, tt := range tests {
		source, cursor := at(tt.source)
		c := s.Complete(source, cursor)
		i := slices.IndexFunc(c.Matches, func(m session.Match) bool { return m.Text == tt.text })
		if i < 0 {
			t.Errorf("%s: no %s", tt.source, tt.text)
			continue
		}
		if m := c.Matches[i]; m.Kind != tt.kind || !strings.HasPrefix(m.Detail, tt.detail) {
			t.Errorf("%s: %s is %s, %q; want %s, %q", tt.source, tt.text, m.Kind, m.Detail, tt.kind, tt.detail)
		}
	}
}

func TestInspect(t *testing.T) {
	s := benchSession(t)
	tests := []struct {
		name, source string
		want         []string
		none         bool
	}{
		{name: "a word", source: "wed|ge", want: []string{"wedge(crystal, ", "apex (deg)", "default 0*deg", "Example",
			"slanted=\"front\""}},
		{name: "a word whose call is open", source: "w = wedge(c, |", want: []string{"wedge(crystal, ", "apex (deg)"}},
		{name: "behind a closed call", source: "wedge(c)|", want: []string{"wedge(crystal, "}},
		{name: "a number in a call", source: "wedge(c, 5|", want: []string{"wedge(crystal, "}},
		{name: "an argument", source: "wedge(c, ap|ex=5*deg)", want: []string{"apex (deg): an angle such as",
			"slanted"}},
		{name: "a method", source: "s.back|ward", want: []string{"stack.backward(wavelength, temperature=23*degC)",
			"isolation by IEC", "Example"}},
		{name: "a method of what is not there", source: "s.forward(1550*nm).insertion_loss.argm|in",
			want: []string{"series.argmin()", "position of the minimum"}},
		{name: "a field", source: "b.isolation_mean|", want: []string{"response.isolation_mean: a series",
			"mean over polarization"}},
		{name: "a field with its value", source: "s.parameters|", want: []string{"by path", "wedge2.axis"}},
		{name: "a value", source: "c|", want: []string{"Crystal", "birefringence"}},
		{name: "a quantity", source: "q|", want: []string{"quantity: 1550 nm"}},
		{name: "a unit", source: "5*n|m", want: []string{"unit of length", "5*nm"}},
		{name: "a path", source: `s.adjusted({"wedge2.ax|is": 68*deg})`, want: []string{"wedge2.axis", "67.5 deg",
			"new values by path"}},
		{name: "a text argument", source: `crystal("YV|O4")`, want: []string{"name (text): ", "built-in crystal"}},
		{name: "a function of the session", source: "margin|",
			want: []string{"margin(stack, limit=30 dB, *others, note=None)", "how far the isolation is above the limit",
				"cell 1"}},
		{name: "a built-in function", source: "sorte|d", want: []string{"sorted(x, key=None, reverse=False)"}},
		{name: "a method of the language", source: "designs.appen|d", want: []string{"append(x)", "adds an element"}},
		{name: "a list", source: "designs|", want: []string{"<stack of 5 elements>"}},
		{name: "a keyword", source: "fo|r", none: true},
		{name: "a comment", source: "# wed|ge", none: true},
		{name: "nothing", source: "|", none: true},
		{name: "nothing known", source: "unheard|", none: true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			source, cursor := at(tt.source)
			for detail := range 2 {
				blocks, found := s.Inspect(source, cursor, detail)
				if found == tt.none {
					t.Fatalf("found is %t:\n%s", found, document.Text(blocks))
				}
				text := document.Text(blocks)
				for _, want := range tt.want {
					if !strings.Contains(text, want) && !(detail == 0 && want == "slanted") {
						t.Errorf("detail %d lacks %q:\n%s", detail, want, text)
					}
				}
			}
		})
	}
}

// TestInspectWhileComputing looks at every value of the session while a cell computes with them; the race detector
// looks on. Cards are made of what the values hold, and values of the vocabulary do not change.
func TestInspectWhileComputing(t *testing.T) {
	s := benchSession(t)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	started := make(chan struct{}, 1)
	go func() {
		defer close(ended)
		src := "for i in range(1000000):\n    display(i)\n    x = s.backward(sweep(1540*nm, 1560*nm, " +
			"1*nm)).isolation + i*dB\n    s.adjusted({'wedge2.axis': 68*deg}).cautions\n    d.isolation\n"
		_, _ = s.Run(ctx, session.Cell{Name: "cell 2", Source: src}, func(notebook.Output) {
			select {
			case started <- struct{}{}:
			default:
			}
		})
	}()
	<-started
	for range 3 {
		for _, name := range []string{"s", "c", "b", "p", "d", "q", "y", "w1", "r", "s.parameters", "s.beam",
			"s.elements",
			"x", "designs"} {
			if _, found := s.Inspect(name, len(name), 1); !found && name != "x" {
				t.Errorf("nothing is known of %s", name)
			}
			s.Complete(name+".", len(name)+1)
		}
		s.Complete(`s.adjusted({"`, 13)
	}
	cancel()
	<-ended
}

// TestDefaultDigits shows quantities at the end of a cell with the digits of their kind.
func TestDefaultDigits(t *testing.T) {
	for src, want := range map[string]string{
		"33.71654321*dB":    "33.72 dB",
		"0.12345678*dB":     "0.123 dB",
		"33.7*dB":           "33.7 dB",
		"1550.123456789*nm": "1550.123 nm",
		"1550*nm":           "1550 nm",
		"44.40612345*deg":   "44.40612 deg",
		"(1/3)*mm":          "0.3333333 mm",
		"-12.3456789*dB":    "-12.35 dB",
	} {
		v, err := runScript(newFakeHost(t), src)
		if err != nil {
			t.Fatal(err)
		}
		s, err := Show(v)
		if err != nil {
			t.Fatal(err)
		}
		if s.Text != want {
			t.Errorf("%s is shown as %s, want %s", src, s.Text, want)
		}
	}
}

// listing is a host that knows which files there are.
type listing struct{ *fakeHost }

func (listing) Files() []string { return []string{"data/sweep.csv", "parts.star", "sub/more.star"} }

// TestCompleteFiles: file names are proposed in the words that read files, and in load, each those that it can read.
func TestCompleteFiles(t *testing.T) {
	s, err := session.New(Config(listing{newFakeHost(t)}))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ source, want string }{
		{`load("|`, "parts.star sub/more.star"},
		{`load("pa|", "film")`, "parts.star"},
		{"x = 1\nload('s|')", "sub/more.star"},
		{`load("parts.star", "|`, ""},
		{`rows("|`, "data/sweep.csv"},
		{`measured("s", default="d|`, "data/sweep.csv"},
	} {
		source, cursor := at(c.source)
		var got []string
		for _, m := range s.Complete(source, cursor).Matches {
			got = append(got, m.Text)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s proposes %q, want %q", c.source, got, c.want)
		}
	}
}
