package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"wedgework/kernel/session"
	"wedgework/reports/archive"
	"wedgework/reports/files"
	"wedgework/reports/measured"
	"wedgework/reports/publish"
	"wedgework/reports/record"
	"wedgework/reports/reproduce"
	"wedgework/reports/signature"
)

func (a *app) reproduceCommand() *cobra.Command {
	var out, expect string
	var fonts, signer []string
	var most time.Duration
	var strict bool
	c := &cobra.Command{
		Use:   "reproduce REPORT.pdf",
		Short: "reproduce a report from the contents of its PDF, and compare the two",
		Long: `reproduce extracts notebook, inputs and settings from a report, reruns them in memory and compares the
result with the report: identical (the same bytes), agrees (another version or build of the program made it, and
every object of the file is the same to the byte, but that points of drawings moved by at most 0.02 pt), or
differs, and where. Of the same version and build the bytes are the same, or the report differs. A file that
another program added to, repaired or wrote anew differs. The cells of the report can read its own inputs and
nothing else. REPORT.json, REPORT.ipynb, REPORT.html and the signatures beside the report are compared with it
too.

Exit status: 0 identical or agrees; 1 differs, or the signature or a file beside it does not belong to it; 2 the
comparison could not be made.`,
		Example: "  wedgework reproduce 0417.pdf --signer quality.pub\n" +
			"  wedgework reproduce 0417.pdf --expect WR-7K3M9-QXT2B:2cb3e66d2525",
		Args: exactly(1, "a report"),
		RunE: func(c *cobra.Command, args []string) error {
			ctx, cancel := context.WithTimeoutCause(c.Context(), most, overTime(args[0], most))
			defer cancel()
			err := a.reproduce(ctx, args[0], out, expect, signer, fonts, strict)
			if err != nil && errors.Is(ctx.Err(), context.DeadlineExceeded) {
				return context.Cause(ctx)
			}
			return err
		},
	}
	c.Flags().StringArrayVar(&signer, "signer", nil,
		"check the signature beside the report with `[ROLE=]KEY.pub`, a public key of OpenSSH")
	c.Flags().BoolVar(&strict, "strict", false,
		"accept only the same bytes: a report that another version made differs")
	c.Flags().StringArrayVar(&fonts, "font", nil,
		"TrueType `FILE` that the report was made with; the provenance section names it")
	c.Flags().DurationVar(&most, "time", reproduceTime,
		"give up after `DURATION`, as a report from elsewhere may contain any cells")
	c.Flags().Lookup("time").DefValue = plainDuration(reproduceTime)
	c.Flags().StringVar(&expect, "expect", "",
		"check that the report has the number and digest of `CODE`, the text of the QR code on its first page")
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

func (a *app) reproduce(ctx context.Context, path, out, expect string, signer, fonts []string, strict bool) error {
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
	if err := a.checkSignatures(path, data, signer); err != nil {
		return err
	}
	carried, err := await(ctx, func() (*reproduce.Carried, error) { return reproduce.Open(data) })
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := a.checkCode(path, expect, carried); err != nil {
		return err
	}
	a.checkBeside(path, carried)
	added, err := publish.Fonts(ctx, flagged("--font", fonts))
	if err != nil {
		return err
	}
	with := tools(a.watcher())
	made, err := await(ctx, func() (remade, error) { return remake(ctx, carried, added, with, out != "") })
	if err != nil {
		return in(path, err)
	}
	finding := made.finding
	if strict {
		finding = finding.Strict(carried.Record.Program, with.Program)
	}
	a.tell(path, finding, carried.Record.Program)
	if err := a.checkPage(path, carried, made.finding, made.again); err != nil {
		return err
	}
	if out != "" {
		return a.place(made.kept, out)
	}
	return nil
}

// remade is a report made again, and what comparing it found.
type remade struct {
	finding *reproduce.Finding
	again   *publish.Report // under the name of the program that made the original
	kept    *publish.Report // under the name of this one; nil unless it is to be kept
}

// remake makes the report again and compares the two.
func remake(ctx context.Context, c *reproduce.Carried, fonts []measured.File, with publish.Tools,
	keep bool) (made remade, err error) {
	j, err := c.Job(fonts)
	if err != nil {
		return made, err
	}
	if made.again, err = publish.Make(ctx, j, c.Tools(with)); err != nil {
		return made, notebookError(err)
	}
	if made.finding, err = reproduce.Compare(c, made.again, with.Program); err != nil || !keep {
		return made, err
	}
	if made.kept = made.again; c.Record.Program != with.Program {
		made.kept, err = publish.Make(ctx, j, with)
	}
	return made, notebookError(err)
}

// grace is how long work that looks at its context has to say where it was.
const grace = 50 * time.Millisecond

// await ends soon after the context, at the latest: work on a file from elsewhere may not look at it for a while. The
// process ends soon after.
func await[T any](ctx context.Context, work func() (T, error)) (T, error) {
	late, end := context.WithCancel(context.WithoutCancel(ctx))
	defer end()
	defer context.AfterFunc(ctx, func() { time.AfterFunc(grace, end) })()
	v, err := session.Await(late, work)
	if late.Err() != nil {
		return v, fmt.Errorf("interrupted: %w", ctx.Err())
	}
	return v, err
}

// readBounded reads a report or a record.
func readBounded(path string) ([]byte, error) { return files.ReadUpTo(path, archive.MaxFile) }

// in puts a path before a failure and keeps its hint.
func in(path string, err error) error {
	if err == nil {
		return nil
	}
	var h hinted
	if errors.As(err, &h) {
		return hinted{fmt.Errorf("%s: %w", path, h.error), h.hint}
	}
	return fmt.Errorf("%s: %w", path, err)
}

// signers reads the public keys of --signer, by role.
func signers(named []string) (map[string]*signature.Signer, error) {
	all := map[string]*signature.Signer{}
	for _, text := range named {
		role, path := signature.Cut(text)
		if all[role] != nil {
			return nil, fmt.Errorf("--signer: found two keys for one signature, expected one for each role")
		}
		data, err := files.Read(path)
		if err == nil {
			all[role], err = signature.ReadSigner(data)
			err = in(path, err)
		}
		if err != nil {
			return nil, fmt.Errorf("--signer: %w", err)
		}
	}
	return all, nil
}

// checkSignatures checks each signature beside a report. An unchecked one is said to be so.
func (a *app) checkSignatures(path string, report []byte, named []string) error {
	keys, err := signers(named)
	if err != nil {
		return err
	}
	for _, role := range append([]string{""}, signature.Roles...) {
		key, there := keys[role], slices.Contains(signature.Of(path), role)
		file := signature.Path(path, role)
		if key == nil && there {
			give := "KEY.pub"
			if role != "" {
				give = role + "=KEY.pub"
			}
			a.say("%s was not checked; add --signer %s", file, give)
		}
		if key == nil {
			continue
		}
		sig, err := files.Read(file)
		if err != nil {
			return fmt.Errorf("--signer: %w", err)
		}
		name := "signature"
		if role != "" {
			name += " (" + role + ")"
		}
		if err := key.Check(report, sig, role); err != nil {
			a.status = someFail
			fmt.Fprintf(a.out, "%s: does not belong to the report: %v\n", name, err)
			continue
		}
		fmt.Fprintf(a.out, "%s: by %s\n", name, key.Fingerprint())
	}
	return nil
}

// checkCode compares the report with the code that was read from its pages, "" for none: a file may have been put in
// the place of the report that was printed.
func (a *app) checkCode(path, code string, c *reproduce.Carried) error {
	if code == "" {
		return nil
	}
	digest := record.Digest(c.JSON)
	same, err := record.Answers(code, c.Record.Number, digest)
	if err != nil {
		return fmt.Errorf("--expect: %w", err)
	}
	if same {
		fmt.Fprintf(a.out, "%s: is the report of the code\n", filepath.Base(path))
		return nil
	}
	a.status = someFail
	fmt.Fprintf(a.out, "%s: is not the report of the code: its own is %s\n", filepath.Base(path),
		record.Code(c.Record.Number, digest))
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

// checkPage compares the page for a screen beside a report with the one made again.
func (a *app) checkPage(path string, c *reproduce.Carried, f *reproduce.Finding, again *publish.Report) error {
	beside := strings.TrimSuffix(path, ".pdf") + ".html"
	page, err := readBounded(beside)
	if errors.Is(err, fs.ErrNotExist) {
		return nil // the report is whole without
	}
	if err != nil {
		return err
	}
	same, err := reproduce.SamePage(page, c, f, again)
	switch {
	case err != nil:
		return fmt.Errorf("%s: %w", beside, err)
	case same:
		fmt.Fprintf(a.out, "%s: identical\n", filepath.Base(beside))
	default:
		a.status = someFail
		fmt.Fprintf(a.out, "%s: differs from the reproduced page\n", filepath.Base(beside))
	}
	return nil
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
		fmt.Fprintf(a.out, "every object of the file is the same")
		if f.Moved > 0 {
			fmt.Fprintf(a.out, "; drawings on %d of %d pages moved by at most %g pt", f.Moved, f.Pages,
				reproduce.Tolerance)
		}
		fmt.Fprintln(a.out)
	default:
		a.status = someFail
		a.differences(f)
	}
	if then == now {
		fmt.Fprintf(a.out, "    by the same program, %s: the file was changed, or the program built from other "+
			"sources\n", named(now))
	} else {
		fmt.Fprintf(a.out, "    made by %s, reproduced by %s\n", named(then), named(now))
	}
}

// differences lists where a report and the one made again differ.
func (a *app) differences(f *reproduce.Finding) {
	places := "places"
	if f.Count() == 1 {
		places = "place"
	}
	fmt.Fprintf(a.out, "%d %s\n", f.Count(), places)
	const most = 40
	for i, d := range f.Differences {
		if i == most {
			fmt.Fprintf(a.out, "    and %d more\n", f.Count()-most)
			break
		}
		fmt.Fprintf(a.out, "    %s: was %q, is %q\n", d.Where, d.Was, d.Is)
	}
}

func named(p record.Program) string {
	return strings.TrimSpace(fmt.Sprintf("%s %s, %s %s", p.Name, p.Version, p.Go, p.Architecture))
}
