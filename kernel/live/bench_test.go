package live

import "testing"

func benchmark(b *testing.B, code string) {
	connection, end := serve(b)
	defer end()
	f := connect(b, connection, "engineer")
	defer f.close()
	f.run(b, code)
	b.ReportAllocs()
	for b.Loop() {
		f.mu.Lock()
		f.forget()
		f.mu.Unlock()
		f.run(b, code)
	}
}

// From the request to its reply and idle, over tcp.
func BenchmarkRoundTrip(b *testing.B) { benchmark(b, "1+1") }

func BenchmarkTenThousandLines(b *testing.B) {
	benchmark(b, "for i in range(10000):\n    print('line', i, 'the quick brown fox jumps over the lazy dog')")
}

// What a process does before it can answer, apart from its own start.
func BenchmarkStart(b *testing.B) {
	for b.Loop() {
		_, end := serve(b)
		end()
	}
}
