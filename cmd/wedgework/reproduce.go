package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"wedgework/reports/archive"
	"wedgework/reports/files"
	"wedgework/reports/fileset"
	"wedgework/reports/publish"
	"wedgework/reports/record"
	"wedgework/reports/reproduce"
	"wedgework/reports/signature"
)

func (a *app) reproduceCommand() *cobra.Command {
	var out, signer string
	var fonts []string
	var most time.Duration
	c := &cobra.Command{
		Use:   "reproduce REPORT.pdf",
		Short: "reproduce a report from the contents of its PDF, and compare the two",
		Long: `reproduce extracts notebook, inputs and settings from a report, reruns them in memory and compares the result with
the report: identical (the same bytes), agrees (every printed figure is the same, and drawings to 0.02 pt), or
differs, and where. The cells of the report can read its own inputs and nothing else. REPORT.json, REPORT.ipynb
and REPORT.pdf.sig beside the report are compared with it too.

Exit status: 0 identical or agrees; 1 differs, or the signature or a file beside it does not belong to it; 2 the
comparison could not be made.`,
		Example: "  wedgework reproduce 0417.pdf --signer quality.pub",
		Args:    exactly(1, "a report"),
		RunE: func(c *cobra.Command, args []string) error {
			ctx, cancel := context.WithTimeoutCause(c.Context(), most, overTime(args[0], most))
			defer cancel()
			err := a.reproduce(ctx, args[0], out, signer, fonts)
			if err != nil && errors.Is(ctx.Err(), context.DeadlineExceeded) {
				return context.Cause(ctx)
			}
			return err
		},
	}
	c.Flags().StringVar(&signer, "signer", "", "check REPORT.pdf.sig with the public Ed25519 key `KEY.pub` of OpenSSH")
	c.Flags().StringArrayVar(&fonts, "font", nil,
		"TrueType `FILE` that the report was made with; the provenance section names it")
	c.Flags().DurationVar(&most, "time", reproduceTime,
		"give up after `DURATION`, as a report from elsewhere may contain any cells")
	c.Flags().Lookup("time").DefValue = plainDuration(reproduceTime)
	c.Flags().StringVar(&out, "out", "", "write the reproduced report as `REMADE.pdf`, with the files beside it")
	return c
}

// reproduceTime is what a report may take unless --time says otherwise: a choice.
const reproduceTime = 10 * time.Minute

// overTime says that a report took too long, and how to give it thrice the time.
func overTime(path string, most time.Duration) error {
	return fmt.Errorf("%s: not reproduced within %s; allow more with --time %s", path, plainDuration(most),
		plainDuration(3*most))
}

// plainDuration leaves out the zeros: 10m instead of 10m0s.
func plainDuration(d time.Duration) string {
	s := d.String()
	if strings.HasSuffix(s, "m0s") {
		s = strings.TrimSuffix(s, "0s")
	}
	if strings.HasSuffix(s, "h0m") {
		s = strings.TrimSuffix(s, "0m")
	}
	return s
}

func (a *app) reproduce(ctx context.Context, path, out, signer string, fonts []string) error {
	if out != "" {
		paths, err := publish.Paths(out)
		if err == nil {
			err = publish.Apart(paths, []string{path})
		}
		if err != nil {
			return fmt.Errorf("--out: %w", err)
		}
	}
	data, err := readBounded(path)
	if err != nil {
		return err
	}
	if err := a.checkSignature(path, data, signer); err != nil {
		return err
	}
	carried, err := reproduce.Open(data)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	a.checkBeside(path, carried)
	added, err := publish.Fonts(flagged("--font", fonts))
	if err != nil {
		return err
	}
	j, err := carried.Job(added)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	again, err := publish.Make(ctx, j, tools(a.watcher()))
	if err != nil {
		return in(path, notebookError(err))
	}
	finding, err := reproduce.Compare(carried, again)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	a.tell(path, finding, carried.Record.Program)
	if out != "" {
		return fileset.Replace(again.Files(out))
	}
	return nil
}

// readBounded reads a report or a record.
func readBounded(path string) ([]byte, error) { return files.ReadUpTo(path, archive.MaxFile) }

// in puts a path before a failure and keeps its hint.
func in(path string, err error) error {
	var h hinted
	if errors.As(err, &h) {
		return hinted{fmt.Errorf("%s: %w", path, h.error), h.hint}
	}
	return fmt.Errorf("%s: %w", path, err)
}

// checkSignature holds the signature beside a report against it. An unchecked one is said to be so.
func (a *app) checkSignature(path string, report []byte, signer string) error {
	sig, err := files.Read(path + signature.Extension)
	there := err == nil
	switch {
	case signer == "" && there:
		a.say("%s%s was not checked; add --signer KEY.pub", path, signature.Extension)
		return nil
	case signer == "":
		return nil
	case !there:
		return fmt.Errorf("--signer: %w", err)
	}
	key, err := readKey("--signer", signer, signature.ReadSigner)
	if err != nil {
		return err
	}
	if err := key.Check(report, sig); err != nil {
		a.status = someFail
		fmt.Fprintf(a.out, "signature: does not belong to the report: %v\n", err)
		return nil
	}
	fmt.Fprintf(a.out, "signature: by %s\n", key.Fingerprint())
	return nil
}

// checkBeside holds the files beside a report against what it carries: a set may have been mixed.
func (a *app) checkBeside(path string, c *reproduce.Carried) {
	stem := strings.TrimSuffix(path, ".pdf")
	for _, f := range []struct {
		path string
		want []byte
	}{{stem + ".json", c.JSON}, {stem + ".ipynb", c.Executed}} {
		data, err := files.Read(f.path)
		switch {
		case errors.Is(err, fs.ErrNotExist): // the report is whole without
		case err != nil:
			a.say("%v", err)
		case !bytes.Equal(data, f.want):
			a.status = someFail
			fmt.Fprintf(a.out, "%s: is not the one inside the report\n", filepath.Base(f.path))
		}
	}
}

// tell prints a finding and sets the exit status.
func (a *app) tell(path string, f *reproduce.Finding, then record.Program) {
	now := program()
	fmt.Fprintf(a.out, "%s: %s: ", filepath.Base(path), f.Result)
	switch f.Result {
	case reproduce.Identical:
		fmt.Fprintf(a.out, "reproduced byte for byte by %s\n", named(now))
		return
	case reproduce.Agrees:
		fmt.Fprintf(a.out, "every printed figure is the same")
		if f.Moved > 0 {
			fmt.Fprintf(a.out, "; drawings on %d of %d pages moved by at most %g pt", f.Moved, f.Pages, reproduce.Tolerance)
		}
		fmt.Fprintln(a.out)
	default:
		a.status = someFail
		places := "places"
		if len(f.Differences) == 1 {
			places = "place"
		}
		fmt.Fprintf(a.out, "%d %s\n", len(f.Differences), places)
		const most = 40
		for i, d := range f.Differences {
			if i == most {
				fmt.Fprintf(a.out, "    and %d more\n", len(f.Differences)-most)
				break
			}
			fmt.Fprintf(a.out, "    %s: was %q, is %q\n", d.Where, d.Was, d.Is)
		}
	}
	if then == now {
		fmt.Fprintf(a.out,
			"    by the same program, %s: built from other sources or for another processor, or the file was rewritten\n",
			named(now))
	} else {
		fmt.Fprintf(a.out, "    made by %s, reproduced by %s\n", named(then), named(now))
	}
}

func named(p record.Program) string {
	return strings.TrimSpace(fmt.Sprintf("%s %s, %s %s", p.Name, p.Version, p.Go, p.Architecture))
}
