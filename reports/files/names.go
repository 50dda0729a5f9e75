package files

import (
	"io"
	"os"
)

// NamesIn calls each for every name in a folder, in no order. It holds some thousand names at a time, however many
// there are.
func NamesIn(folder string, each func(name string)) error {
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	defer f.Close()
	for {
		names, err := f.Readdirnames(4096)
		for _, n := range names {
			each(n)
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
	}
}
