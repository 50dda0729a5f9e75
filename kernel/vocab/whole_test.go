package vocab

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"wedgework/kernel/session"
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

// ends runs a call that is interrupted after a while, and fails when it does not end then.
func ends(t *testing.T, s *session.Session, call string) {
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
		cancel()
		at := time.Now()
		select {
		case err = <-ended:
			if took := time.Since(at); took > 5*time.Second {
				t.Errorf("%s: went on for %v after the interruption", call, took)
			} else if testing.Verbose() && took > 50*time.Millisecond {
				t.Logf("%s: went on for %v", call, took)
			}
		case <-time.After(20 * time.Second):
			t.Fatalf("%s: hangs, and the interruption is not heard", call)
		}
	}
	var e *session.Error
	if err != nil && (!errors.As(err, &e) || e.Kind == session.InternalError) {
		t.Errorf("%s: %.300v", call, err)
	}
}

// TestWholeValues gives every word every such value for every argument.
func TestWholeValues(t *testing.T) {
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
			for _, v := range wholeNames {
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

// TestWholeCalls are calls whose arguments pass the checks and are more than they look.
func TestWholeCalls(t *testing.T) {
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
