package measured

import (
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"
)

// TestRawRowsInMemory: a row of four states or of a Jones matrix takes at most 300 bytes beyond its file, so that a
// million of them are read in the 512 MiB of a session. The soak reads the million.
func TestRawRowsInMemory(t *testing.T) {
	rows := 20_000
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		rows = 1_000_000
	}
	for _, c := range []struct{ name, head, row string }{
		{"four states", "# power noise: 0.003 dB\nwavelength [nm],temperature [degC],power forward 0 deg [dBm],power " +
			"forward 90 deg [dBm],power forward 45 deg [dBm],power forward circular [dBm],reference [dBm]\n",
			"%.5f,23,-0.3,-0.35,-0.31,-0.33,0.01\n"},
		{"Jones matrices", "# matrix noise: 1e-4\nwavelength [nm],temperature [degC],J11 re,J11 im,J12 re,J12 im,J21 " +
			"re,J21 im,J22 re,J22 im\n",
			"%.5f,23,0.95,0.1,0.01,0.02,-0.01,0.02,0.94,-0.1\n"},
	} {
		var text strings.Builder
		text.WriteString(c.head)
		for i := range rows {
			fmt.Fprintf(&text, c.row, 1500+float64(i)*1e-4)
		}
		f := File{Name: "raw.csv", Data: []byte(text.String())}
		text.Reset()
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		table, err := ReadPart(t.Context(), f, Part{})
		if err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		all := (after.TotalAlloc - before.TotalAlloc) / uint64(rows)
		runtime.GC()
		runtime.ReadMemStats(&after)
		held := (after.HeapAlloc - before.HeapAlloc) / uint64(rows)
		t.Logf("%s: %d bytes a row held, %d allocated, %d in the file", c.name, held, all, len(f.Data)/rows)
		if held > 300 {
			t.Errorf("%s: %d bytes a row held, want at most 300", c.name, held)
		}
		runtime.KeepAlive(table)
	}
}
