package measured

import (
	"bytes"
	"fmt"
	"os"
	"runtime"
	"testing"
)

// plainFile returns a file of so many rows as most instruments write them, 22 bytes each.
func plainFile(rows int) File {
	var b bytes.Buffer
	b.Grow(22*rows + len(head))
	b.WriteString("wavelength [nm],temperature [degC],isolation [dB]\n")
	for i := range rows {
		fmt.Fprintf(&b, "%.5f,23,%.4f\n", 1500+float64(i)*1e-5, 30+float64(i%1000)*1e-3)
	}
	return File{Name: "plain.csv", Data: b.Bytes()}
}

// TestPlainRowsInMemory: ten million plain rows and their file of 220 MB are read within the 1 GiB that is stated. What
// is counted is all that is ever allocated, of which the memory in use is a part. The soak reads the ten million, the
// test as many as show what a row takes.
func TestPlainRowsInMemory(t *testing.T) {
	const all = 10_000_000
	rows := 200_000
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		rows = all
	}
	f := plainFile(rows)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	table, err := ReadPart(t.Context(), f, Part{})
	if err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	used := (after.TotalAlloc - before.TotalAlloc + uint64(len(f.Data))) * all / uint64(rows)
	t.Logf("%d bytes a row, %d MB for %d rows", used/all, used>>20, all)
	if used > mostMemory {
		t.Errorf("%d rows take %d MB, want at most %d", all, used>>20, mostMemory>>20)
	}
	runtime.KeepAlive(table)
}
