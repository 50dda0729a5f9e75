package live

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"testing"

	"wedgework/kernel/kerneltest"
	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
	"wedgework/reports/require"
)

// soak reports whether a test is to run at full length.
func soak() bool { return os.Getenv("WEDGEWORK_SOAK") == "1" }

// What a front end asks in the course of a day, with its weight, channel and content.
var asked = []struct {
	weight  int
	channel transport.Channel
	msgType string
	content string
}{
	{8, transport.Shell, "execute_request", `{"code":"x = 1550*nm\nx + 1*nm"}`},
	{4, transport.Shell, "execute_request", `{"code":"for i in range(50):\n    print('line', i)"}`},
	{3, transport.Shell, "execute_request", `{"code":"display(crystal('YVO4'))\nclear_output(wait=True)\nwarn('later')"}`},
	{2, transport.Shell, "execute_request", `{"code":"1*nm + 1*deg","stop_on_error":true}`},
	{2, transport.Shell, "execute_request", `{"code":"wegde","stop_on_error":false}`},
	{2, transport.Shell, "execute_request", `{"code":"y = 2","silent":true,"user_expressions":{"y":"y*2","z":"nonsense"}}`},
	{1, transport.Shell, "execute_request", `{"code":"wedge?"}`},
	{1, transport.Shell, "execute_request", `{"code":"not ( a cell"}`},
	{1, transport.Shell, "execute_request", `{"code":7}`},
	{5, transport.Shell, "complete_request", `{"code":"crystal('Y","cursor_pos":10}`},
	{4, transport.Shell, "inspect_request", `{"code":"retarder","cursor_pos":3,"detail_level":1}`},
	{4, transport.Shell, "is_complete_request", `{"code":"def f(x):"}`},
	{3, transport.Shell, "history_request", `{"hist_access_type":"tail","n":3,"output":true,"raw":true}`},
	{2, transport.Shell, "history_request", `{"hist_access_type":"search","pattern":"x*","n":2,"output":false,"raw":true}`},
	{3, transport.Shell, "kernel_info_request", `{}`},
	{2, transport.Control, "kernel_info_request", `{}`},
	{2, transport.Shell, "comm_info_request", `{}`},
	{1, transport.Control, "interrupt_request", `{}`},
}

// A whole day of three front ends that share a kernel: 2,000 requests in random order, many at once. Every reply
// has the right parent, every busy is matched by one idle, and every message has its shape.
func TestWholeDay(t *testing.T) {
	connection, end := serve(t)
	defer end()
	requests := 2000
	if soak() {
		requests = 20_000
	}
	const clients = 3
	var all sync.WaitGroup
	for n := range clients {
		f := connect(t, connection, fmt.Sprint("front end ", n))
		defer f.close()
		random := rand.New(rand.NewPCG(2026, uint64(n)))
		all.Go(func() {
			var open []*wire.Message
			for i := range requests/clients + 1 {
				q := asked[pick(random)]
				m, err := f.send(q.channel, q.msgType, raw(q.content))
				if err != nil {
					t.Error(err)
					return
				}
				open = append(open, m)
				if len(open) < 1+random.IntN(12) && i < requests/clients {
					continue
				}
				for _, m := range open {
					if _, err := f.about(m); err != nil {
						t.Error(err)
						return
					}
				}
				open = nil
			}
			if err := f.check(); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
}

// raw is content that is JSON already.
type raw string

func (r raw) MarshalJSON() ([]byte, error) { return []byte(r), nil }

func pick(random *rand.Rand) int {
	total := 0
	for _, q := range asked {
		total += q.weight
	}
	n := random.IntN(total)
	for i, q := range asked {
		if n -= q.weight; n < 0 {
			return i
		}
	}
	panic("unreachable")
}

// 20 clients at once: each gets its own answers, and all see everybody's outputs.
func TestTwentyClients(t *testing.T) {
	before := held(t)
	connection, end := serve(t)
	const clients = 20
	rounds := 10
	if soak() {
		rounds = 1000
	}
	var all sync.WaitGroup
	var fronts []*client
	for n := range clients {
		fronts = append(fronts, connect(t, connection, fmt.Sprint("client ", n)))
	}
	for n, f := range fronts {
		all.Go(func() {
			for i := range rounds {
				about, err := f.ask("execute_request", map[string]any{"code": fmt.Sprintf("print(%d*1000000 + %d)", n,
					i)})
				if err != nil {
					t.Error(err)
					return
				}
				if got, want := field(t, about, "stream", "text"), fmt.Sprintln(n*1000000+i); got != want {
					t.Errorf("client %d, cell %d: got %q, want %q", n, i, got, want)
				}
				if i%100 == 99 { // lest twenty logs of everything fill the memory
					if err := f.check(); err != nil {
						t.Error(err)
					}
				}
			}
			if err := f.check(); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	for _, f := range fronts {
		f.close()
	}
	end()
	settles(t, before)
}

// A message of 50 MB comes in and is acted on. So is a cell of that size, which goes back out to everyone who watches
// and is then refused as a cell.
func TestLargeMessage(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "large")
	defer f.close()
	text := strings.Repeat("x", require.Sample(5_000_000, 50_000_000))
	about, err := f.ask("execute_request", map[string]any{"code": "6*7", "a field of a later protocol": text})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := field(t, about, "execute_result", "data"), `{"text/plain":"42"}`; got != want {
		t.Errorf("got %.80q, want %q", got, want)
	}
	about = f.run(t, "# "+text)
	if got := field(t, about, "execute_input", "code"); got != "# "+text {
		t.Errorf("%d bytes went out, want %d", len(got), len(text)+2)
	}
	if got, want := field(t, about, "error", "ename"), "LimitError"; got != want {
		t.Errorf("the cell ends with %q, want %q", got, want)
	}
	if err := f.check(); err != nil {
		t.Error(err)
	}
}

// 100,000 lines all arrive, in order, in few messages.
func TestManyLines(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "lines")
	defer f.close()
	about := f.run(t, "for i in range(100000):\n    print(i)")
	var text strings.Builder
	messages := 0
	for _, r := range about {
		if r.Header.Type != "stream" {
			continue
		}
		messages++
		var c struct{ Text string }
		if err := r.Read(&c); err != nil {
			t.Fatal(err)
		}
		text.WriteString(c.Text)
	}
	var want strings.Builder
	for i := range 100000 {
		fmt.Fprintln(&want, i)
	}
	if text.String() != want.String() {
		t.Errorf("got %d bytes, want %d, the lines from 0 to 99999", text.Len(), want.Len())
	}
	if messages > 1000 {
		t.Errorf("%d messages, want at most 1000: a client must keep up", messages)
	}
}

// A client is killed in the middle of a cell. The cell goes on, and the client, back again, finds its names.
func TestKilledClient(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "engineer")
	m, err := f.send(transport.Shell, "execute_request",
		map[string]any{"code": "print('begun')\nn = 0\nfor i in range(3000000):\n    n += 1\nn"})
	if err != nil {
		t.Fatal(err)
	}
	for end := false; !end; {
		f.mu.Lock()
		grown := f.grown
		end = strings.Contains(kerneltest.Summary(kerneltest.About(f.log[f.began[m.Header.ID]:], m)), "execute_input")
		f.mu.Unlock()
		if !end {
			<-grown
		}
	}
	f.close()
	again := connect(t, connection, "engineer again")
	defer again.close()
	if got, want := field(t, again.run(t, "n"), "execute_result", "data"), `{"text/plain":"3000000"}`; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if err := again.check(); err != nil {
		t.Error(err)
	}
}
