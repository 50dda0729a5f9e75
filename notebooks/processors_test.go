package notebooks

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"wedgework/optics/parallel"
	"wedgework/reports/require"
)

// processors are the programs whose reports are compared: of amd64 without and with fused multiplication and addition,
// and of arm64, which runs in an emulator.
var processors = []struct {
	name string
	env  []string
	run  []string // before the program
}{
	{"amd64 v1", []string{"GOARCH=amd64", "GOAMD64=v1"}, nil},
	{"amd64 v3", []string{"GOARCH=amd64", "GOAMD64=v3"}, nil},
	{"arm64", []string{"GOARCH=arm64"}, []string{"qemu-aarch64-static"}},
}

// TestSameBytesOnProcessors makes small reports with each program and compares the SHA-256 of every file.
// WEDGEWORK_SOAK says of how many units: 1 is 200.
func TestSameBytesOnProcessors(t *testing.T) {
	units, err := strconv.Atoi(os.Getenv("WEDGEWORK_SOAK"))
	if err != nil {
		t.Skip("200 reports by three programs take ten minutes: set WEDGEWORK_SOAK=1")
	}
	if units == 1 {
		units = 200
	}
	require.Tool(t, "qemu-aarch64-static")
	dir := t.TempDir()
	for i, p := range processors {
		build := exec.Command("go", "build", "-buildvcs=false", "-o", filepath.Join(dir, fmt.Sprint("program", i)),
			"../cmd/wedgework")
		build.Env = append(append(os.Environ(), "CGO_ENABLED=0"), p.env...)
		if out, err := build.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", p.name, err, out)
		}
	}
	notebook := filepath.Join(dir, "small.ipynb")
	if err := os.WriteFile(notebook, small(t), 0o600); err != nil {
		t.Fatal(err)
	}
	differ := make([]string, units)
	err = parallel.Each(units, func(u int) error {
		data := filepath.Join(dir, fmt.Sprintf("u%d.csv", u))
		if err := os.WriteFile(data, thinned(t, u), 0o600); err != nil {
			return err
		}
		var first map[string][32]byte
		for i, p := range processors {
			out := filepath.Join(dir, fmt.Sprint("out", i, "-", u))
			sums, err := reported(append(p.run[:len(p.run):len(p.run)], filepath.Join(dir, fmt.Sprint("program", i)),
				"report", notebook, "--data", "sweep="+data, "--out", filepath.Join(out, "r.pdf")), out)
			if err != nil {
				return fmt.Errorf("unit %d on %s: %w", u, p.name, err)
			}
			if first == nil {
				first = sums
			}
			for kind, sum := range sums {
				if sum != first[kind] {
					differ[u] += fmt.Sprintf("unit %d: r.%s on %s; ", u, kind, p.name)
				}
			}
		}
		if differ[u] == "" {
			for i := range processors {
				os.RemoveAll(filepath.Join(dir, fmt.Sprint("out", i, "-", u)))
			}
		} else if keep := os.Getenv("WEDGEWORK_KEEP_PAGES"); keep != "" {
			for i := range processors {
				_ = os.Rename(filepath.Join(dir, fmt.Sprint("out", i, "-", u)), filepath.Join(keep, fmt.Sprint(u, "-", i)))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, d := range differ {
		if d != "" {
			n++
			t.Error(d)
		}
	}
	t.Logf("%d reports of four files by %d programs: %d differ", units, len(processors), n)
}

// reported makes a report and returns the hashes of its files, by their kinds. A verdict that does not pass is no
// failure.
func reported(command []string, folder string) (map[string][32]byte, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, err
	}
	out, err := exec.Command(command[0], command[1:]...).CombinedOutput()
	sums := map[string][32]byte{}
	for _, kind := range []string{"pdf", "html", "json", "ipynb"} {
		data, missing := os.ReadFile(filepath.Join(folder, "r."+kind))
		if missing != nil {
			return nil, fmt.Errorf("%w (%v)\n%s", missing, err, out)
		}
		sums[kind] = sha256.Sum256(data)
	}
	return sums, nil
}

// small is the worked example without its prose, its drawings and the prediction.
func small(t *testing.T) []byte {
	t.Helper()
	data, err := os.ReadFile("verify-single-stage.ipynb")
	if err != nil {
		t.Fatal(err)
	}
	var nb map[string]any
	if err := json.Unmarshal(data, &nb); err != nil {
		t.Fatal(err)
	}
	var cells []any
	for _, c := range nb["cells"].([]any) {
		cell := c.(map[string]any)
		source := fmt.Sprint(cell["source"])
		if cell["cell_type"] != "code" || strings.Contains(source, "draw(s)") || strings.Contains(source, "table(rows") {
			continue
		}
		cells = append(cells, cell)
	}
	if len(cells) < 4 {
		t.Fatalf("%d cells are left of the worked example", len(cells))
	}
	names := map[string]any{"cell_type": "code", "metadata": map[string]any{}, "execution_count": nil,
		"outputs": []any{}, "id": "names", "source": "band = sweep(1535*nm, 1565*nm, 0.5*nm)\n" +
			"cold, room, hot = -5*degC, 23*degC, 70*degC"}
	nb["cells"] = append([]any{names}, cells...)
	out, err := json.Marshal(nb)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// thinned is a demo sweep of which one wavelength in ten is left, each level moved at random: a unit of its own.
func thinned(t *testing.T, unit int) []byte {
	t.Helper()
	names, err := filepath.Glob("../testdata/demo/lot-26-1*-unit-*.csv")
	if err != nil || len(names) == 0 {
		t.Fatalf("no demo sweeps: %v", err)
	}
	data, err := os.ReadFile(names[unit%len(names)])
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(uint64(unit), 9))
	step, shift := 6+rng.IntN(8), 2*rng.NormFloat64()
	var out strings.Builder
	row := 0
	for line := range strings.Lines(string(data)) {
		fields := strings.Split(strings.TrimSpace(line), ",")
		if strings.HasPrefix(line, "#") || strings.HasPrefix(line, "wavelength") {
			out.WriteString(line)
			continue
		}
		if row++; row%step != 0 {
			continue
		}
		for k, by := range map[int]float64{2: shift + 0.05*rng.NormFloat64(), 3: 0.01 * rng.NormFloat64()} {
			v, err := strconv.ParseFloat(fields[k], 64)
			if err != nil {
				t.Fatal(err)
			}
			fields[k] = strconv.FormatFloat(v+by, 'f', 3, 64)
		}
		out.WriteString(strings.Join(fields, ",") + "\n")
	}
	return []byte(out.String())
}
