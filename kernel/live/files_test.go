package live

import (
	"context"
	"slices"
	"testing"
	"unicode/utf8"

	"wedgework/kernel"
	"wedgework/reports/measured"
	"wedgework/reports/notebook"
)

// TestCompletionOfFiles: inside a text that names a file, the files that can be read are offered; inside one that names
// a column, those of the readings.
func TestCompletionOfFiles(t *testing.T) {
	i, err := New(func(_ context.Context, path string) (measured.File, error) {
		return measured.NewFile(path, []byte("wavelength [nm],temperature [degC],isolation [dB],u(isolation) "+
			"[dB],chamber\n1550,23,40,0.1,B\n")), nil
	})
	if err != nil {
		t.Fatal(err)
	}
	i.Lists(func() []string { return []string{"data/0417.csv", "films.xlsx", "notes.md", "parts.star"} })
	if failed := i.Run(t.Context(), kernel.Cell{Number: 1, Stored: true,
		Source: `d = measured("sweep", default="data/0417.csv")`},
		func(notebook.Output) {}); failed != nil {
		t.Fatal(failed)
	}
	for _, c := range []struct {
		source string
		want   []string
	}{
		{`measured("sweep", default="`, []string{"data/0417.csv", "films.xlsx"}},
		{`measured("sweep", default="data/`, []string{"data/0417.csv"}},
		{`rows("fi`, []string{"films.xlsx"}},
		{`d.column("`, []string{"chamber", "isolation", "temperature", "u(isolation)", "wavelength"}},
		{`d.column("u`, []string{"u(isolation)"}},
		{`unknown.column("`, nil},
	} {
		got := i.Complete(c.source, utf8.RuneCountInString(c.source)).Matches
		var texts []string
		for _, m := range got {
			texts = append(texts, m.Text)
		}
		slices.Sort(texts)
		if !slices.Equal(texts, c.want) {
			t.Errorf("%s: offers %q, want %q", c.source, texts, c.want)
		}
	}
}
