package publish

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"wedgework/reports/reason"
)

// Paths returns the files that a report named out, REPORT.pdf, consists of, in the order of Files. The folder must be
// there. The errors name out and what was expected, and no flag.
func Paths(out string) ([]string, error) {
	stem, ok := strings.CutSuffix(out, ".pdf")
	if !ok || filepath.Base(stem) == "." || strings.HasSuffix(stem, string(filepath.Separator)) || stem == "" {
		return nil, fmt.Errorf("found %q, expected a file name that ends in .pdf", out)
	}
	folder := filepath.Dir(out)
	switch info, err := os.Stat(folder); {
	case err != nil:
		return nil, fmt.Errorf("the folder %s: %w", folder, reason.Bare(err))
	case !info.IsDir():
		return nil, fmt.Errorf("%s is not a folder", folder)
	}
	return beside(out), nil
}

func beside(out string) []string {
	stem := strings.TrimSuffix(out, ".pdf")
	return []string{stem + ".ipynb", stem + ".json", out}
}

// Apart refuses a report that would replace one of the files it is made from.
func Apart(outputs, inputs []string) error {
	for _, o := range outputs {
		there, err := os.Stat(o)
		if err != nil {
			continue
		}
		for _, i := range inputs {
			if info, err := os.Stat(i); err == nil && os.SameFile(info, there) {
				return fmt.Errorf("%s would replace the input %s: give the report another name or folder", o, i)
			}
		}
	}
	return nil
}
