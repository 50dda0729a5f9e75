package notebooks

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/reports/record"
	"wedgework/reports/require"
)

// everyPageBelongs asks of each page, as poppler reads it, that it says which unit, report, revision and record it is
// of, and which page of how many; and of the first, that another program reads from its QR code what reproduce takes.
func everyPageBelongs(t *testing.T, name, path string) {
	t.Helper()
	data, err := os.ReadFile(strings.TrimSuffix(path, ".pdf") + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var rec record.Record
	if err := json.Unmarshal(data, &rec); err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(data)
	digest := hex.EncodeToString(sum[:])
	covers := "unit " + name
	if name == "lot" {
		covers = "lot 26-11 (3 units)"
	}
	out, err := exec.Command(require.Tool(t, "pdftotext"), "-enc", "UTF-8", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	for i, text := range pages {
		for _, want := range []string{covers, "revision B", rec.Number, "record " + digest[:12],
			fmt.Sprintf("page %d of %d", i+1, len(pages))} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: page %d lacks %q", name, i+1, want)
			}
		}
	}
	picture := filepath.Join(t.TempDir(), "page")
	if out, err := exec.Command(require.Tool(t, "pdftoppm"), "-r", "150", "-png", "-singlefile", path,
		picture).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	read, err := exec.Command(require.Tool(t, "zbarimg"), "-q", "--raw", picture+".png").Output()
	if got, want := strings.TrimSpace(string(read)), rec.Number+":"+strings.ToUpper(digest); err != nil || got != want {
		t.Errorf("%s: the QR code reads %q (%v), want %q", name, got, err, want)
	}
	if status, printed := run(t, nil, "reproduce", path, "--expect", strings.TrimSpace(string(read))); status != 0 ||
		!strings.Contains(printed, "is the report of the code") {
		t.Errorf("%s: reproduce --expect: exit status %d\n%s", name, status, printed)
	}
}

// everyChangeBelongs asks the same of the pages that list changes: what they are of, their number, the digest of the
// changes that travel with them as JSON, and a code of both on the first.
func everyChangeBelongs(t *testing.T, covers, path string) {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command(require.Tool(t, "pdfdetach"), "-saveall", "-o", dir, path).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	data, err := os.ReadFile(filepath.Join(dir, "changes.json"))
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(data)
	digest := hex.EncodeToString(sum[:])
	picture := filepath.Join(dir, "page")
	if out, err := exec.Command(require.Tool(t, "pdftoppm"), "-r", "150", "-png", "-singlefile", path,
		picture).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	read, err := exec.Command(require.Tool(t, "zbarimg"), "-q", "--raw", picture+".png").Output()
	number, rest, _ := strings.Cut(strings.TrimSpace(string(read)), ":")
	if err != nil || !strings.HasPrefix(number, "WC-") || rest != strings.ToUpper(digest) {
		t.Errorf("the QR code reads %q (%v), want the number and %s", read, err, strings.ToUpper(digest))
	}
	out, err := exec.Command(require.Tool(t, "pdftotext"), "-enc", "UTF-8", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	for i, text := range pages {
		for _, want := range []string{covers, "revision B", number, "changes " + digest[:12],
			fmt.Sprintf("page %d of %d", i+1, len(pages))} {
			if !strings.Contains(text, want) {
				t.Errorf("page %d lacks %q", i+1, want)
			}
		}
	}
}
