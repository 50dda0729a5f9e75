package index

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// TestUpToDateSeen: a page at rest is not read again; one that was touched is, whatever its size and its time say.
func TestUpToDateSeen(t *testing.T) {
	folder := t.TempDir()
	place(t, folder, "1", unit("1", "L", "2026-11-01", 1, 45), false)
	plan := []Standing{{Report: "1.pdf", State: Current}}
	if err := built(t, folder, Options{Plan: plan}).Write(folder); err != nil {
		t.Fatal(err)
	}
	seen := filepath.Join(folder, SeenName)
	if _, err := os.Stat(seen); !UpToDate(folder, "", plan) || err == nil {
		t.Fatalf("a page that was written a moment ago: %v", err)
	}
	time.Sleep(settled + 50*time.Millisecond)
	if _, err := os.Stat(seen); !UpToDate(folder, "", plan) || err == nil {
		t.Fatalf("seen before it was looked at: %v", err)
	}
	first, err := os.ReadFile(seen)
	if err != nil || !UpToDate(folder, "", plan) || UpToDate(folder, "", nil) {
		t.Errorf("at rest: %v", err)
	}
	page := filepath.Join(folder, PageName)
	info, err := os.Stat(page)
	if err != nil {
		t.Fatal(err)
	}
	data, _ := os.ReadFile(page)
	data[len(data)/2] ^= 1
	put(t, page, data)
	if err := os.Chtimes(page, info.ModTime(), info.ModTime()); err != nil {
		t.Fatal(err)
	}
	if UpToDate(folder, "", plan) {
		t.Errorf("a page with one bit changed, dated back, is taken for up to date; seen: %s", first)
	}
}

// BenchmarkUpToDate asks whether the index of 100,000 reports needs writing, when it does not.
func BenchmarkUpToDate(b *testing.B) {
	const n = 100_000
	folder := b.TempDir()
	x := &Index{Rows: many(n)}
	var plan []Standing
	for i := range x.Rows {
		plan = append(plan, Standing{Report: fmt.Sprintf("%d/%05d.pdf", i/100, i), State: Current})
	}
	x.standings = []string{standing("", plan)}
	if err := x.Write(folder); err != nil {
		b.Fatal(err)
	}
	info, err := os.Stat(filepath.Join(folder, PageName))
	if err != nil {
		b.Fatal(err)
	}
	time.Sleep(settled + 50*time.Millisecond)
	UpToDate(folder, "", plan)
	b.ReportAllocs()
	for b.Loop() {
		if !UpToDate(folder, "", plan) {
			b.Fatal("not up to date")
		}
	}
	b.ReportMetric(float64(info.Size())/1e6, "MB-page")
}
