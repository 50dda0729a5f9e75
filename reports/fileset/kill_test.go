package fileset

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// writerFolder is the variable that makes the test program one that replaces the set in a folder until it is killed.
const writerFolder = "WEDGEWORK_FILESET_WRITER"

func TestMain(m *testing.M) {
	if dir := os.Getenv(writerFolder); dir != "" {
		for n := 1; ; n++ {
			if err := Replace(generation(dir, n)); err != nil {
				fmt.Println(err)
				os.Exit(1)
			}
			fmt.Println("written")
		}
	}
	if dir := os.Getenv(keeperFolder); dir != "" {
		fmt.Println(keepOn(dir))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// generation is the set numbered n: each content begins with the number and ends with its own hash. Every second one
// has no signature.
func generation(dir string, n int) []File {
	var files []File
	for i, name := range []string{"r.ipynb", "r.json", "r.html", "r.pdf.sig", "r.pdf"} {
		if name == "r.pdf.sig" && n%2 == 1 {
			files = append(files, File{Path: filepath.Join(dir, name)})
			continue
		}
		var b bytes.Buffer
		fmt.Fprintf(&b, "%d\n", n)
		for k := range 400 * (1 + (n+i)%7) {
			fmt.Fprintf(&b, "%d ", k*n)
		}
		sum := sha256.Sum256(b.Bytes())
		b.WriteString("\n" + hex.EncodeToString(sum[:]))
		files = append(files, File{filepath.Join(dir, name), b.Bytes()})
	}
	return files
}

// number returns the number of the generation that a content belongs to, or an error when it is not whole.
func number(content string) (int, error) {
	at := strings.LastIndexByte(content, '\n')
	head, _, _ := strings.Cut(content, "\n")
	n, err := strconv.Atoi(head)
	if err != nil || at < 0 {
		return 0, fmt.Errorf("it begins with %.20q", content)
	}
	if sum := sha256.Sum256([]byte(content[:at])); hex.EncodeToString(sum[:]) != content[at+1:] {
		return 0, fmt.Errorf("its hash does not fit")
	}
	return n, nil
}

// A writer is killed at random instants. At every moment every file under its own name is whole, and the next run
// makes the set one of one generation, with nothing left beside it.
func TestKilledWriters(t *testing.T) {
	kills := 20
	if os.Getenv("WEDGEWORK_SOAK") != "" {
		kills = 500
	}
	dir := t.TempDir()
	random := rand.New(rand.NewPCG(26, 11))
	cutShort := 0
	for range kills {
		w := exec.Command(os.Args[0])
		w.Env = append(os.Environ(), writerFolder+"="+dir)
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

		for name, content := range listing(t, dir) {
			if strings.HasPrefix(name, ".") {
				continue
			}
			if _, err := number(content); err != nil {
				t.Fatalf("after a kill %s is not whole: %v", name, err)
			}
		}
		n, err := Settle(dir)
		if err != nil {
			t.Fatal(err)
		}
		cutShort += n
		oneGeneration(t, dir)
	}
	t.Logf("%d kills, %d within a replacement", kills, cutShort)
	if cutShort < kills/10 {
		t.Errorf("%d of %d kills fell into a replacement: the test shows too little", cutShort, kills)
	}
}

// oneGeneration checks that a folder holds the whole set of one generation and nothing else.
func oneGeneration(t *testing.T, dir string) {
	t.Helper()
	got := listing(t, dir)
	n, err := number(got["r.pdf"])
	if err != nil {
		t.Fatalf("r.pdf: %v", err)
	}
	want := map[string]string{}
	for _, f := range generation(dir, n) {
		if f.Data != nil {
			want[filepath.Base(f.Path)] = string(f.Data)
		}
	}
	for name := range got {
		if _, ok := want[name]; !ok {
			t.Fatalf("%s is there, beside the set of generation %d", name, n)
		}
	}
	for name, content := range want {
		if got[name] != content {
			t.Fatalf("%s is not that of generation %d", name, n)
		}
	}
}
