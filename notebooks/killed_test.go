package notebooks

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wedgework/reports/index"
	"wedgework/reports/record"
	"wedgework/reports/require"
)

// TestKilledWatch: a watching run is killed at any moment, while it makes reports and writes the index, again and again;
// every PDF, record and page that stands afterwards is whole, and the next run ends with everything up to date. Ten
// times; WEDGEWORK_SOAK=1 asks for five hundred.
func TestKilledWatch(t *testing.T) {
	require.Thorough(t, "ten kills take as many seconds")
	n := soak(10, 500)
	path := program(t)
	folder := units(t, 3)
	random := rand.New(rand.NewPCG(21, 8))
	sweep := filepath.Join(folder, "incoming", "5001.csv")
	original, err := os.ReadFile(sweep)
	if err != nil {
		t.Fatal(err)
	}
	regenerated(t, path, folder)
	begun := time.Now()
	regenerated(t, path, folder)
	longest := 3*time.Since(begun) + 2*time.Second // within which a report and the index are made
	span := longest
	during := 0
	for i := range n {
		remark := []byte("# remark: measured again " + strings.Repeat("+", i%7) + "\n")
		if err := os.WriteFile(sweep, append(remark, original...), 0o666); err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		c := exec.Command(path, "regenerate", "--watch", "plan.toml")
		c.Dir, c.Stdout, c.Stderr = folder, &out, &out
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		u := random.Float64()
		time.Sleep(time.Duration(u * u * float64(span))) // rather early: a quick machine is soon done
		if err := c.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		_ = c.Wait() // it was killed
		if strings.Contains(out.String(), "up to date") {
			span = max(span/2, time.Millisecond) // sooner the next time: half of the kills come before and half after
		} else {
			during++ // before the first pass was over
			span = min(2*span, longest)
		}
		whole(t, folder)
	}
	regenerated(t, path, folder) // what the last kill left undone
	last, _, _ := regenerated(t, path, folder)
	if !strings.HasPrefix(last, "3 reports: 0 made, 3 up to date, 0 failed") {
		t.Errorf("after %d kills: %s", n, last)
	}
	if _, err := index.Build(filepath.Join(folder, "reports"), index.Options{From: index.PDFs}); err != nil {
		t.Error(err)
	}
	left, err := filepath.Glob(filepath.Join(folder, "reports", ".*wedgework-journal"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
	t.Logf("%d kills, %d of them before a pass was over", n, during)
	if during == 0 {
		t.Error("no kill came while something was being made")
	}
}

// whole checks that what stands in the folder of reports can be read.
func whole(t *testing.T, folder string) {
	t.Helper()
	reports := filepath.Join(folder, "reports")
	found, err := filepath.Glob(filepath.Join(reports, "*.json"))
	if err != nil || len(found) != 3 {
		t.Fatalf("%d records: %v", len(found), err)
	}
	for _, at := range found {
		data, err := os.ReadFile(at)
		if err == nil {
			_, err = record.Read(data)
		}
		if err != nil {
			t.Fatalf("%s: %v", at, err)
		}
		pdf, err := os.ReadFile(strings.TrimSuffix(at, ".json") + ".pdf")
		if err != nil || !bytes.HasSuffix(bytes.TrimSpace(pdf), []byte("%%EOF")) {
			t.Fatalf("%s: the PDF is not whole: %v", at, err)
		}
	}
	page, err := os.ReadFile(filepath.Join(reports, index.PageName))
	if err != nil || !bytes.Contains(page, []byte("<!-- SHA-256 of what stands before: ")) {
		t.Fatalf("the page of the index is not whole: %v", err)
	}
	cache, err := os.ReadFile(filepath.Join(reports, index.CacheName))
	if err != nil || !json.Valid(cache) {
		t.Fatalf("what the index remembers is not whole: %v", err)
	}
}
