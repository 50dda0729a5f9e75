package vocab

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/require"
)

// wholeValues are values that are more than they look: held many times over, deep, long, or holding themselves.
const wholeValues = `
doubled = [1]
pair = (1, 2)
table_of_itself = [[1]]
words = ["a"]
for i in range(60):
    doubled, pair, table_of_itself, words = [doubled, doubled], (pair, pair), [table_of_itself, [1]], [words, words]
deep = [1]
for i in range(100000):
    deep = [deep]
itself = []
itself.append(itself)
entry = {"a": 1}
entry["b"] = entry
text = "a" * (1 << 24)
numbers = [1.5] * (1 << 22)
lengths = [1.5*mm] * (1 << 20)
texts = [text] * (1 << 20)
large = 3 ** 100000
long = range(1 << 24)
columns = [[1] * 100000] * 400
rows = [["a"]] + [[text]] * 400
dicts = [{"a": text}] * 400
elements = [gap(1*mm)] * (1 << 20)
layers = [(1.38, 280*nm)] * (1 << 20)
`

var wholeNames = []string{"doubled", "pair", "table_of_itself", "words", "deep", "itself", "entry", "text", "numbers",
	"lengths",
	"texts", "large", "long", "columns", "rows", "dicts", "elements", "layers"}

// sampled are the values that a call is tried with: all where everything is required, else every third, others for
// another call.
func sampled(call string) (names []string) {
	step := require.Sample(3, 1)
	for i := len(call) % step; i < len(wholeNames); i += step {
		names = append(names, wholeNames[i])
	}
	return names
}

// ends runs a call that is interrupted after a while, and fails when it works on for long. A collection of garbage that
// had begun may end beside the call: what went on for too long has two more tries.
func ends(t *testing.T, s *session.Session, call string) {
	t.Helper()
	var took, work time.Duration
	for range 3 {
		if took, work = endsOnce(t, s, call); work <= mostWork && took <= 10*mostWork {
			return
		}
	}
	t.Errorf("%s: went on for %v, %v of work, after the interruption", call, took, work)
}

// endsOnce returns how long a call went on after an interruption, and how much it worked.
func endsOnce(t *testing.T, s *session.Session, call string) (took, work time.Duration) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	ended := make(chan error, 1)
	go func() {
		_, err := s.Run(ctx, session.Cell{Name: "cell", Source: call}, nil)
		ended <- err
	}()
	var err error
	select {
	case err = <-ended:
	case <-time.After(100 * time.Millisecond):
		at, before := time.Now(), worked()
		cancel()
		select {
		case err = <-ended:
			took, work = time.Since(at), worked()-before
		case <-time.After(20 * time.Second):
			t.Fatalf("%s: hangs, and the interruption is not heard", call)
		}
	}
	var e *session.Error
	if err != nil && (!errors.As(err, &e) || e.Kind == session.InternalError) {
		t.Errorf("%s: %.300v", call, err)
	}
	return took, work
}

