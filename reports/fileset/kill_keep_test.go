package fileset

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// keeperFolder is the variable that makes the test program one that replaces signed sets in a folder, each time keeping
// the one before, until it is killed.
const keeperFolder = "WEDGEWORK_FILESET_KEEPER"

// keepOn replaces the set of a folder by the next generation for ever, and keeps what it replaces.
func keepOn(dir string) error {
	for n := 1; ; n++ {
		if data, err := os.ReadFile(filepath.Join(dir, "r.pdf")); err == nil {
			if n, err = number(string(data)); err != nil {
				return err
			}
			n++
		}
		k, err := keepOf(dir, n-1)
		if err != nil {
			return err
		}
		if _, err := ReplaceKeeping(generation(dir, n), k, nil); err != nil {
			return err
		}
		fmt.Println("written")
	}
}

// keepOf keeps the files that are there of the set numbered n.
func keepOf(dir string, n int) (Keep, error) {
	k := Keep{Folder: filepath.Join(dir, SupersededFolder, fmt.Sprintf("r%d", n))}
	for _, f := range generation(dir, n) {
		_, err := os.Lstat(f.Path)
		switch {
		case err == nil:
			k.Paths = append(k.Paths, f.Path)
		case !os.IsNotExist(err):
			return k, err
		}
	}
	return k, nil
}

// A writer of signed sets is killed at random instants. Whenever that is, no generation is lost: the last one stands
// whole in its place once the next run has settled the folder, and every one before it whole among the superseded.
func TestKilledKeepers(t *testing.T) {
	kills := 20
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		kills = 500
	}
	dir := t.TempDir()
	random := rand.New(rand.NewPCG(26, 12))
	first, cutShort, kept := 1, 0, 0
	for range kills {
		w := exec.Command(os.Args[0])
		w.Env = append(os.Environ(), keeperFolder+"="+dir)
		out, err := w.StdoutPipe()
		if err == nil {
			err = w.Start()
		}
		if err != nil {
			t.Fatal(err)
		}
		if line, err := bufio.NewReader(out).ReadString('\n'); line != "written\n" {
			t.Fatalf("the writer said %q, %v", line, err)
		}
		time.Sleep(time.Duration(random.IntN(20_000)) * time.Microsecond)
		if err := w.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		_ = w.Wait() // it was killed
		n, err := Settle(dir)
		if err != nil {
			t.Fatal(err)
		}
		cutShort += n
		last := lastGeneration(t, dir)
		for ; first < last; first++ {
			inSuperseded(t, dir, first)
			kept++
		}
	}
	t.Logf("%d kills, %d within a replacement; %d sets were kept", kills, cutShort, kept)
	if cutShort < kills/10 || kept < kills {
		t.Errorf("%d kills, %d within a replacement, %d sets kept: the test shows too little", kills, cutShort, kept)
	}
}

// lastGeneration returns the number of the set that stands in a folder, whole and with nothing beside it but the
// superseded ones.
func lastGeneration(t *testing.T, dir string) int {
	t.Helper()
	got := listing(t, dir)
	delete(got, SupersededFolder)
	n, err := number(got["r.pdf"])
	if err != nil {
		t.Fatalf("r.pdf: %v", err)
	}
	if d := cmp.Diff(written(n), got); d != "" {
		t.Fatalf("generation %d (-want +got):\n%.1000s", n, d)
	}
	return n
}

// inSuperseded checks that a generation was kept whole, and takes its folders away, for there are many.
func inSuperseded(t *testing.T, dir string, n int) {
	t.Helper()
	folders, err := filepath.Glob(filepath.Join(dir, SupersededFolder, fmt.Sprintf("r%d*", n)))
	if err != nil {
		t.Fatal(err)
	}
	whole := false
	for _, folder := range folders {
		name := filepath.Base(folder)
		if name != fmt.Sprint("r", n) && !strings.HasPrefix(name, fmt.Sprintf("r%d-", n)) {
			continue
		}
		whole = whole || cmp.Equal(written(n), listing(t, folder))
		if err := os.RemoveAll(folder); err != nil {
			t.Fatal(err)
		}
	}
	if !whole {
		t.Fatalf("generation %d is lost: it is whole in none of %v", n, folders)
	}
}

// written lists a generation as listing does.
func written(n int) map[string]string {
	all := map[string]string{}
	for _, f := range generation("", n) {
		if f.Data != nil {
			all[filepath.Base(f.Path)] = string(f.Data)
		}
	}
	return all
}
