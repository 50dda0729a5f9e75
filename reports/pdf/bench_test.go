package pdf

import "testing"

// BenchmarkRender sets the demonstration report of five pages with three figures. Parsing, cutting
// and embedding the faces is half of it.
func BenchmarkRender(b *testing.B) {
	for b.Loop() {
		if _, _, err := Render(demo(), demoOptions); err != nil {
			b.Fatal(err)
		}
	}
}