// TestWholeValues gives every word every such value for every argument.
func TestWholeValues(t *testing.T) {
	uncollected(t)
	s, err := session.New(Config(newFakeHost(t)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Run(context.Background(), session.Cell{Name: "set-up", Source: wholeValues}, nil); err != nil {
		t.Fatal(err)
	}
	for _, name := range Names() {
		w := registry[name]
		if w == nil || w.Call == nil {
			continue
		}
		t.Run(name, func(t *testing.T) {
			for _, v := range sampled(name) {
				ends(t, s, fmt.Sprintf("%s(%s)", name, v))
				ends(t, s, fmt.Sprintf("%s(*%s)", name, v))
				for _, p := range w.Params {
					if p.Mode < Many {
						ends(t, s, fmt.Sprintf("%s(%s=%s)", name, p.Name, v))
					}
				}
			}
		})
	}
}

// owners are values whose methods are tried, one of each type that has methods.
const owners = exampleStack + `
x = sweep(1540*nm, 1560*nm, 1*nm)
d = measured("sweep", default="sweep.csv")
owners = {
    "stack": s, "response": s.backward(x), "series": s.backward(x).isolation, "sweep": x, "quantity": 1550*nm,
    "crystal": c, "garnet": garnet("Bi:RIG"), "glass": glass("fused silica"), "magnet": magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, remanence=-1.0*tesla),
    "paramagnet": paramagnet("TGG"), "fibre": fibre(core_diameter=8.2*um, numerical_aperture=0.14), "coating": coating(reflectance=0.1*percent),
    "distribution": s.trials(500, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm).figures[0],
    "family": s.over("wedge1.apex", sweep(4*deg, 6*deg, 1*deg)),
    "measured": d, "group": group(w1, gap(1*mm), w2), "wedge": w1, "rotator": r,
    "gauge": gauge([{"part": part, "x": x} for part, x in [("1", 1), ("1", 2), ("2", 3), ("2", 5)]], figure="x"),
    "text": "abc", "list": [1, 2], "dict": {"a": 1}, "set": set([1]), "range": range(3),
}
`

// TestWholeMethods gives every method every such value for every argument.
func TestWholeMethods(t *testing.T) {
	uncollected(t)
	s, err := session.New(Config(newFakeHost(t)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Run(context.Background(), session.Cell{Name: "set-up", Source: wholeValues + owners}, nil); err != nil {
		t.Fatal(err)
	}
	v, err := s.Run(context.Background(), session.Cell{Name: "owners", Source: "owners"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	tried := map[string]bool{}
	for _, kv := range v.(*starlark.Dict).Items() {
		owner, ok := kv[1].(starlark.HasAttrs)
		if !ok {
			continue
		}
		name, _ := starlark.AsString(kv[0])
		tried[owner.Type()] = true
		t.Run(name, func(t *testing.T) {
			for _, a := range owner.AttrNames() {
				f, err := owner.Attr(a)
				if _, method := f.(starlark.Callable); err != nil || !method {
					continue
				}
				call := fmt.Sprintf("owners[%q].%s", name, a)
				for _, v := range sampled(call) {
					ends(t, s, fmt.Sprintf("%s(%s)", call, v))
					ends(t, s, fmt.Sprintf("%s(*%s)", call, v))
					if ours, ok := f.(*callable); ok {
						for _, p := range ours.word.Params {
							if p.Mode < Many {
								ends(t, s, fmt.Sprintf("%s(%s=%s)", call, p.Name, v))
							}
						}
					}
				}
			}
		})
	}
	for typ, table := range types {
		methods := slices.ContainsFunc(table.outline(typ).Attributes, func(a session.Attribute) bool {
			return a.Call != nil
		})
		if methods && !tried[typ] {
			t.Errorf("no value of type %s is among the owners", typ)
		}
	}
}

// TestWholeCalls are calls whose arguments pass the checks and are more than they look.
func TestWholeCalls(t *testing.T) {
	uncollected(t)
	s, err := session.New(Config(newFakeHost(t)))
	if err != nil {
		t.Fatal(err)
	}
	setup := wholeValues + exampleStack
	if _, err := s.Run(context.Background(), session.Cell{Name: "set-up", Source: setup}, nil); err != nil {
		t.Fatal(err)
	}
	for _, call := range strings.Split(strings.TrimSpace(`
coating(layers=layers)
coating(layers=layers[:10000])
display(coating(layers=layers[:10000]))
group(*[w1]*1000000)
group(elements)
g = w1\nfor i in range(60): g = group(g, g)
g = [w1]\nfor i in range(60): g = group([g, g])
stack(elements)
stack(*elements[:100000])
display(doubled)
display(deep)
display(entry)
display(texts)
table(doubled)
table(columns)
table(rows)
table(dicts)
table({"a": doubled, "b": doubled})
table({"a": [doubled] * 400})
table([["a"]] + [[doubled]] * 400)
table([["a"]] + [[deep]] * 400)
table([{text: 1}])
table({text: text})
given("x", text)
report(title=text)
report(title="a", part="b", extra=text)
warn(text)
sum([doubled] * 1000, [])
sum([[1] * 1000] * 100000, [])
sum([text] * 1000, "")
max([columns, columns])
max([doubled, doubled])
min(columns, columns)
sweep(numbers)
help(text)
fibre(text)
display(s.adjusted({text: 1*deg}))
[w1] * (1 << 20)
[s.forward(1550*nm)] * (1 << 20)
limits(isolation=at_least(30*dB), over=lengths)
budget(**{"a%d" % i: 0.1*dB for i in range(4000)})
plot(*([sweep(1*nm, 100*nm, count=100)] * 1000))
normal(large)
pow(large, large)
round(large, 2)
sqrt(large)
`), "\n") {
		t.Run(call, func(t *testing.T) { ends(t, s, strings.ReplaceAll(call, `\n`, "\n")) })
	}
}
