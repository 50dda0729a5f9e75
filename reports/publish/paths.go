package publish

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"wedgework/reports/job"
	"wedgework/reports/reason"
)

// Paths returns the files that a report named out, REPORT.pdf, consists of, in the order of Files. The folder must be
// there. The errors name out and what was expected, and no flag.
func Paths(out string) ([]string, error) {
	if err := job.CheckOutput(out); err != nil {
		return nil, err
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

// beside lists the files of a report: the executed notebook, the record, the page for a screen, the PDF.
func beside(out string) []string {
	stem := strings.TrimSuffix(out, ".pdf")
	return []string{stem + ".ipynb", stem + ".json", stem + ".html", out}
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

// Target returns the files that the report of a job consists of, in the order of Files, when it may be written there.
func Target(j *job.Job) ([]string, error) {
	paths, err := Paths(j.Output.Text)
	if err == nil {
		err = Apart(paths, j.Inputs())
	}
	return paths, j.Output.At.Wrap(err)
}
